"""The figures of a study with factors: which ones its tables allow, and what draws each."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pandas as pd
from matplotlib.figure import Figure

from experiments.evidence.sensitivity import one_by_one, together, turning
from experiments.evidence.sensitivity.folder import (
    groups,
    is_difference,
    read_table,
    reference_of,
    study_of,
)
from experiments.evidence.sensitivity.naming import named_factors
from experiments.evidence.sensitivity.picture import indices_figure, tornado_figure
from experiments.evidence.sensitivity.turning_picture import turning_figure
from experiments.study.design import Study

Figures = dict[str, Callable[[], Figure]]
KINDS = ("tornado", "indices", "turning")
SCENE = ("policy", "place", "level", "opponent", "setting", "own_stroke")


def factor_figures(path: Path) -> Figures:
    """The figures that the folder's tables allow: file name without suffix, and what draws it.

    Charts of what matters show the first policy and scenario of an outcome; maps each setting.
    """
    held = [n for n in (one_by_one.FILE, together.FILE, turning.FILE) if (path / n).exists()]
    if not held:
        return {}
    study, out = study_of(path), dict[str, Callable[[], Figure]]()
    reference = reference_of(study)
    for file, kind, draw in (
        (one_by_one.FILE, "tornado", tornado_figure),
        (together.FILE, "indices", indices_figure),
    ):
        if file not in held:
            continue
        table = read_table(path / file)
        for outcome in dict.fromkeys(table["outcome"]):
            if is_difference(outcome, reference):
                rows = picture_rows(table, outcome, reference)
                out[f"{kind}-{short(outcome)}"] = partial(draw, rows, reference)
    if turning.FILE in held:
        out |= _maps(study, read_table(path / turning.FILE))
    return out


def _maps(study: Study, table: pd.DataFrame) -> Figures:
    """A figure for each setting, own stroke and outcome, of the first place and level."""
    labels = turning.factor_labels(table)
    out: Figures = {}
    level = str(table["level"].iloc[0])
    table = table[(table["level"] == level) & (table["place"] == table["place"].iloc[0])]
    named = named_factors(study, level)
    for scene, rows in groups(table, ("setting", "own_stroke", "outcome")):
        parts = ("turning", scene["setting"], scene["own_stroke"], short(scene["outcome"]))
        name = "-".join(part for part in parts if part)
        out[name] = partial(turning_figure, rows, labels, named, reference_of(study))
    return out


def picture_rows(table: pd.DataFrame, outcome: str, reference: str) -> pd.DataFrame:
    """The rows of an outcome in its first scenario, of the first policy but the reference."""
    rows = table[(table["outcome"] == outcome) & (table["policy"] != reference)]
    first = rows.iloc[0]
    for label in SCENE:
        rows = rows[rows[label] == first[label]]
    return rows


def short(outcome: str) -> str:
    """An outcome in file names: its first word."""
    return outcome.partition("_")[0]


def kind_of(name: str) -> str | None:
    """Which of KINDS a figure is, by its file name; None for another one."""
    return next((kind for kind in KINDS if name.startswith(f"{kind}-")), None)
