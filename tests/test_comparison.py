"""Verdicts: what intervals say, which intervals, and that a policy is as good as itself."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from tiny_study import OWN_POLICY, only, run_tiny, without_pages

from experiments.claims.tables import count_table
from experiments.report.findings import Cells
from experiments.statistics.comparison import MARGIN, compared, level_together, verdict, verdict_of
from experiments.statistics.estimates import Difference
from experiments.study.file import load_study


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (0.6, 2.0, "wins"),
        (0.1, 0.9, "wins"),
        (-2.0, -0.6, "loses"),
        (-0.9, -0.1, "loses"),
        (-0.5, 0.5, "as good"),  # the margin, half a ball in 100, belongs to the tie
        (0.1, 0.4, "as good"),  # better for certain, but by less than matters
        (-0.4, -0.1, "as good"),
        (-0.5, 0.51, "not decided"),
        (-0.1, 0.9, "not decided"),
        (0.0, 1.0, "not decided"),
        (-3.0, 3.0, "not decided"),
        (None, None, "not decided"),
    ],
)
def test_verdicts(low: float | None, high: float | None, said: str) -> None:
    assert verdict(low, high) == said


def difference(value: float, se: float) -> Difference:
    return Difference(value, value, value, se, 1000, 1000.0, 0.0, 3 * se).at(0.95)


def test_one_comparison_needs_no_correction() -> None:
    assert level_together(1) == 0.95
    assert level_together(0) == 0.95  # nothing is compared: nothing to correct


@pytest.mark.parametrize("compared_with", [2, 10, 100])
def test_levels_are_a_little_sharper_than_bonferronis(compared_with: int) -> None:
    """Independent intervals of that level hold together with 95 %."""
    level = level_together(compared_with)
    assert level**compared_with == pytest.approx(0.95)
    assert 1 - 0.05 / compared_with > level > 1 - 0.055 / compared_with


def test_what_wins_alone_may_be_undecided_among_many() -> None:
    found = difference(1.0, 0.4)
    assert verdict(found.low, found.high) == "wins"
    assert compared(found, level_together(1), True)["verdict"] == "wins"
    many = compared(found, level_together(10), True)
    half = stats.t.ppf((1 + 0.95**0.1) / 2, 999) * 0.4
    assert many["verdict"] == "not decided"
    assert (many["low_together"], many["high_together"]) == pytest.approx(
        (1 - half, 1 + half), rel=1e-5
    )
    assert many["pairing_gain"] == pytest.approx(9.0)


def test_seconds_have_no_margin_and_so_no_verdict() -> None:
    assert compared(difference(1.0, 0.1), 0.95, False)["verdict"] is None


def test_what_does_not_exist_is_null() -> None:
    nothing = Difference(math.nan, math.nan, math.nan, math.nan, 0, 30.0).at(0.95)
    assert compared(nothing, 0.95, True) == {
        **dict.fromkeys(("pairing_gain", "low_together", "high_together")),
        "verdict": "not decided",
    }


def test_old_folders_are_judged_by_their_own_interval() -> None:
    """Before there was a verdict in the file; pandas makes an absent one a number."""
    old = {"low": 0.6, "high": 2.0}
    assert verdict_of(old) == "wins"
    assert verdict_of({**old, "verdict": np.nan}) == "wins"
    assert verdict_of({**old, "verdict": "not decided"}) == "not decided"


def test_tables_count_the_stored_verdicts() -> None:
    cell = {"policy": "bisector", "place": "corner", "level": "a", "opponent": "b"}
    cell |= {"setting": "rally", "own_stroke": None, "estimate": 1.0, "low": 0.6, "high": 2.0}
    cell |= {"outcome": "points_more_than_middle_per_100", "verdict": "not decided"}
    assert count_table(Cells([cell])).endswith("| bisector | - | - | 0 / 0 / 1 / 0 |")


@pytest.fixture(scope="module")
def with_itself(tmp_path_factory: pytest.TempPathFactory) -> pd.DataFrame:
    """The cells of a study in which a policy under another name does what the reference does."""
    folder = tmp_path_factory.mktemp("itself")
    (folder / "same.py").write_text(OWN_POLICY.replace("-13.0", "-13.185"))
    study = only("placed", settings=["placed", "recovery", "rally"], placed_balls=200, rallies=40)
    text = study.toml().replace('"bisector"', '"same.py:Slow,shift_m=0.0"')
    (folder / "mine.toml").write_text(text)
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        out = run_tiny(load_study(folder / "mine.toml"), folder / "out")
    return pd.read_csv(out / "cells.csv")


def test_a_policy_less_itself_is_exactly_zero(with_itself: pd.DataFrame) -> None:
    """On the same chance, in every setting and outcome; another policy differs."""
    differences = with_itself[with_itself["outcome"].str.contains("_than_middle_")]
    same = differences[differences["policy"] == "a step over 0"]
    assert len(same) == 3 + 2 * 3 + 4  # placed, two own strokes of recovery, rally
    ends = ["estimate", "low", "high", "low_together", "high_together"]
    assert (same[ends] == 0.0).all(axis=None)
    assert set(same["verdict"].dropna()) == {"as good"}
    other = differences[differences["policy"] == "linear-shade 0.20"]
    assert (other["high_together"] > other["low_together"]).all()
    assert other["high"].max() > MARGIN
