"""What a study with factors gets beside its cells, by its design: tables, pictures and words.

GIVEN is the one table of it. The tables are made from the folder's cells and points; pictures and
words from the tables that are there.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
from matplotlib.figure import Figure

from experiments.evidence.sensitivity import assumptions, draws, one_by_one, together, turning
from experiments.evidence.sensitivity.folder import DesignedFolder, read_table, study_of
from experiments.evidence.sensitivity.pictures import Pictures, index_charts, maps, tornados
from experiments.evidence.sensitivity.section import (
    Section,
    of_draws,
    of_maps,
    of_single_parameters,
)
from experiments.output.tables import fill_table
from experiments.study.design import Study
from experiments.study.factors import INDICES, ONE, SAMPLED

DIGITS = 6


@dataclass(frozen=True)
class Given:
    """A table that designs give, with its pictures and the parts of the report that tell of it.

    `rests` says whether the table shows what an answer rests on: it is then told again in the table
    of assumptions.
    """

    fits: Callable[[DesignedFolder], bool]
    make: Callable[[DesignedFolder], pd.DataFrame]
    pictures: Callable[[pd.DataFrame, Study], Pictures] = lambda table, study: {}
    sections: Callable[[Path, pd.DataFrame, Study], Iterator[Section]] = lambda *_: iter(())
    rests: bool = False


GIVEN = {
    one_by_one.FILE: Given(
        lambda folder: folder.factors.design == ONE,
        one_by_one.one_by_one,
        tornados,
        of_single_parameters,
        rests=True,
    ),
    together.FILE: Given(
        lambda folder: folder.factors.design == INDICES,
        together.together,
        index_charts,
        of_draws,
        rests=True,
    ),
    draws.FILE: Given(lambda folder: folder.factors.design in SAMPLED, draws.draws),
    turning.FILE: Given(turning.is_map, turning.turning, maps, of_maps),
}


def analysed(folder: DesignedFolder) -> dict[str, pd.DataFrame]:
    """The tables that the folder's design allows, by file name."""
    out = {name: given.make(folder) for name, given in GIVEN.items() if given.fits(folder)}
    for table in [table for name, table in out.items() if GIVEN[name].rests]:
        out[assumptions.FILE] = assumptions.assumptions(folder, table)
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


def _held(path: Path) -> Iterator[tuple[Given, pd.DataFrame, Study]]:
    """The tables that are in a folder, with the folder's study."""
    for name, given in GIVEN.items():
        if (path / name).exists():
            yield given, read_table(path / name), study_of(path)


def _pictures(path: Path) -> Pictures:
    """The pictures that the folder's tables allow."""
    found: Pictures = {}
    for given, table, study in _held(path):
        found |= given.pictures(table, study)
    return found


def factor_figures(path: Path) -> dict[str, Callable[[], Figure]]:
    """The figures that the folder's tables allow: file name without suffix, and what draws it."""
    return {name: picture.draw for name, picture in _pictures(path).items()}


def write_captions(folder: Path) -> list[Path]:
    """Write figures/captions.json for the figures of a study with factors, for the report; returns
    the file, none where there are no such figures."""
    target = folder / "figures"
    drawn = {f.stem for f in target.glob("*.svg")}
    table = {
        name: {"caption": picture.caption, "alt": picture.alt}
        for name, picture in sorted(_pictures(folder).items())
        if name in drawn
    }
    if not table:
        return []
    path = target / "captions.json"
    path.write_text(json.dumps(table, indent=1, ensure_ascii=False) + "\n", "utf-8")
    return [path]


def sections(path: Path) -> list[Section]:
    """The parts of the report that a folder's tables give; none without such tables."""
    return [
        part for given, table, study in _held(path) for part in given.sections(path, table, study)
    ]
