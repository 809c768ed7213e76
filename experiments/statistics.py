"""Estimates with 95 % intervals from tallies.

The replicate (a ball or a rally) is the unit: balls missed of balls faced is a ratio of sums whose
variance comes from the residuals of each replicate (linearised ratio), and differences are paired
with the reference policy's same replicate. A share near 0 or 1 gets Wilson's interval with the
sample size that has the same variance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from experiments.tally import COLUMNS, Tally

LEVEL = 0.95
Z = NormalDist().inv_cdf(0.5 + LEVEL / 2)
ROUNDING = 1e-12
INDEX = {name: i for i, name in enumerate(COLUMNS)}


@dataclass(frozen=True)
class Estimate:
    """An estimate with its interval, its standard error and the number of units behind it."""

    value: float
    low: float
    high: float
    se: float
    n: int

    def scaled(self, factor: float) -> Estimate:
        """The estimate in another unit, or with the other sign."""
        low, high = sorted((factor * self.low, factor * self.high))
        return Estimate(factor * self.value, low, high, abs(factor) * self.se, self.n)


def ratio_terms(sums: np.ndarray, top: str, bottom: str) -> tuple[float, np.ndarray]:
    """A ratio of sums and the weights that turn a replicate's columns into its residual."""
    weights = np.zeros(len(COLUMNS))
    if sums[INDEX[bottom]] == 0:
        return math.nan, weights
    ratio = sums[INDEX[top]] / sums[INDEX[bottom]]
    weights[INDEX[top]] += 1.0
    weights[INDEX[bottom]] -= ratio
    return float(ratio), weights / sums[INDEX[bottom]]


def ratio(tally: Tally, top: str, bottom: str) -> Estimate:
    """Ratio of two sums over replicates, e.g. missed over balls, with a normal interval."""
    value, weights = ratio_terms(tally.own[0], top, bottom)
    variance = float(weights @ tally.own @ weights)
    # What a constant leaves is rounding, not spread.
    if variance < ROUNDING * float(weights**2 @ tally.own.diagonal()):
        variance = 0.0
    se = _se(variance, tally.own[0, 0])
    count = round(tally.own[0, INDEX[bottom]])
    return Estimate(value, value - Z * se, value + Z * se, se, count)


def share(tally: Tally, top: str, bottom: str) -> Estimate:
    """Like `ratio`, for a share: Wilson's interval at the sample size of equal variance."""
    plain = ratio(tally, top, bottom)
    return wilson(plain.value, plain.se, plain.n)


def wilson(value: float, se: float, n: int) -> Estimate:
    """Wilson's interval for a share with a standard error, from at most `n` units."""
    if n == 0 or not math.isfinite(value):
        return Estimate(math.nan, math.nan, math.nan, math.nan, n)
    effective = float(n)
    if se > 0 and 0 < value < 1:
        effective = min(float(n), value * (1 - value) / se**2)
    z2 = Z * Z / effective
    centre = (value + z2 / 2) / (1 + z2)
    half = Z / (1 + z2) * math.sqrt(value * (1 - value) / effective + z2 / (4 * effective))
    # At 0 and 1 the ends meet the estimate; rounding must not put it outside.
    low, high = max(0.0, min(centre - half, value)), min(1.0, max(centre + half, value))
    return Estimate(value, low, high, se, n)


def paired(tally: Tally, top: str, bottom: str) -> Estimate:
    """The policy's ratio less the reference policy's, on the same replicates."""
    mine, a = ratio_terms(tally.own[0], top, bottom)
    other, b = ratio_terms(tally.reference[0], top, bottom)
    variance = a @ tally.own @ a - 2.0 * (a @ tally.cross @ b) + b @ tally.reference @ b
    n = tally.own[0, 0]
    se = _se(max(float(variance), 0.0), n)
    value = mine - other
    return Estimate(value, value - Z * se, value + Z * se, se, round(n))


def _se(variance: float, n: float) -> float:
    return math.sqrt(max(variance, 0.0) * n / max(n - 1.0, 1.0))


def mean_of(parts: list[Estimate], is_share: bool) -> Estimate:
    """Mean with equal weights of estimates from independent replicates."""
    value = float(np.mean([p.value for p in parts]))
    se = math.sqrt(sum(p.se**2 for p in parts)) / len(parts)
    n = sum(p.n for p in parts)
    if is_share:
        return wilson(value, se, n)
    return Estimate(value, value - Z * se, value + Z * se, se, n)
