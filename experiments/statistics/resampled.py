"""Intervals by resampling: what else might have been seen, and where 95 in 100 of it lie."""

from __future__ import annotations

import numpy as np

from sim.chance import uniforms

TAILS = (2.5, 97.5)


def resamples_of(n: int, count: int, seed: int, purpose: int) -> np.ndarray:
    """Which of n rows each of `count` resamples holds, drawn with replacement: (count, n)."""
    drawn = uniforms(seed, np.arange(count), purpose, 0, n)
    return np.minimum((drawn * n).astype(int), n - 1)


def tails_of(values: np.ndarray, some_infinite: bool = False) -> tuple[float, float]:
    """Where 95 of 100 values (n,) lie; where some are infinite, ends are values and not between."""
    low, high = np.percentile(values, TAILS, method="nearest" if some_infinite else "linear")
    return float(low), float(high)
