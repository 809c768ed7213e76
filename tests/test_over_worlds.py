"""The interval of worlds: none where worlds are alike, the true one where chance is much."""

from __future__ import annotations

import math

import numpy as np
import pytest

from experiments.statistics.comparison import (
    AS_GOOD,
    LOSES,
    NOT_DECIDED,
    NOT_IN_ALL,
    WINS,
    verdict_by_both,
    verdict_in_worlds,
)
from experiments.statistics.over_worlds import (
    OverWorlds,
    halves_of,
    over_worlds,
    sums_of_halves,
    variance_bound,
)

TRUE_WIDTH = 2 * 1.959963984540054


def seen(truth: np.ndarray, error: float, along: float, rng: np.random.Generator) -> OverWorlds:
    """Worlds of these outcomes, the default one at 0; errors of a half, which go along with those
    of the default world in the same half with a correlation of `along`."""
    n = len(truth)
    control = rng.normal(0.0, error, (n, 2))
    own = along * control + math.sqrt(1 - along * along) * rng.normal(0.0, error, (n, 2))
    halves = truth[:, None] + own
    found = over_worlds(halves.mean(axis=1), control.mean(axis=1), 0.0, halves, control)
    assert found is not None
    return found


def widths(sd: float, error: float, along: float, count: int = 100) -> np.ndarray:
    """Widths of the interval over repetitions, worlds being normal with this deviation."""
    rng = np.random.default_rng(3)
    found = [seen(rng.normal(0.0, sd, count), error, along, rng) for _ in range(200)]
    return np.array([f.high - f.low for f in found])


def test_worlds_like_the_default_one_have_no_width_whatever_the_chance() -> None:
    """Each plays another slice, and has what the default world has there."""
    control = np.random.default_rng(1).normal(3.0, 5.0, (60, 2))
    own = control.mean(axis=1)
    found = over_worlds(own, own, 3.0, control, control)
    assert found is not None
    assert found.high - found.low < 1e-9 and found.low == pytest.approx(3.0)
    assert found.chance_share == 0.0 and found.share_beyond_zero(1.0) == 1.0


def test_worlds_that_all_have_the_same_slice_are_put_on_the_study_s_own_estimate() -> None:
    worlds, slices = np.array([4.0, 6.0, 8.0]), np.full(3, 5.0)
    halves = np.stack([worlds - 1, worlds + 1], axis=1)
    found = over_worlds(worlds, slices, 2.0, halves, np.tile([4.0, 6.0], (3, 1)))
    assert found is not None and found.chance_share == 0.0
    assert list(found.values) == pytest.approx([1.0, 3.0, 5.0])


@pytest.mark.parametrize("along", [0.0, 0.9])
def test_without_chance_the_width_is_that_of_the_worlds(along: float) -> None:
    """The 2.5 and 97.5 % points of a hundred worlds lie a little inside the true ones."""
    assert widths(1.0, 0.01, along).mean() == pytest.approx(TRUE_WIDTH, rel=0.06)


def test_chance_goes_out_and_the_width_errs_to_the_wide_side() -> None:
    """Of worlds with a deviation of 1 and estimates with an error of 1: raw, sqrt(2) as wide."""
    found = widths(1.0, math.sqrt(2.0), 0.0)
    assert 1.02 * TRUE_WIDTH < found.mean() < 1.3 * TRUE_WIDTH
    assert (found > 0.95 * TRUE_WIDTH).mean() > 0.85


def test_where_worlds_do_not_differ_much_of_the_chance_goes_out() -> None:
    """Whatever bears on the chance alone: the raw width would be that of the errors."""
    raw = TRUE_WIDTH * math.sqrt(0.5)
    assert widths(0.0, 1.0, 0.0, 400).mean() < 0.5 * raw
    assert widths(0.0, 1.0, 0.95, 400).mean() < 0.2 * raw


def test_the_interval_holds_95_in_100_of_the_worlds() -> None:
    rng = np.random.default_rng(8)
    truth = rng.normal(2.0, 1.5, 4000)
    found = seen(truth, 2.0, 0.5, rng)
    assert ((truth > found.low) & (truth < found.high)).mean() == pytest.approx(0.95, abs=0.015)
    assert found.share_beyond_zero(1.0) == pytest.approx((truth > 0).mean(), abs=0.015)
    assert found.share_beyond_zero(-1.0) == pytest.approx((truth < 0).mean(), abs=0.015)
    assert math.isnan(found.share_beyond_zero(0.0))


def test_worlds_without_a_number_are_left_out() -> None:
    worlds = np.array([1.0, math.nan, 3.0])
    halves, zeros = np.stack([worlds, worlds], axis=1), np.zeros(3)
    found = over_worlds(worlds, zeros, 0.0, halves, np.zeros((3, 2)))
    assert found is not None and list(found.values) == [1.0, 3.0]
    worlds[0] = math.nan
    halves = np.stack([worlds, worlds], axis=1)
    assert over_worlds(worlds, zeros, 0.0, halves, np.zeros((3, 2))) is None


def test_the_bound_of_a_variance_is_missed_once_in_twenty() -> None:
    rng = np.random.default_rng(5)
    common = rng.normal(0.0, 1.0, (4000, 80))
    a, b = (common + rng.normal(0.0, 1.0, common.shape) for _ in range(2))
    low = np.mean([variance_bound(x, y) < 1.0 for x, y in zip(a, b, strict=True)])
    assert 0.03 < low < 0.10  # a little more: the distribution is skew


def test_halves_are_numbered_through_and_summed() -> None:
    halves = halves_of(np.arange(3, 12), 5)
    assert list(halves) == [1, 1, 2, 2, 2, 3, 3, 4, 4]
    table = np.arange(18.0).reshape(9, 2)
    sums = sums_of_halves(table, halves)
    assert list(sums[:, 0]) == [1, 2, 3, 4]
    assert list(sums[1, 1:]) == list(table[2:5].sum(axis=0))


@pytest.mark.parametrize(
    ("said", "low", "high", "both"),
    [
        (WINS, 0.1, 4.0, WINS),
        (WINS, -0.1, 4.0, WINS + NOT_IN_ALL),
        (WINS, -4.0, -1.0, WINS + NOT_IN_ALL),
        (WINS, None, None, WINS + NOT_IN_ALL),
        (LOSES, -4.0, -0.1, LOSES),
        (LOSES, -4.0, 0.1, LOSES + NOT_IN_ALL),
        (AS_GOOD, -0.5, 0.4, AS_GOOD),
        (AS_GOOD, -0.5, 0.6, AS_GOOD + NOT_IN_ALL),
        (NOT_DECIDED, 1.0, 2.0, NOT_DECIDED),
    ],
)
def test_both_intervals_must_say_it(
    said: str, low: float | None, high: float | None, both: str
) -> None:
    assert verdict_in_worlds(said, low, high) == both
    assert verdict_by_both({"verdict": said, "world_verdict": both}) == both
    assert verdict_by_both({"verdict": said, "world_verdict": None}) == said
