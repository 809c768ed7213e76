"""Depth: the best depth of a curve of points, with an interval that counts chance.

Points by depth are jagged by luck, so the curve is smoothed before its top is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.balls.best import Best
from experiments.balls.smooth import RESAMPLES, smooth_bests
from experiments.statistics.resampled import resamples_of, tails_of

BATCHES = 200
PURPOSE = 106  # of chance, beside those of sim.chance, of the charts and of footspeed


@dataclass(frozen=True)
class BestDepth:
    """The best waiting depth, metres behind the baseline, by points.

    depth_m: the middle of low_m to high_m, the depths within half a point in 100 of the best, which
    is at top_m, where points_per_100 are won. interval_m: 95 %, by resampled rallies, all depths
    together, each with a curve and a best depth of its own. All of the smoothed curve.
    """

    depth_m: float
    low_m: float
    high_m: float
    top_m: float
    points_per_100: float
    interval_m: tuple[float, float]


def best_depth(depths_m: np.ndarray, won: np.ndarray, seed: int) -> BestDepth:
    """The best depth by shares of points `won` (units, depths), met by the same chance."""
    units = np.array_split(won, min(BATCHES, len(won)))
    batches = np.array([batch.mean(axis=0) for batch in units])
    (best,) = smooth_bests(depths_m, won.mean(axis=0)[None])
    drawn = resamples_of(len(batches), RESAMPLES, seed, PURPOSE)
    bests = smooth_bests(depths_m, batches[drawn].mean(axis=1))
    ends = tails_of(np.array([one.x_m for one in bests]))
    return _of(best, ends)


def _of(best: Best, ends: tuple[float, float]) -> BestDepth:
    return BestDepth(best.x_m, best.low_m, best.high_m, best.top_x_m, 100.0 * best.share, ends)
