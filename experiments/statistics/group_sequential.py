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
    from scipy import special  # slow to import
    from scipy.optimize import brentq

    alone = float(special.ndtri(0.5 + level / 2))
    if len(sizes) == 1:
        return alone
    return float(brentq(lambda c: stays_inside(sizes, c) - level, alone, LARGEST, xtol=1e-13))


def stays_inside(sizes: tuple[int, ...], c: float) -> float:
    """The chance that no look's sum lies farther than c standard errors from the truth."""
    points, weights = _nodes()
    at, mass = np.zeros(1), np.ones(1)
    for before, size in zip((0, *sizes), sizes, strict=False):
        spread = math.sqrt(size - before)
        here = c * math.sqrt(size) * points
        steps = (here[:, None] - at[None, :]) / spread
        density = (np.exp(-0.5 * steps**2) * mass).sum(axis=1) / (spread * math.sqrt(2 * math.pi))
        at, mass = here, c * math.sqrt(size) * weights * density
    return float(mass.sum())


@lru_cache(maxsize=1)
def _nodes() -> tuple[np.ndarray, np.ndarray]:
    points, weights = np.polynomial.legendre.leggauss(NODES)
    return points, weights


@lru_cache(maxsize=256)
def level_each_look(looks: int, level: float) -> float:
    """The level of the interval at each of so many looks that hold together with `level`."""
    if looks == 1:
        return level
    from scipy import special  # slow to import

    return float(2.0 * special.ndtr(boundary(doubled(looks), level)) - 1.0)
