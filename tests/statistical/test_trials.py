"""Whole trials by chance: sheets drawn, filled in, written, read and judged.

The counts may stray from their rate as far as chance does once in ten thousand; seeds are fixed.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from made_trial import Row, filled_rows, judged, made_trial
from scipy import stats

TRIALS, STRAY = 300, 1e-4


def same(row: Row) -> float:
    """Lost with one chance in three wherever the player stands."""
    return 1 / 3


def drifting(row: Row) -> float:
    """No matter where the player stands: tired legs, one bad place, and the first ball of a pair
    easier than the second."""
    ball = int(row["ball"])
    return 0.1 + 0.002 * ball + 0.2 * (row["place"] == "2") + 0.25 * (ball % 2 == 0)


def seen(tmp_path: Path, lost: Callable[[Row], float] | None) -> int:
    """In how many trials the test speaks, the seed of the lot another each time."""
    path, rng, count = tmp_path / "filled.csv", np.random.default_rng(3), 0
    for seed in range(TRIALS):
        found = judged(filled_rows(made_trial(seed), rng, lost), path)
        count += found.is_seen and (lost is not None or found.more.value > 0)
    return count


@pytest.mark.parametrize("lost", [same, drifting])
def test_where_the_place_makes_no_difference_few_trials_show_one(
    tmp_path: Path, lost: Callable[[Row], float]
) -> None:
    assert seen(tmp_path, lost) <= stats.binom.isf(STRAY, TRIALS, 0.05)


def test_the_foretold_difference_is_seen_as_often_as_is_said(tmp_path: Path) -> None:
    power = made_trial().power
    assert power >= 0.8
    low, high = stats.binom.interval(1 - STRAY, TRIALS, power)
    assert low <= seen(tmp_path, None) <= high
