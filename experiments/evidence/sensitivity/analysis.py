"""The tables that a study with factors gets beside its cells, by its design."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pandas as pd

from experiments.evidence.sensitivity import assumptions, draws, one_by_one, together, turning
from experiments.evidence.sensitivity.folder import DesignedFolder
from experiments.output.tables import fill_table
from experiments.study.factors import ONE

DIGITS = 6
Maker = Callable[[DesignedFolder], pd.DataFrame]


def makers(folder: DesignedFolder) -> dict[str, Maker]:
    """File name to what makes it: of one parameter at a time, of samples, of maps."""
    out: dict[str, Maker] = {}
    if folder.factors.design == ONE:
        out[one_by_one.FILE] = one_by_one.one_by_one
    if draws.has_indices(folder):
        out[together.FILE] = together.together
    if draws.is_sampled(folder):
        out[draws.FILE] = draws.draws
    if turning.is_map(folder):
        out[turning.FILE] = turning.turning
    return out


def analysed(folder: DesignedFolder) -> dict[str, pd.DataFrame]:
    """The tables that the folder's design allows, by file name."""
    out = {name: make(folder) for name, make in makers(folder).items()}
    for name in (one_by_one.FILE, together.FILE):
        if name in out:
            out[assumptions.FILE] = assumptions.assumptions(folder, out[name])
    return out


def write_analysis(path: Path) -> list[Path]:
    """Write into a result folder the tables that its design allows; returns the files.

    A folder of a study without factors gets none. The same folder gives the same bytes.

    Raises:
        InputError: the folder is not one that a study wrote.
    """
    if not has_factors(path):
        return []
    out = []
    for name, table in analysed(DesignedFolder.read(path)).items():
        target = path / name
        fill_table(table, target, DIGITS)
        out.append(target)
    return out


def has_factors(path: Path) -> bool:
    """Whether the study of a folder varies factors."""
    return "factors" in tomllib.loads((path / "study.toml").read_text("utf-8"))
