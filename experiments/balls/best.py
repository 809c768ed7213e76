"""The best place of a curve, and the range of places that are as good: one definition for all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.over_arrays import interpolated

PLATEAU = 0.005  # half a ball in 100


@dataclass(frozen=True)
class Best:
    """The best lateral place and its plateau, all places about it within half a ball in 100.

    x_m: the centre of the plateau, low_m to high_m: where to stand. top_x_m: where most balls are
    kept, and `share`, how many. No place of the curve keeps more than `share`; the centre of a
    plateau that falls off to one side only keeps a little less.
    """

    x_m: float
    low_m: float
    high_m: float
    top_x_m: float
    share: float


def top_of(x_m: np.ndarray, kept: np.ndarray) -> int:
    """The index of the place that keeps most; of equal ones that nearest to their middle."""
    tied = np.flatnonzero(kept == kept.max())
    middle = 0.5 * (x_m[tied].min() + x_m[tied].max())
    return int(tied[np.abs(x_m[tied] - middle).argmin()])


def best_of(x_m: np.ndarray, kept: np.ndarray, top: int | None = None) -> Best:
    """The best place of a curve: the share `kept` at ascending places, straight between them.

    The plateau runs from the top to both sides, to where the curve first falls below it by half a
    ball in 100, or to the last place. `top` is the index of the best place where it is known from
    more balls than the rest of the curve; nothing of the curve may lie above it.
    """
    k = top_of(x_m, kept) if top is None else top
    low, high = range_about(x_m, kept, k, float(kept[k]) - PLATEAU)
    low, high = max(low, float(x_m[0])), min(high, float(x_m[-1]))
    return Best(0.5 * (low + high), low, high, float(x_m[k]), float(kept[k]))


def joined(x_m: np.ndarray, kept: np.ndarray, near_x_m: np.ndarray, near_kept: np.ndarray) -> Best:
    """The best of the places `near_x_m`, and its plateau with the help of a curve from other balls.

    Places differ by less than sets of balls do: so the curve is moved to pass through the best
    place as the near places have it, and is cut where luck lifts it above.
    """
    near_x, first = np.unique(near_x_m, return_index=True)
    near = near_kept[first]
    k = top_of(near_x, near)
    moved = np.minimum(kept + near[k] - interpolated(near_x[k], x_m, kept), near[k])
    other = ~np.isin(x_m, near_x)
    x = np.concatenate([x_m[other], near_x])
    order = np.argsort(x)
    whole = np.concatenate([moved[other], near])[order]
    return best_of(x[order], whole, int(np.searchsorted(x[order], near_x[k])))


def tolerance(x_m: np.ndarray, kept: np.ndarray, cost: float) -> tuple[float, float]:
    """How far left and right of the plateau's centre `cost` more is lost than at the best place.

    Inf where no place so far out costs so much.
    """
    best = best_of(x_m, kept)
    limit = best.share - cost
    good = np.flatnonzero(kept >= limit)
    start = int(good[np.argmin(np.abs(x_m[good] - best.x_m))])
    low, high = range_about(x_m, kept, start, limit)
    return max(best.x_m - low, 0.0), max(high - best.x_m, 0.0)


def range_about(x_m: np.ndarray, kept: np.ndarray, k: int, limit: float) -> tuple[float, float]:
    """Where a curve first falls below a limit on both sides of place k; infinite if it does not."""
    low = -_first_below(-x_m[k::-1], kept[k::-1], limit)
    return low, _first_below(x_m[k:], kept[k:], limit)


def _first_below(x_m: np.ndarray, kept: np.ndarray, limit: float) -> float:
    under = np.flatnonzero(kept < limit)
    if len(under) == 0:
        return float("inf")
    k = int(under[0])
    share = (kept[k - 1] - limit) / (kept[k - 1] - kept[k])
    return float(x_m[k - 1] + share * (x_m[k] - x_m[k - 1]))
