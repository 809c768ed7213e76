"""Depth: the best depth of a curve of points, with an interval that counts chance.

Points by depth are jagged by luck, so the curve is smoothed before its top is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.balls.best import Best, best_of
from experiments.statistics.resampled import resamples_of, tails_of

STEP_M = 0.05
HALF_WIDTH_M, FEWEST = 2.0, 4  # of the smoothing window: at least so many depths
BATCHES, RESAMPLES = 200, 400
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
    fine_m, smooth = smoother(depths_m)
    best = best_of(fine_m, smooth @ won.mean(axis=0))
    drawn = resamples_of(len(batches), RESAMPLES, seed, PURPOSE)
    curves = batches[drawn].mean(axis=1) @ smooth.T
    ends = tails_of(np.array([best_of(fine_m, curve).x_m for curve in curves]))
    return _of(best, ends)


def _of(best: Best, ends: tuple[float, float]) -> BestDepth:
    return BestDepth(best.x_m, best.low_m, best.high_m, best.top_x_m, 100.0 * best.share, ends)


def smoother(depths_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Fine depths (m,), and what turns points at `depths_m` (k,) into a smooth curve there (m, k).

    A parabola through the depths about each, near ones with more weight (Cleveland 1979, J. Am.
    Stat. Assoc. 74, 829-836): a curve that breaks off where drop shots begin to pay stays sharp,
    where one polynomial over all depths would be bent by its far end.
    """
    steps = max(1, round(float(depths_m[-1] - depths_m[0]) / STEP_M))
    fine_m = np.linspace(depths_m[0], depths_m[-1], steps + 1)
    away = np.abs(depths_m - fine_m[:, None])
    fewest = np.sort(away, axis=1)[:, min(FEWEST, len(depths_m)) - 1]
    reach = np.maximum(HALF_WIDTH_M, 1.2 * fewest)
    weight = (1.0 - np.minimum(away / reach[:, None], 1.0) ** 3) ** 1.5
    rows = []
    for at_m, w in zip(fine_m, weight, strict=True):
        powers = np.vander((depths_m - at_m) / HALF_WIDTH_M, 3, increasing=True)
        rows.append(np.linalg.pinv(powers * w[:, None])[0] * w)
    return fine_m, np.array(rows)
