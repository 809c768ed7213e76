"""Quantiles of the distributions that intervals rest on, from this code's own arithmetic.

Incomplete beta and gamma functions by their continued fractions and series (Abramowitz and Stegun
1964, 26.5.8, 6.5.29, 6.5.31, by the algorithm of Lentz 1976; from memory), the factor before them
by the deviance (Loader 2000, Fast and accurate computation of binomial probabilities; from memory),
so that large numbers do not cancel. Quantiles by Newton's steps, halved where they leave what is
known. `tests/test_distributions.py` compares them with others': a tail is met to 9 digits where
units go into the millions, to 11 below.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from sim.arithmetic import erfc, exp, log
from sim.chance import normal
from sim.compiled import kernel
from sim.over_arrays import filled

STIRLING = (1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188, -691 / 360360, 1 / 156)
FROM_STIRLING, TINY, STEPS, EXACT = 12.0, 1e-300, 1_000_000, 1e-16
LOG_LEAST, LOG_MOST, NEWTON_STEPS = -700.0, 700.0, 200
ROOT_TWO_PI = math.sqrt(2.0 * math.pi)
ROOT_HALF = math.sqrt(0.5)


@kernel
def stirling_rest(z: float) -> float:
    """log Gamma(z) less (z - 1/2) log z - z + log(2 pi) / 2, for z above 0."""
    near, factor = z, 1.0
    while near < FROM_STIRLING:
        factor *= near
        near += 1.0
    one = 1.0 / (near * near)
    total = 0.0
    for k in range(6, -1, -1):
        total = total * one + STIRLING[k]
    total /= near
    if near > z:
        total += (near - 0.5) * log(near) - near - log(factor) - (z - 0.5) * log(z) + z
    return total


@kernel
def deviance(k: float, mean: float) -> float:
    """k log(k / mean) + mean - k, exact where k is close to the mean."""
    away = k - mean
    if abs(away) > 0.1 * (k + mean):
        return k * log(k / mean) - away
    share = away / (k + mean)
    total, power, square = away * share, 2.0 * k * share, share * share
    for j in range(1, 30):
        power *= square
        total += power / (2 * j + 1)
    return total


@kernel
def beta_below(a: float, b: float, x: float, y: float) -> tuple[float, float]:
    """Share of the beta distribution below x, and its density times x y; y is 1 - x."""
    n = a + b
    spread = exp(
        stirling_rest(n)
        - stirling_rest(a)
        - stirling_rest(b)
        - deviance(a, n * x)
        - deviance(b, n * y)
    )
    dense = spread * math.sqrt(a / n * b) / ROOT_TWO_PI
    if x <= (a + 1.0) / (n + 2.0):
        return dense / a * beta_fraction(a, b, x), dense
    return 1.0 - dense / b * beta_fraction(b, a, y), dense


@kernel
def beta_fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of the incomplete beta function."""
    c, d = 1.0, 1.0 / _kept(1.0 - (a + b) * x / (a + 1.0))
    found = d
    for m in range(1, STEPS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        d = 1.0 / _kept(1.0 + even * d)
        c = _kept(1.0 + even / c)
        found *= d * c
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        d = 1.0 / _kept(1.0 + odd * d)
        c = _kept(1.0 + odd / c)
        found *= d * c
        if abs(d * c - 1.0) <= EXACT:
            break
    return found


@kernel
def _kept(x: float) -> float:
    return x if abs(x) > TINY else TINY


@kernel
def gamma_below(a: float, x: float) -> tuple[float, float]:
    """Share of the gamma distribution with shape a below x, and its density times x."""
    dense = exp(-stirling_rest(a) - deviance(a, x)) * math.sqrt(a) / ROOT_TWO_PI
    if x < a + 1.0:
        term, total, k = 1.0 / a, 1.0 / a, a
        for _ in range(STEPS):
            k += 1.0
            term *= x / k
            total += term
            if term <= EXACT * total:
                break
        return dense * total, dense
    b = x + 1.0 - a
    c, d = 1.0 / TINY, 1.0 / b
    found = d
    for m in range(1, STEPS):
        step = -m * (m - a)
        b += 2.0
        d = 1.0 / _kept(step * d + b)
        c = _kept(b + step / c)
        found *= d * c
        if abs(d * c - 1.0) <= EXACT:
            break
    return 1.0 - dense * found, dense


@kernel
def quantile_logarithm(a: float, b: float, share: float) -> float:
    """Logarithm of the odds x / (1 - x) of the quantile of the beta distribution of a and b; where
    b is infinite, of the quantile of the gamma distribution with shape a."""
    low, high, at = LOG_LEAST, LOG_MOST, log(a) if b == math.inf else log(a / b)
    for _ in range(NEWTON_STEPS):
        x = exp(at)
        if b == math.inf:
            below, dense = gamma_below(a, x)
        else:
            below, dense = beta_below(a, b, x / (1.0 + x), 1.0 / (1.0 + x))
        low, high = (at, high) if below < share else (low, at)
        following = at - (below - share) / dense if dense > 0.0 else high
        if not low < following < high:
            following = 0.5 * (low + high)
        step, at = following - at, following
        if abs(step) <= EXACT * max(abs(at), 1.0):
            break
    return at


@kernel
def beta_quantile(a: float, b: float, share: float) -> float:
    """Below which number `share` of the beta distribution lies: a and b above 0, share inside."""
    odds = exp(quantile_logarithm(a, b, share))
    return odds / (1.0 + odds)


@kernel
def gamma_quantile(a: float, share: float) -> float:
    """Below which number `share` of the gamma distribution with shape a and scale 1 lies."""
    return exp(quantile_logarithm(a, math.inf, share))


@kernel
def student_quantile(freedom: float, level: float) -> float:
    """The t such that `level` of Student's distribution lies between -t and t."""
    return math.sqrt(freedom * exp(quantile_logarithm(0.5, 0.5 * freedom, level)))


@kernel
def normal_quantile(level: float) -> float:
    """The z such that `level` of the normal distribution lies between -z and z."""
    return normal(0.5 + 0.5 * level)


@kernel
def normal_level(z: float) -> float:
    """How much of the normal distribution lies between -z and z, for z from 0."""
    return 1.0 - erfc(z * ROOT_HALF)


@kernel
def fill_gamma_quantile(a, share, out):  # type: ignore[no-untyped-def]
    for i in range(a.size):
        out[i] = gamma_quantile(a[i], share[i])


def gamma_quantile_of(a: npt.ArrayLike, share: npt.ArrayLike) -> np.ndarray:
    """`gamma_quantile` of arrays, their shapes matched as NumPy does."""
    return filled(fill_gamma_quantile, a, share)
