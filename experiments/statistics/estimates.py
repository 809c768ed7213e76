"""Estimates with intervals from tallies.

The replicate (a ball or a rally) is the unit: balls missed of balls faced is a ratio of sums whose
variance comes from the residuals of each replicate (linearised ratio), and differences are paired
with the reference policy's same replicate. Quantiles are Student's, by the number of replicates.

A share gets the exact binomial interval (Clopper and Pearson 1934) at the sample size that has the
same variance, after Korn and Graubard (1998, Survey Methodology 24, 193-201): it holds where few
balls or nearly all are missed, where Wilson's interval may cover 83 % and not 95 %. A difference of
counts gets the half-width of a score interval: to the variance seen is added that of q^2 / 2
replicates, q the quantile, in which the two policies differ by one ball or point; so differences
that were seen once or never have a width too (at q = 2 these are the two replicates of Bonett and
Price 2012, J. Educ. Behav. Stat. 37, 479-488).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Self

import numpy as np

from experiments.statistics.tally import COLUMNS, Tally
from sim.distributions import beta_quantile, normal_quantile, student_quantile
from sim.over_arrays import length_of

LEVEL = 0.95
ROUNDING = 1e-12
INDEX = {name: i for i, name in enumerate(COLUMNS)}
COUNTED = ("missed", "set", "not_returned", "points")  # a replicate changes them by whole units


@dataclass(frozen=True)
class Estimate:
    """An estimate with its interval, its standard error and the number of balls or rallies.

    `units` are the independent units that these are worth at least, if all balls of a rally go
    together; 0 stands for n.
    """

    value: float
    low: float
    high: float
    se: float
    n: int
    units: float = 0.0

    def scaled(self, factor: float) -> Self:
        """The estimate in another unit, or with the other sign."""
        low, high = sorted((factor * self.low, factor * self.high))
        value, se = factor * self.value, abs(factor) * self.se
        return replace(self, value=value, low=low, high=high, se=se)

    @property
    def complement(self) -> Estimate:
        """Of a share: the share of all the others, from the same balls."""
        return replace(self, value=1 - self.value, low=1 - self.high, high=1 - self.low)


@dataclass(frozen=True)
class Difference(Estimate):
    """A difference from the reference policy on the same replicates.

    `step` is what one ball or point more changes in the value (0: it is no count, or the policies
    never differed in anything), `apart_se` the standard error that the difference would have, had
    the policies met replicates of their own.
    """

    step: float = 0.0
    apart_se: float = math.nan

    def scaled(self, factor: float) -> Self:
        """The difference in another unit, or with the other sign."""
        step, apart = abs(factor) * self.step, abs(factor) * self.apart_se
        return replace(super().scaled(factor), step=step, apart_se=apart)

    def at(self, level: float) -> Self:
        """The same difference with the interval of another level."""
        q = quantile(level, self.units)
        half = q * float(length_of(self.se, q * self.step / math.sqrt(2.0)))
        return replace(self, low=self.value - half, high=self.value + half)

    @property
    def pairing_gain(self) -> float:
        """Variance of the unpaired difference over that of the paired one.

        So many times the replicates would be needed without the same chance for both; not a number
        where the two never differed.
        """
        return square(self.apart_se / self.se) if self.se > 0 else math.nan


@lru_cache(maxsize=4096)
def quantile(level: float, units: float) -> float:
    """Two-sided quantile of Student's t for the mean of `units` independent replicates."""
    if math.isinf(units):
        return normal_quantile(level)
    return student_quantile(max(float(units) - 1.0, 1.0), level)


def square(x: float) -> float:
    """A number times itself, rounded once, as `**` need not be."""
    return x * x


def form(a: np.ndarray, products: np.ndarray, b: np.ndarray) -> float:
    """The sum of a[i] products[i, j] b[j], in a fixed order."""
    return float((a[:, None] * products * b).sum())


def ratio_terms(sums: np.ndarray, top: int, bottom: int) -> tuple[float, np.ndarray]:
    """A ratio of two sums and the weights that turn a replicate's columns into its residual."""
    weights = np.zeros(len(sums))
    if sums[bottom] == 0:
        return math.nan, weights
    ratio = sums[top] / sums[bottom]
    weights[top] += 1.0
    weights[bottom] -= ratio
    return float(ratio), weights / sums[bottom]


def ratio(tally: Tally, top: str, bottom: str, level: float = LEVEL) -> Estimate:
    """Ratio of two sums over replicates, e.g. missed over balls, with Student's interval."""
    above, below = tally.columns.index(top), tally.columns.index(bottom)
    value, weights = ratio_terms(tally.own[0], above, below)
    replicates = float(tally.own[0, 0])
    se = _se(_spread(weights, tally.own), replicates)
    half = quantile(level, replicates) * se
    count = round(tally.own[0, below])
    return Estimate(value, value - half, value + half, se, count, replicates)


def _spread(weights: np.ndarray, products: np.ndarray) -> float:
    """The sum of squares of the residuals that the weights make."""
    variance = form(weights, products, weights)
    # What a constant leaves is rounding, not spread.
    if variance < ROUNDING * float((weights * weights * products.diagonal()).sum()):
        return 0.0
    return variance


def share(tally: Tally, top: str, bottom: str, level: float = LEVEL) -> Estimate:
    """Like `ratio`, for a share: the exact binomial interval at the size of equal variance."""
    plain = ratio(tally, top, bottom)
    squares = tally.own.diagonal()[tally.columns.index(bottom)]
    units = plain.n * plain.n / float(squares) if squares > 0 else 0.0
    return share_of(plain.value, plain.se, plain.n, units, level)


def share_of(
    value: float, se: float, n: int, units: float = math.inf, level: float = LEVEL
) -> Estimate:
    """The interval of a share from `n` balls worth at least `units` independent ones.

    With a standard error of 0 (none or all of the balls) the size is `units`, the worst case; else
    it is that of equal variance, n at most, less what not knowing the variance costs (Student).
    """
    if n == 0 or not math.isfinite(value):
        return Estimate(math.nan, math.nan, math.nan, math.nan, n, units)
    size = min(float(n), units)
    if se > 0 and 0 < value < 1:
        known = quantile(level, math.inf) / quantile(level, units)
        size = min(float(n), value * (1 - value) / square(se)) * square(known)
    hits, tail = value * size, 0.5 - level / 2
    low = 0.0 if hits <= 0 else beta_quantile(hits, size - hits + 1, tail)
    high = 1.0 if hits >= size else beta_quantile(hits + 1, size - hits, 1 - tail)
    return Estimate(value, min(low, value), max(high, value), se, n, units)


def binomial_share(value: float, n: int, level: float = LEVEL) -> Estimate:
    """A share of `n` independent balls, with the exact interval of Clopper and Pearson."""
    return share_of(value, math.sqrt(value * (1 - value) / max(n, 1)), n, math.inf, level)


def paired(tally: Tally, top: str, bottom: str, level: float = LEVEL) -> Difference:
    """The policy's ratio less the reference policy's, on the same replicates."""
    above, below = tally.columns.index(top), tally.columns.index(bottom)
    mine, a = ratio_terms(tally.own[0], above, below)
    other, b = ratio_terms(tally.reference[0], above, below)
    each = _spread(a, tally.own), _spread(b, tally.reference)
    variance, n = sum(each) - 2.0 * form(a, tally.cross, b), float(tally.own[0, 0])
    apart = _se(sum(each), n)
    counts = top.partition(":")[0] in COUNTED
    step = 1.0 / float(tally.own[0, below] or math.nan) if counts else 0.0
    if tally.is_reference:
        variance = step = 0.0
    value, se = mine - other, _se(variance, n)
    return Difference(value, value, value, se, round(n), n, step, apart).at(level)


def _se(variance: float, n: float) -> float:
    return math.sqrt(max(variance, 0.0) * n / max(n - 1.0, 1.0))


def mean_of(
    parts: Sequence[Estimate], is_share: bool, level: float = LEVEL, stopped: bool = False
) -> Estimate:
    """Mean with equal weights of estimates from independent replicates.

    `stopped` parts have sizes that follow from what they showed, so their errors may all go one
    way: the interval is then about the mean of the parts' own ones, which holds where all these do.
    """
    value = float(np.mean([p.value for p in parts]))
    se = _se_of_mean([p.se for p in parts], stopped)
    n, units = sum(p.n for p in parts), _units_of_mean(parts)
    if stopped:
        units = min(p.units or float(p.n) for p in parts)
    if is_share:
        return share_of(value, se, n, units, level)
    half = quantile(level, units) * se
    return Estimate(value, value - half, value + half, se, n, units)


def mean_difference(
    parts: Sequence[Difference], level: float = LEVEL, stopped: bool = False
) -> Difference:
    """Mean with equal weights of differences from independent replicates, as `mean_of`."""
    plain = mean_of(parts, False, level, stopped)
    step = max(p.step for p in parts) / (1 if stopped else len(parts))
    apart = _se_of_mean([p.apart_se for p in parts], stopped)
    return Difference(**vars(plain), step=step, apart_se=apart).at(level)


def _se_of_mean(errors: Sequence[float], stopped: bool) -> float:
    """The standard error of a mean; of parts whose errors may go one way, the mean of theirs."""
    return (
        sum(errors) / len(errors) if stopped else math.sqrt(sum(map(square, errors))) / len(errors)
    )


def _units_of_mean(parts: Sequence[Estimate]) -> float:
    """The units of a mean: those that give its variance if all units vary alike."""
    each = [p.units or float(p.n) for p in parts]
    return len(parts) * len(parts) / sum(1.0 / u if u > 0 else math.inf for u in each)
