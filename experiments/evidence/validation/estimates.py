"""Estimates whose unit is the rally: strokes of one rally are not independent of each other.

The intervals are those of `experiments.statistics`, at any level.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.statistics.estimates import quantile, share_of
from sim.over_arrays import length_of


@dataclass(frozen=True)
class Estimate:
    """A value with its interval at any level: `interval(0.95)` gives (low, high).

    `se` is the standard error; of a quantile, that of the share at or below it.
    """

    value: float
    se: float
    interval: Callable[[float], tuple[float, float]]


def exact(value: float) -> Estimate:
    """A value without chance: its interval is itself."""
    return Estimate(value, 0.0, lambda level: (value, value))


def normal(value: float, se: float, units: float = math.inf) -> Estimate:
    """A value with a standard error from so many independent units, by Student's distribution."""

    def interval(level: float) -> tuple[float, float]:
        half = quantile(level, units) * se
        return value - half, value + half

    return Estimate(value, se, interval)


def standard_error(values: np.ndarray, rallies: np.ndarray) -> float:
    """Standard error of the mean of all values, with whole rallies as the independent units."""
    _, index = np.unique(rallies, return_inverse=True)
    residuals = np.bincount(index, weights=values - values.mean())
    n = len(residuals)
    if n < 2:
        return math.nan
    return math.sqrt(n / (n - 1) * float((residuals * residuals).sum())) / len(values)


def mean_of(values: np.ndarray, rallies: np.ndarray) -> Estimate:
    """Mean (or, of a condition, share) over strokes, `rallies` naming the rally of each."""
    if len(values) == 0:
        return normal(math.nan, math.nan)
    values = np.asarray(values, float)
    units = len(np.unique(rallies))
    return normal(float(values.mean()), standard_error(values, rallies), units)


def percentage_of(condition: np.ndarray, rallies: np.ndarray) -> Estimate:
    """Share in per cent, with the exact binomial interval at the size of equal variance."""
    plain = mean_of(condition, rallies)
    n, units = len(condition), len(np.unique(rallies))

    def interval(level: float) -> tuple[float, float]:
        found = share_of(plain.value, plain.se, n, units, level).scaled(100.0)
        return found.low, found.high

    return Estimate(100.0 * plain.value, 100.0 * plain.se, interval)


def median_of(values: np.ndarray, rallies: np.ndarray) -> Estimate:
    """Median over strokes."""
    return quantile_of(values, rallies, 0.5)


def quantile_of(values: np.ndarray, rallies: np.ndarray, share: float) -> Estimate:
    """Quantile over strokes, with Woodruff's interval (1952, J. Am. Stat. Assoc. 47, 635; memory):
    the quantiles at the ends of the interval of the share that lies at or below it."""
    if len(values) == 0:
        return normal(math.nan, math.nan)

    def at(below: float) -> float:
        bounded = min(max(below, 0.0), 1.0)
        return float(np.quantile(values, bounded, method="inverted_cdf"))

    # The error of that share, but for what rallies add: whole values tie at the quantile, and the
    # share at or below it would be off the one that was asked for.
    alone = math.sqrt(share * (1.0 - share)) / math.sqrt(len(values))
    se = alone * _clustering(values, rallies, share)

    def interval(level: float) -> tuple[float, float]:
        half = quantile(level, math.inf) * se
        return at(share - half), at(share + half)

    return Estimate(at(share), se, interval)


def _clustering(values: np.ndarray, rallies: np.ndarray, share: float) -> float:
    """How much larger the rallies make the standard error of the share at or below a quantile."""
    below = np.asarray(values <= np.quantile(values, share), float)
    alone = float(below.std()) / math.sqrt(len(below))
    return standard_error(below, rallies) / alone if alone > 0 else 1.0


def difference(a: Estimate, b: Estimate) -> Estimate:
    """a less b, two independent estimates with normal intervals."""
    return normal(a.value - b.value, float(length_of(a.se, b.se)))
