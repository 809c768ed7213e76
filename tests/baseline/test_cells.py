"""Pinned output: cells of a tiny study, as they came out when tests/baseline/refresh.py last ran.

A baseline, no validation: it holds our own numbers and shows only that they moved.
"""

from __future__ import annotations

import pandas as pd
import pytest
from baseline.refresh import PINNED, baseline_cells

# Other processors and mathematical libraries round the last digit of a sine or a square root
# differently. Over the strokes of a rally that grows to far less than this, which is two steps of
# the sixth digit that cells are written to; a ball counted otherwise is far more.
RELATIVE, ABSOLUTE = 2e-5, 1e-7
LABELS = ["policy", "place", "level", "opponent", "setting", "own_stroke", "outcome", "n"]
REFRESH = "if the change is meant, run: python tests/baseline/refresh.py"


@pytest.fixture(scope="module")
def pinned() -> pd.DataFrame:
    return pd.read_csv(PINNED)


@pytest.fixture(scope="module")
def now() -> pd.DataFrame:
    return baseline_cells()


def test_the_cells_are_those_of_the_baseline(pinned: pd.DataFrame, now: pd.DataFrame) -> None:
    want, found = (t[LABELS].fillna("").astype(str).values.tolist() for t in (pinned, now))
    assert found == want, REFRESH


@pytest.mark.parametrize("column", ["estimate", "low", "high"])
def test_the_numbers_are_those_of_the_baseline(
    pinned: pd.DataFrame, now: pd.DataFrame, column: str
) -> None:
    change = (now[column] - pinned[column]).abs()
    moved = now[change > ABSOLUTE + RELATIVE * pinned[column].abs()]
    assert moved.empty, f"{len(moved)} cells moved, {REFRESH}\n{moved[[*LABELS, column]].head(20)}"
    assert (now[column].isna() == pinned[column].isna()).all()
