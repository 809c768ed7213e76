"""Intervals that stay valid though one looks at the data again and again.

Who looks at n, 2n, 4n, ... replicates and stops when an interval is narrow enough looks several
times, and each look could miss the truth. The quantile of each look is therefore raised to the one
constant with which the intervals of all looks that can come hold together (a boundary of the kind
of Pocock 1977, Biometrika 64, 191-199, for sizes that double). The sums of the looks are a random
walk; the chance that it stays inside is integrated look by look (Armitage, McPherson and Rowe 1969,
J. R. Stat. Soc. A 132, 235-244), to the same digits each time.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from experiments.statistics.bisection import root_of
from sim.distributions import normal_level, normal_quantile
from sim.over_arrays import cos_of, exp_of

NODES = 64  # of the quadrature; its error is below 1e-12 for sizes that double
LARGEST = 12.0


def doubled(looks: int) -> tuple[int, ...]:
    """Sizes of that many looks, the first one 1."""
    return tuple(2**k for k in range(looks))


def looks_within(first: int, most: int) -> int:
    """How many looks at `first` replicates, twice as many and so on stay within `most`."""
    return (most // first).bit_length()


@lru_cache(maxsize=256)
def boundary(sizes: tuple[int, ...], level: float) -> float:
    """The quantile with which the intervals at all these sizes hold together with `level`.

    `sizes` are the replicates at the looks, rising, in any unit.
    """
    alone = normal_quantile(level)
    if len(sizes) == 1:
        return alone
    return root_of(lambda c: stays_inside(sizes, c) - level, alone, LARGEST)


def stays_inside(sizes: tuple[int, ...], c: float) -> float:
    """The chance that no look's sum lies farther than c standard errors from the truth."""
    points, weights = _nodes()
    at, mass = np.zeros(1), np.ones(1)
    for before, size in zip((0, *sizes), sizes, strict=False):
        spread = math.sqrt(size - before)
        here = c * math.sqrt(size) * points
        steps = (here[:, None] - at[None, :]) / spread
        density = (exp_of(-0.5 * steps * steps) * mass).sum(axis=1) / (
            spread * math.sqrt(2 * math.pi)
        )
        at, mass = here, c * math.sqrt(size) * weights * density
    return float(mass.sum())


@lru_cache(maxsize=1)
def _nodes() -> tuple[np.ndarray, np.ndarray]:
    """Points and weights of Gauss and Legendre from -1 to 1, by Newton's steps from the cosines."""
    points = cos_of(math.pi * (np.arange(NODES, 0, -1) - 0.25) / (NODES + 0.5))
    for _ in range(8):
        before, here = np.ones(NODES), points
        for k in range(2, NODES + 1):
            before, here = here, ((2 * k - 1) * points * here - (k - 1) * before) / k
        slope = NODES * (points * here - before) / (points * points - 1.0)
        points = points - here / slope
    return points, 2.0 / ((1.0 - points * points) * slope * slope)


@lru_cache(maxsize=256)
def level_each_look(looks: int, level: float) -> float:
    """The level of the interval at each of so many looks that hold together with `level`."""
    if looks == 1:
        return level
    return normal_level(boundary(doubled(looks), level))
