"""Estimates and intervals: formulas against others' code. Coverage is tests/statistical's."""

from __future__ import annotations

import math

import numpy as np
import pytest
from made_table import table_of
from scipy import stats

from experiments.statistics.estimates import (
    INDEX,
    LEVEL,
    Difference,
    Estimate,
    binomial_share,
    mean_difference,
    mean_of,
    paired,
    quantile,
    ratio,
    share,
)
from experiments.statistics.tally import Tally


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
@pytest.mark.parametrize("level", [LEVEL, 0.995])
def test_shares_of_independent_balls_equal_scipys(n: int, p: float, level: float) -> None:
    """Outside value: scipy.stats, `binomtest(...).proportion_ci(method="exact")`."""
    k = round(p * n)
    mine = binomial_share(k / n, n, level)
    theirs = stats.binomtest(k, n).proportion_ci(level, method="exact")
    assert (mine.low, mine.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


@pytest.mark.parametrize("units", [12, 300, math.inf])
def test_quantiles_are_students(units: float) -> None:
    """Outside value: scipy.stats."""
    theirs = stats.t.ppf(0.975, units - 1) if units < math.inf else stats.norm.ppf(0.975)
    assert quantile(0.95, units) == pytest.approx(theirs, rel=1e-12)


def test_single_balls_get_the_binomial_interval() -> None:
    """One ball a replicate is binomial sampling, but for the n - 1 and Student's quantile."""
    missed = np.arange(400) < 30
    mine = share(alone(table_of(balls=np.ones(400), missed=missed)), "missed", "balls")
    theirs = stats.binomtest(30, 400).proportion_ci(LEVEL, method="exact")
    assert mine.value == 30 / 400 and mine.n == mine.units == 400
    assert (mine.low, mine.high) == pytest.approx((theirs.low, theirs.high), abs=4e-4)


def test_none_missed_counts_the_rallies_and_not_the_balls() -> None:
    """Of 300 balls in 100 rallies of three none is missed: at worst that is 0 of 100."""
    mine = share(alone(table_of(balls=np.full(100, 3))), "missed", "balls")
    theirs = stats.binomtest(0, 100).proportion_ci(LEVEL, method="exact")
    assert (mine.value, mine.low, mine.high) == pytest.approx((0.0, 0.0, theirs.high))


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
    half = stats.t.ppf(0.975, 299) * se
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
    ends = theirs.confidence_interval(LEVEL)
    assert (found.low, found.high) == pytest.approx((ends.low, ends.high), rel=1e-9)


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


def test_policies_that_never_missed_apart_have_a_width() -> None:
    """Nothing seen in 400 is not nothing: about 3 or 4 in 400 would be overlooked once in 20."""
    mine = table_of(balls=np.ones(400), missed=np.arange(400) < 9, run_m=np.full(400, 2.0))
    other = table_of(balls=np.ones(400), missed=np.arange(400) < 9, run_m=np.full(400, 2.5))
    found = paired(Tally.of(mine, other), "missed", "balls")
    assert found.value == found.se == 0.0 and math.isnan(found.pairing_gain)
    assert 2.5 / 400 < found.high == -found.low < 4.0 / 400


def test_few_differences_get_the_interval_of_two_more_replicates() -> None:
    """Bonett and Price (2012), from memory: one more of each kind in n + 2 pairs."""
    mine = table_of(balls=np.ones(400), missed=np.arange(400) < 20)
    other = table_of(balls=np.ones(400), missed=(np.arange(400) >= 3) & (np.arange(400) < 28))
    found = paired(Tally.of(mine, other), "missed", "balls")
    p, q = (3 + 1) / 402, (8 + 1) / 402
    half = stats.norm.ppf(0.975) * math.sqrt((p + q - (p - q) ** 2) / 402)
    assert found.high - found.low == pytest.approx(2 * half, rel=0.01)


def test_the_gain_from_pairing_is_the_ratio_of_the_variances() -> None:
    rng = np.random.default_rng(15)
    before, noise = rng.normal(0, 1, 4000), rng.normal(0, 0.5, 4000)
    tables = [table_of(spare_s=v, balls=np.ones(4000)) for v in (before + noise, before)]
    found = paired(Tally.of(*tables), "spare_s", "balls")
    apart = sum(v[:, INDEX["spare_s"]].var(ddof=1) for v in tables)
    together = np.var(noise, ddof=1)
    assert found.pairing_gain == pytest.approx(apart / together, rel=1e-9)
    assert found.scaled(100).pairing_gain == pytest.approx(found.pairing_gain)
    assert found.at(0.99).high - found.value == pytest.approx(
        stats.t.ppf(0.995, 3999) * found.se, rel=1e-9
    )


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
    units = 4 / (1 / 5000 + 1 / 100)
    assert plain.high - plain.low == pytest.approx(2 * stats.t.ppf(0.975, units - 1) * plain.se)
    assert as_share.high - as_share.low == pytest.approx(plain.high - plain.low, rel=0.03)
    assert plain.n == 5100


def test_one_ball_of_one_place_weighs_less_in_the_mean() -> None:
    parts = [Difference(0.0, 0, 0, 0.0, 100, 100.0, step, 0.2) for step in (0.01, 0.02)]
    mean = mean_difference(parts)
    assert mean.step == 0.01 and mean.apart_se == pytest.approx(0.2 / math.sqrt(2))
    assert mean.high == pytest.approx(stats.t.ppf(0.975, 199) ** 2 * 0.01 / math.sqrt(2))
