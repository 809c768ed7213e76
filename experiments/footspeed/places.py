"""The best place for some legs, and how far off costs one ball in a hundred, with intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.footspeed.sweep import BATCHES, Sums
from experiments.spot import PLATEAU
from sim.chance import checked_seed

RESAMPLES = 400
PURPOSE = 105  # of chance, beside those of sim.chance and of the charts
TAILS = (2.5, 97.5)
COST = 0.01  # one ball in a hundred
MEASURES = ("missed", "not_returned")


@dataclass(frozen=True)
class BestPlace:
    """The best lateral place by one measure, the tolerance around it, and 95 % intervals.

    x_m: the centre of the plateau, low_m to high_m, within half a ball in 100 of the best.
    left_m, right_m: how far off costs one ball in 100 more than at the best; inf where no place
    that was looked at costs so much. The intervals come from resampled balls: in 120 repeats of
    8000 balls, for two levels and both measures, they held the values of 200,000 balls in 90 to 97
    of 100.
    """

    x_m: float
    low_m: float
    high_m: float
    left_m: float
    right_m: float
    x_interval_m: tuple[float, float]
    left_interval_m: tuple[float, float]
    right_interval_m: tuple[float, float]


def resample_weights(seed: int) -> np.ndarray:
    """How often each batch of balls is drawn, with replacement: (RESAMPLES, BATCHES)."""
    rng = np.random.default_rng([checked_seed(seed), PURPOSE])
    return rng.multinomial(BATCHES, np.full(BATCHES, 1 / BATCHES), size=RESAMPLES).astype(float)


def rate_of(sums: Sums, measure: str, weights: np.ndarray | None = None) -> np.ndarray:
    """Share of the balls that landed in, by place (k,), or for each resample (RESAMPLES, k)."""
    counted = getattr(sums, measure)
    if weights is None:
        return np.asarray(counted.sum(axis=0) / sums.landed.sum(axis=0))
    top = np.einsum("rb,bk->rk", weights, counted, optimize=False)
    bottom = np.einsum("rb,bk->rk", weights, sums.landed, optimize=False)
    return np.asarray(top / np.maximum(bottom, 1.0))


def best_place(x_m: np.ndarray, sums: Sums, measure: str, weights: np.ndarray) -> BestPlace:
    """The best place by the balls of a sweep over the places `x_m`."""
    rate = rate_of(sums, measure)
    resampled = np.array([_of_curve(x_m, curve) for curve in rate_of(sums, measure, weights)])
    intervals = (_tails(column) for column in resampled.T)
    x, left, right = _of_curve(x_m, rate)
    return BestPlace(x, *plateau(x_m, rate), left, right, *intervals)


def _of_curve(x_m: np.ndarray, rate: np.ndarray) -> tuple[float, float, float]:
    return sum(plateau(x_m, rate)) / 2, *tolerance(x_m, rate)


def _tails(values: np.ndarray) -> tuple[float, float]:
    """The middle 95 % of values, some of which may be infinite."""
    low, high = np.percentile(values, TAILS, method="nearest")
    return float(low), float(high)


def plateau(x_m: np.ndarray, rate: np.ndarray) -> tuple[float, float]:
    """The ends of the range within half a ball in 100 of the best.

    `rate` is the share lost at the places `x_m`, taken as straight between them. The range ends
    with the places that were looked at.
    """
    limit = float(rate.min()) + PLATEAU
    good = np.flatnonzero(rate <= limit)
    first, last = int(good[0]), int(good[-1])
    low = -_first_over(-x_m[first::-1], rate[first::-1], limit)
    high = _first_over(x_m[last:], rate[last:], limit)
    return max(low, float(x_m[0])), min(high, float(x_m[-1]))


def tolerance(x_m: np.ndarray, rate: np.ndarray) -> tuple[float, float]:
    """How far left and right of the best place a ball in 100 more is lost than at the best.

    Between the places as in `plateau`; inf where no place so far out costs so much.
    """
    limit, centre = float(rate.min()) + COST, sum(plateau(x_m, rate)) / 2
    good = np.flatnonzero(rate <= limit)
    start = int(good[np.argmin(np.abs(x_m[good] - centre))])
    right = _first_over(x_m[start:] - centre, rate[start:], limit)
    left = _first_over(centre - x_m[start::-1], rate[start::-1], limit)
    return max(left, 0.0), max(right, 0.0)


def _first_over(away_m: np.ndarray, rate: np.ndarray, limit: float) -> float:
    """Where a curve that begins at or under the limit first goes over it; inf if it never does."""
    over = np.flatnonzero(rate > limit)
    if len(over) == 0:
        return float("inf")
    k = int(over[0])
    share = (limit - rate[k - 1]) / (rate[k] - rate[k - 1])
    return float(away_m[k - 1] + share * (away_m[k] - away_m[k - 1]))
