"""The best place of a curve that is jagged by luck: smoothed first, its interval by resampling.

The curve of shares kept or points won is known at a few places, from the same chance at each. It
is smoothed by local parabolas; the best place is the middle of the plateau of that (`best_of`).
"""

from __future__ import annotations

import numpy as np

from experiments.balls.best import Best, best_of
from sim.over_arrays import product

STEP_M = 0.05
HALF_WIDTH_M, FEWEST = 2.0, 4  # of the smoothing window: at least so many places
RESAMPLES = 400


def smooth_bests(places_m: np.ndarray, curves: np.ndarray) -> list[Best]:
    """The best place of each of many curves (n, k) of shares at ascending places (k,), smoothed."""
    fine_m, smooth = smoother(places_m)
    return [best_of(fine_m, curve) for curve in product(curves, smooth.T)]


def smoother(places_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Fine places (m,), and what turns values at `places_m` (k,) into a smooth curve there (m, k).

    A parabola through the places about each, near ones with more weight (Cleveland 1979, J. Am.
    Stat. Assoc. 74, 829-836): a curve that breaks off where drop shots begin to pay stays sharp,
    where one polynomial over all places would be bent by its far end.
    """
    steps = max(1, round(float(places_m[-1] - places_m[0]) / STEP_M))
    fine_m = np.linspace(places_m[0], places_m[-1], steps + 1)
    away = np.abs(places_m - fine_m[:, None])
    fewest = np.sort(away, axis=1)[:, min(FEWEST, len(places_m)) - 1]
    reach = np.maximum(HALF_WIDTH_M, 1.2 * fewest)
    share = np.minimum(away / reach[:, None], 1.0)
    bell = 1.0 - share * share * share
    weight = bell * np.sqrt(bell)
    rows = [_height(places_m - at_m, w) for at_m, w in zip(fine_m, weight, strict=True)]
    return fine_m, np.array(rows)


def _height(away_m: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """What makes of values the height at 0 of the weighted parabola through them, (k,).

    Of two values it is a line, of one a level. Least squares: what the other terms leave of the
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
