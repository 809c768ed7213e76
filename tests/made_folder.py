"""A result folder of a study with factors whose outcomes are given instead of played."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from tiny_study import only

from experiments.output.tables import fill_table
from experiments.study.design import Study, points_table

POINTS, MISSED = "points_more_than_middle_per_100", "missed_fewer_than_middle_per_100"
# Outcome of the policy over the points' values, one column a factor.
Outcome = Callable[[pd.DataFrame], np.ndarray]


def made_folder(
    path: Path,
    factors: dict[str, Any],
    outcomes: Mapping[str, Outcome],
    se: float = 0.0,
    usual: float = 0.0,
) -> Path:
    """Write a folder with these outcomes of the bisector; `usual` is what the study has as it
    stands, `se` the standard error of all."""
    study = only("placed", factors=factors, policies=["middle", "bisector"], seed=5)
    points = pd.DataFrame(points_table(study))
    values = points.drop(columns=["level", "point", "role"])
    rows = [
        {"point": point, **cell(study, outcome, float(value), se)}
        for outcome, of in outcomes.items()
        for point, value in enumerate(of(values))
    ]
    path.mkdir()
    (path / "study.toml").write_text(study.toml(), "utf-8")
    fill_table(pd.DataFrame(points_table(study)), path / "points.csv", 6)
    fill_table(pd.DataFrame(rows), path / "designed.csv")
    cells = pd.DataFrame([cell(study, outcome, usual, se) for outcome in outcomes])
    fill_table(cells, path / "cells.csv")
    return path


def cell(study: Study, outcome: str, value: float, se: float) -> dict[str, Any]:
    """A row of the table of cells."""
    half = 1.959963984540054 * se
    return {
        "policy": "bisector",
        "place": study.places[0].name,
        "level": study.levels[0],
        "opponent": study.opponent_names()[0],
        "setting": "placed",
        "own_stroke": None,
        "outcome": outcome,
        "estimate": value,
        "low": value - half,
        "high": value + half,
        "n": 100,
    }
