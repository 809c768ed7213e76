"""The best place of a curve over shades or depths, with all that else might have been seen.

The rule is the one of `balls.smooth`: local parabolas, then the middle of the plateau. Batches of
replicates are drawn anew, the same ones for every curve of a study: a curve drawn anew has a best
place of its own, so the interval counts the choice; and as its neighbours met the same chance, the
difference of two best places is known better than either.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from experiments.balls.smooth import RESAMPLES, smooth_bests
from experiments.statistics.resampled import resamples_of, tails_of

PURPOSE = 107  # of chance, beside those of sim.chance and of the answers
FEWEST_BATCHES = 20  # of fewer no interval is said
END_M = 1e-9
NO_END, LOW, HIGH, BOTH = "", "low", "high", "both"


@dataclass(frozen=True, eq=False)
class Found:
    """The best place of one curve, in metres along it, and those of RESAMPLES curves drawn anew.

    low_m to high_m: the plateau, all within half in 100 of the best, which is at top_m with `share`
    kept or won. at_end: which ends of the places tried the plateau reaches; its middle would lie
    farther out, or anywhere if it reaches both.
    """

    best_m: float
    low_m: float
    high_m: float
    top_m: float
    share: float
    at_end: str
    drawn_m: np.ndarray

    @property
    def interval_m(self) -> tuple[float, float]:
        """Where 95 of 100 of the best places drawn anew lie; NaN where none were drawn."""
        return ends_of(self.drawn_m)

    def moved_m(self, other: Found) -> tuple[float, float, float]:
        """How much farther along this best place is than another one, and its interval."""
        return self.best_m - other.best_m, *ends_of(self.drawn_m - other.drawn_m)

    def scaled(self, factor: float) -> Found:
        """The same in another unit."""
        best, low, high, top = (
            factor * v for v in (self.best_m, self.low_m, self.high_m, self.top_m)
        )
        return Found(best, low, high, top, self.share, self.at_end, factor * self.drawn_m)


def ends_of(drawn: np.ndarray) -> tuple[float, float]:
    """Where 95 of 100 of the values lie; NaN where there are none."""
    return tails_of(drawn) if np.isfinite(drawn).all() else (math.nan, math.nan)


def best_on(places_m: np.ndarray, kept: np.ndarray, of: np.ndarray, seed: int) -> Found:
    """The best of ascending places (k,) by what was `kept`, or won, `of` so many: (batches, k)."""
    (best,) = smooth_bests(places_m, _rate(kept.sum(axis=0), of.sum(axis=0))[None])
    drawn = np.full(RESAMPLES, math.nan)
    if len(kept) >= FEWEST_BATCHES:
        rows = resamples_of(len(kept), RESAMPLES, seed, PURPOSE)
        curves = _rate(kept[rows].sum(axis=1), of[rows].sum(axis=1))
        drawn = np.array([one.x_m for one in smooth_bests(places_m, curves)])
    low = LOW if best.low_m <= places_m[0] + END_M else NO_END
    high = HIGH if best.high_m >= places_m[-1] - END_M else NO_END
    at_end = BOTH if low and high else low or high
    return Found(best.x_m, best.low_m, best.high_m, best.top_x_m, best.share, at_end, drawn)


def _rate(kept: np.ndarray, of: np.ndarray) -> np.ndarray:
    return np.asarray(kept / np.maximum(of, 1.0))


def mean_of(parts: Sequence[Found]) -> Found:
    """The mean of best places with equal weights; all were drawn anew from the same batches."""
    names = ("best_m", "low_m", "high_m", "top_m", "share", "drawn_m")
    best, low, high, top, share, drawn = (
        np.mean([getattr(p, name) for p in parts], axis=0) for name in names
    )
    ends = {p.at_end for p in parts} - {NO_END}
    at_end = BOTH if BOTH in ends else ", ".join(sorted(ends))
    return Found(float(best), float(low), float(high), float(top), float(share), at_end, drawn)
