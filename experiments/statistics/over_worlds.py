"""What an outcome is over worlds: an interval from which chance is taken out.

A world is one set of values that the parameters may have; an outcome is estimated in each from a
few replicates, so the estimates scatter by the worlds and by chance. Chance is taken out in two
steps, neither of which needs to know how large it is.

1. World k plays a slice of the study's own replicates, which the default world has played too, on
   the same chance. What chance did to the default world in that slice (its estimate there less
   that of all replicates) is taken off as far as it goes along with what is seen in the worlds: a
   control variate, the slope by least squares, from 0 to 1 (Lavenberg and Welch 1981, Manage. Sci.
   27, 322-335; from memory). Worlds like the default one then have its estimate, whatever their
   slice.
2. Each slice is cut into halves, which share no chance. The covariance of the two halves over the
   worlds is therefore the variance of the worlds alone, without bias. Estimates are drawn
   together to their mean until they have that variance (Louis 1984, J. Am. Stat. Assoc. 79,
   393-398: constrained empirical Bayes, one error for all).

The covariance has chance of its own, and where few replicates are played may come out near 0
though worlds differ. So its upper 95 % bound is taken, by the variance that it has in normal
samples, at most the variance seen: chance goes out as far as it surely is chance, and the interval
errs to the wide side. More replicates a world narrow it. Its middle has the chance of the study's
own estimate, which the interval of chance tells.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from experiments.statistics.estimates import ROUNDING
from experiments.statistics.resampled import tails_of
from sim.distributions import normal_quantile

FEWEST = 2
HALVES = 2
ONE_SIDED = 0.9  # two-sided level whose quantile leaves 5 % above


@dataclass(frozen=True)
class OverWorlds:
    """An outcome in each world, chance taken out (n,); the ends between which 95 of 100 of them
    lie; and the share of the variance of the estimates that was taken out."""

    values: np.ndarray
    low: float
    high: float
    chance_share: float

    def share_beyond_zero(self, sign: float) -> float:
        """The share of the worlds on the side of zero that `sign` says; NaN if it is 0."""
        return float((sign * self.values > 0.0).mean()) if sign else math.nan


def over_worlds(
    worlds: np.ndarray, slices: np.ndarray, default: float, halves: np.ndarray, control: np.ndarray
) -> OverWorlds | None:
    """The spread of an outcome over worlds.

    `worlds` (n,) are the estimates in the worlds, `slices` (n,) those of the default world on the
    same replicates, `default` that on all replicates; `halves` (n, 2) and `control` (n, 2) are the
    same of the halves of the slices. Worlds with a number that does not exist are left out; None
    where fewer than two are left.
    """
    parts = np.column_stack([worlds, slices, halves, control])
    parts = parts[np.isfinite(parts).all(axis=1)]
    if len(parts) < FEWEST or not math.isfinite(default):
        return None
    own, beside = parts[:, [0, 2, 3]], parts[:, [1, 4, 5]]
    adjusted = own - _slope(own[:, 1:], beside[:, 1:]) * (beside - default)
    values, middle = adjusted[:, 0], float(adjusted[:, 0].mean())
    seen, most = _covariance(values, values), variance_bound(adjusted[:, 1], adjusted[:, 2])
    # What is not above rounding is no variance, and so has no share of chance.
    kept = min(most / seen, 1.0) if seen > (ROUNDING * middle) * (ROUNDING * middle) else 1.0
    drawn = middle + (values - middle) * math.sqrt(kept)
    return OverWorlds(drawn, *tails_of(drawn), 1.0 - kept)


def variance_bound(a: np.ndarray, b: np.ndarray) -> float:
    """The most that the variance common to a (n,) and b (n,), of independent error, may be: the
    upper 95 % bound of their covariance, which counts as 0 where it is below."""
    both = max(_covariance(a, b), 0.0)
    spread = _covariance(a, a) * _covariance(b, b) + both * both
    return both + normal_quantile(ONE_SIDED) * math.sqrt(spread / (len(a) - 1))


def _slope(own: np.ndarray, beside: np.ndarray) -> float:
    """How far the worlds' halves go along with the default world's, over the worlds: 0 to 1.

    Where all worlds have the same slice, nothing says it: then all of it, the plain difference.
    """
    if (beside == beside[0]).all():
        return 1.0
    apart, along = own - own.mean(axis=0), beside - beside.mean(axis=0)
    return min(max(float((apart * along).sum() / (along * along).sum()), 0.0), 1.0)


def _covariance(a: np.ndarray, b: np.ndarray) -> float:
    return float(((a - a.mean()) * (b - b.mean())).sum() / (len(a) - 1))


def halves_of(replicates: np.ndarray, size: int) -> np.ndarray:
    """The half that each replicate belongs to, numbered through: slice s of `size` replicates has
    the halves 2 s and 2 s + 1, the first the larger one by at most 1."""
    first = size - size // HALVES
    return HALVES * (replicates // size) + (replicates % size >= first)


def sums_of_halves(table: np.ndarray, halves: np.ndarray) -> np.ndarray:
    """Sums of the rows of a table (n, k) by the half that they belong to, (h, 1 + k): the number of
    the half, then the sums, in the order of the rows."""
    numbers, at = np.unique(halves, return_inverse=True)
    out = np.zeros((len(numbers), 1 + table.shape[1]))
    out[:, 0] = numbers
    np.add.at(out[:, 1:], at, table)
    return out
