"""The best place for some legs, and how far off costs one ball in a hundred, with intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.balls.best import best_of, tolerance
from experiments.balls.struck import Counts
from sim.chance import checked_seed

BATCHES = 200  # of balls: the units of resampling and of pairing, so that memory stays small
RESAMPLES = 400
PURPOSE = 105  # of chance, beside those of sim.chance and of the charts
TAILS = (2.5, 97.5)
COST = 0.01  # one ball in a hundred
MEASURES = ("missed", "not_returned")


@dataclass(frozen=True)
class BestPlace:
    """The best lateral place by one measure, the tolerance around it, and 95 % intervals.

    x_m: the centre of the plateau, low_m to high_m, within half a ball in 100 of the best, which is
    at top_x_m. left_m, right_m: how far off x_m costs one ball in 100 more than at the best; inf
    where no place that was looked at costs so much. The intervals come from resampled balls: in 120
    repeats of 8000 balls, for two levels and both measures, they held the values of 200,000 balls
    in 90 to 97 of 100.
    """

    x_m: float
    low_m: float
    high_m: float
    top_x_m: float
    left_m: float
    right_m: float
    x_interval_m: tuple[float, float]
    left_interval_m: tuple[float, float]
    right_interval_m: tuple[float, float]


def resample_weights(seed: int) -> np.ndarray:
    """How often each batch of balls is drawn, with replacement: (RESAMPLES, BATCHES)."""
    rng = np.random.default_rng([checked_seed(seed), PURPOSE])
    return rng.multinomial(BATCHES, np.full(BATCHES, 1 / BATCHES), size=RESAMPLES).astype(float)


def rates_of(counts: Counts, measure: str, weights: np.ndarray) -> np.ndarray:
    """Share lost of the balls that landed in, by place, for each row of weights: (rows, k)."""
    top, bottom = (
        np.einsum("rb,bk->rk", weights, values, optimize=False)
        for values in (getattr(counts, measure), counts.landed)
    )
    return np.asarray(top / np.maximum(bottom, 1.0))


def best_place(x_m: np.ndarray, counts: Counts, measure: str, weights: np.ndarray) -> BestPlace:
    """The best place by balls in BATCHES batches that were met from the places `x_m`."""
    kept = 1.0 - counts.rate(measure)
    resampled = [_of_curve(x_m, 1.0 - r) for r in rates_of(counts, measure, weights)]
    intervals = (tails(column) for column in np.array(resampled).T)
    best, (_, left, right) = best_of(x_m, kept), _of_curve(x_m, kept)
    return BestPlace(best.x_m, best.low_m, best.high_m, best.top_x_m, left, right, *intervals)


def _of_curve(x_m: np.ndarray, kept: np.ndarray) -> tuple[float, float, float]:
    return best_of(x_m, kept).x_m, *tolerance(x_m, kept, COST)


def tails(values: np.ndarray) -> tuple[float, float]:
    """The middle 95 % of values, some of which may be infinite."""
    low, high = np.percentile(values, TAILS, method="nearest")
    return float(low), float(high)
