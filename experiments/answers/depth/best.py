"""Depth: the best depth of a curve of points, with an interval that counts chance.

Points by depth are jagged by luck, so the curve is smoothed before its top is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.balls.best import Best, best_of
from experiments.statistics.resampled import resamples_of, tails_of
from sim.over_arrays import product

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
    best = best_of(fine_m, product(smooth, won.mean(axis=0)))
    drawn = resamples_of(len(batches), RESAMPLES, seed, PURPOSE)
    curves = product(batches[drawn].mean(axis=1), smooth.T)
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
    share = np.minimum(away / reach[:, None], 1.0)
    bell = 1.0 - share * share * share
    weight = bell * np.sqrt(bell)
    rows = [_height(depths_m - at_m, w) for at_m, w in zip(fine_m, weight, strict=True)]
    return fine_m, np.array(rows)


def _height(away_m: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """What makes of points the height at 0 of the weighted parabola through them, (k,).

    Of two points it is a line, of one a level. Least squares: what the other terms leave of the
    constant one (Gram and Schmidt, each time in two rounds, since the first rounds).
    """
    slope, basis = away_m / HALF_WIDTH_M, list[np.ndarray]()
    for term in (weight * slope, weight * slope * slope)[: len(away_m) - 1]:
        basis.append(_without(_without(term, basis), basis))
    own = _without(_without(weight, basis), basis)
    return np.asarray(own / (own * own).sum() * weight)


def _without(vector: np.ndarray, basis: list[np.ndarray]) -> np.ndarray:
    """What is left of a vector beside vectors at right angles to each other."""
    for other in basis:
        vector = vector - (vector * other).sum() / (other * other).sum() * other
    return vector
