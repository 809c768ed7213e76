"""Estimates and intervals: formulas against others' code, coverage against known truth.

Coverage is counted over many made-up studies whose truth is known. The count must lie in the range
that a true rate of 95 % leaves with a false alarm once in ten thousand; seeds are fixed. The
intervals cover 95 % only in the limit, so where a case is far from it, the range says so.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from experiments.statistics import (
    INDEX,
    LEVEL,
    Estimate,
    mean_of,
    paired,
    ratio,
    share,
    wilson,
)
from experiments.tally import COLUMNS, Tally

FALSE_ALARM = 1e-4


def table_of(**columns: np.ndarray) -> np.ndarray:
    out = np.zeros((len(next(iter(columns.values()))), len(COLUMNS)))
    out[:, 0] = 1.0
    for name, values in columns.items():
        out[:, INDEX[name]] = values
    return out


def alone(table: np.ndarray) -> Tally:
    return Tally.of(table, table)


def rallies(rng: np.random.Generator, count: int, p: np.ndarray | float) -> np.ndarray:
    """Rallies of one ball and more, of which each rally's own share `p` is missed."""
    balls = rng.geometric(0.4, count)
    missed = rng.binomial(balls, p)
    return table_of(balls=balls, missed=missed, points=missed == 0, spare_s=0.5 * balls - missed)


# --- formulas ---------------------------------------------------------------------------------


@pytest.mark.parametrize("n", [10, 137, 2000])
@pytest.mark.parametrize("p", [0.0, 0.004, 0.1, 0.5, 0.93, 1.0])
def test_wilson_equals_scipys(n: int, p: float) -> None:
    """Outside value: scipy.stats, `binomtest(...).proportion_ci(method="wilson")`."""
    k = round(p * n)
    mine = wilson(k / n, math.sqrt(k / n * (1 - k / n) / n), n)
    theirs = stats.binomtest(k, n).proportion_ci(LEVEL, method="wilson")
    assert (mine.low, mine.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_single_balls_get_wilsons_interval() -> None:
    """One ball a replicate is plain binomial sampling, but for the n - 1 of the variance."""
    missed = np.arange(400) < 30
    mine = share(alone(table_of(balls=np.ones(400), missed=missed)), "missed", "balls")
    theirs = stats.binomtest(30, 400).proportion_ci(LEVEL, method="wilson")
    assert mine.value == 30 / 400 and mine.n == 400
    assert (mine.low, mine.high) == pytest.approx((theirs.low, theirs.high), abs=2e-4)


def test_balls_that_go_together_widen_the_interval() -> None:
    """Rallies all missed or all reached hold as much as one ball each."""
    missed = np.arange(400) < 40
    one = share(alone(table_of(balls=np.ones(400), missed=missed)), "missed", "balls")
    five = share(alone(table_of(balls=np.full(400, 5), missed=5 * missed)), "missed", "balls")
    assert five.n == 2000 and five.value == one.value
    assert (five.low, five.high) == pytest.approx((one.low, one.high), abs=1e-9)


def test_ratio_has_the_linearised_standard_error() -> None:
    rng = np.random.default_rng(2)
    table = rallies(rng, 300, 0.2)
    top, bottom = table[:, INDEX["missed"]], table[:, INDEX["balls"]]
    found = ratio(alone(table), "missed", "balls")
    residuals = (top - found.value * bottom) / bottom.mean()
    se = residuals.std(ddof=1) / math.sqrt(300)
    assert found.value == pytest.approx(top.sum() / bottom.sum())
    assert found.se == pytest.approx(se, rel=1e-9)
    half = stats.norm.ppf(0.975) * se
    assert (found.low, found.high) == pytest.approx((found.value - half, found.value + half))


def test_a_mean_has_the_standard_error_of_a_mean() -> None:
    values = np.random.default_rng(3).normal(2.0, 1.0, 250)
    found = ratio(alone(table_of(spot_x_m=values)), "spot_x_m", "one")
    assert found.value == pytest.approx(values.mean())
    assert found.se == pytest.approx(stats.sem(values), rel=1e-9)


def test_a_constant_has_no_spread() -> None:
    found = ratio(alone(table_of(spot_x_m=np.full(2000, -1.0846875943))), "spot_x_m", "one")
    assert found.low == found.value == found.high and found.se == 0.0
    nearly = np.full(2000, -1.0846875943)
    nearly[::2] += 1e-4  # a tenth of a millimetre is spread
    assert ratio(alone(table_of(spot_x_m=nearly)), "spot_x_m", "one").se > 0


def test_paired_has_the_standard_error_of_the_differences() -> None:
    rng = np.random.default_rng(4)
    before = rng.normal(0.0, 1.0, 300)
    mine = table_of(spare_s=before + rng.normal(0.1, 0.2, 300), balls=np.ones(300))
    other = table_of(spare_s=before, balls=np.ones(300))
    found = paired(Tally.of(mine, other), "spare_s", "balls")
    theirs = stats.ttest_rel(mine[:, INDEX["spare_s"]], other[:, INDEX["spare_s"]])
    assert found.value / found.se == pytest.approx(theirs.statistic, rel=1e-9)
    assert found.n == 300


def test_paired_ratios_have_the_standard_error_of_both_residuals() -> None:
    rng = np.random.default_rng(5)
    p = rng.beta(2, 6, 300)
    mine, other = rallies(rng, 300, p), rallies(rng, 300, p)
    found = paired(Tally.of(mine, other), "missed", "balls")
    residuals = np.zeros(300)
    for table, sign in ((mine, 1.0), (other, -1.0)):
        top, bottom = table[:, INDEX["missed"]], table[:, INDEX["balls"]]
        residuals += sign * (top - top.sum() / bottom.sum() * bottom) / bottom.mean()
    assert found.se == pytest.approx(residuals.std(ddof=1) / math.sqrt(300), rel=1e-9)


@pytest.mark.parametrize(
    ("top", "bottom"), [("missed", "balls"), ("spare_s", "balls"), ("points", "one")]
)
def test_a_policy_less_itself_is_exactly_zero(top: str, bottom: str) -> None:
    table = rallies(np.random.default_rng(6), 500, 0.3)
    tally = alone(table[:200]) + alone(table[200:])
    found = paired(tally, top, bottom)
    assert (found.value, found.low, found.high, found.se) == (0.0, 0.0, 0.0, 0.0)


def test_scaling_turns_the_interval_with_the_sign() -> None:
    assert Estimate(2.0, 1.0, 4.0, 0.5, 9).scaled(-100) == Estimate(-200, -400, -100, 50, 9)


def test_without_a_ball_there_is_no_number() -> None:
    empty = alone(table_of(balls=np.zeros(20), missed=np.zeros(20)))
    for found in (share(empty, "missed", "balls"), paired(empty, "missed", "balls")):
        assert math.isnan(found.value) and math.isnan(found.low) and math.isnan(found.high)


def test_shares_stay_between_none_and_all() -> None:
    for missed in (0, 50):
        tally = alone(table_of(balls=np.ones(50), missed=np.full(50, missed / 50)))
        found = share(tally, "missed", "balls")
        assert 0.0 <= found.low <= found.value <= found.high <= 1.0
        assert found.high - found.low > 0.05  # nothing seen in 50 is not nothing at all


def test_the_mean_over_places_has_equal_weights() -> None:
    parts = [Estimate(0.1, 0, 1, 0.01, 5000), Estimate(0.4, 0, 1, 0.03, 100)]
    plain, as_share = mean_of(parts, False), mean_of(parts, True)
    assert plain.value == as_share.value == pytest.approx(0.25)
    assert plain.se == as_share.se == pytest.approx(math.hypot(0.01, 0.03) / 2)
    assert plain.high - plain.low == pytest.approx(2 * stats.norm.ppf(0.975) * plain.se)
    assert as_share.high - as_share.low == pytest.approx(plain.high - plain.low, rel=0.02)
    assert plain.n == 5100


# --- coverage ---------------------------------------------------------------------------------


def covers(found: Estimate, truth: float) -> bool:
    return found.low <= truth <= found.high


def stated_range(repeats: int, rate: float = LEVEL) -> tuple[float, float]:
    """Shares of `repeats` that a true rate gives, but for one false alarm in ten thousand."""
    low, high = stats.binom.ppf([FALSE_ALARM / 2, 1 - FALSE_ALARM / 2], repeats, rate)
    return float(low / repeats), float(high / repeats)


# Beta-distributed shares by rally with a known mean; 300 rallies; the mean near 0, usual, near 1.
@pytest.mark.parametrize(("mean", "seed"), [(0.01, 1), (0.05, 2), (0.3, 3), (0.95, 4), (0.99, 5)])
def test_shares_of_clustered_balls_cover_the_truth(mean: float, seed: int) -> None:
    rng, repeats, spread = np.random.default_rng(seed), 1000, 8.0
    hits = 0
    for _ in range(repeats):
        p = rng.beta(mean * spread, (1 - mean) * spread, 300)
        hits += covers(share(alone(rallies(rng, 300, p)), "missed", "balls"), mean)
    low, high = stated_range(repeats)
    extra = 0.01 if mean in (0.01, 0.99) else 0.0  # about seven misses in all: far from the limit
    assert low - extra <= hits / repeats <= high + extra


def test_ratios_cover_the_truth_where_long_rallies_differ() -> None:
    """Shares that depend on the length: the ratio of sums is not the mean of the rallies' shares.

    Lengths are geometric with mean 2.5; of a rally of one ball 0.4 are missed, else 0.1. The truth
    is (0.4 * P(1) + 0.1 * (2.5 - P(1))) / 2.5 with P(1) = 0.4.
    """
    rng, repeats = np.random.default_rng(7), 1000
    truth = (0.4 * 0.4 + 0.1 * (2.5 - 0.4)) / 2.5
    hits = 0
    for _ in range(repeats):
        balls = rng.geometric(0.4, 300)
        missed = rng.binomial(balls, np.where(balls == 1, 0.4, 0.1))
        tally = alone(table_of(balls=balls, missed=missed))
        hits += covers(ratio(tally, "missed", "balls"), truth)
    low, high = stated_range(repeats)
    assert low <= hits / repeats <= high


@pytest.mark.parametrize("gain", [0.0, 0.04])
def test_paired_differences_cover_the_truth(gain: float) -> None:
    """Two policies meet balls of the same difficulty; one misses `gain` fewer of them."""
    rng, repeats = np.random.default_rng(8), 1000
    hits = 0
    for _ in range(repeats):
        p = 0.1 + 0.2 * rng.random(300)
        tally = Tally.of(rallies(rng, 300, p - gain), rallies(rng, 300, p))
        hits += covers(paired(tally, "missed", "balls").scaled(-1.0), gain)
    low, high = stated_range(repeats)
    assert low <= hits / repeats <= high


def test_the_mean_over_places_covers_the_truth() -> None:
    rng, repeats, means = np.random.default_rng(9), 1000, (0.03, 0.1, 0.3)
    hits = 0
    for _ in range(repeats):
        parts = [share(alone(rallies(rng, 200, m)), "missed", "balls") for m in means]
        hits += covers(mean_of(parts, True), float(np.mean(means)))
    low, high = stated_range(repeats)
    assert low <= hits / repeats <= high
