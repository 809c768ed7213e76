"""Which lateral places are tried: one grid for all answers, finer near the best one.

Where all places meet the same balls, a place costs little, and the whole line is tried every STEP.
Where each place needs balls of its own, the line is looked at every COARSE_STEP with LOOK_BALLS
balls, and halved steps lead from its best place to one whose neighbours at FINEST are no better:
against a hitter who looks, a few centimetres can change the stroke that is played, and with it
several balls in 100.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from experiments.balls.best import top_of

FARTHEST_X_M, STEP_X_M, COARSE_STEP_X_M = 5.0, 0.1, 0.25
FINEST_X_M = COARSE_STEP_X_M / 16  # halves of the coarse step, so that places stay exact in binary
AROUND = (0, 1, 4, 16)  # of the finest step, to both sides of the best place
LOOK_BALLS = 800


def line_x_m(coarse: bool) -> np.ndarray:
    """The lateral places of the whole line, ascending: (k,)."""
    step = COARSE_STEP_X_M if coarse else STEP_X_M
    half = round(FARTHEST_X_M / step)
    return step * np.arange(-half, half + 1)


def around_x_m(x_m: float) -> np.ndarray:
    """The places about a best one among which it is judged, ascending: (k,)."""
    steps = np.unique([sign * n for n in AROUND for sign in (-1, 1)])
    x = x_m + FINEST_X_M * steps
    return x[np.abs(x) <= FARTHEST_X_M]


def refined(kept_at: Callable[[np.ndarray], np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """The coarse line and finer places near its best one, ascending, and what `kept_at` says there.

    `kept_at` takes places (k,) and returns the share of balls kept from each, (k,).
    """
    x = line_x_m(coarse=True)
    found = dict(zip(x.tolist(), np.asarray(kept_at(x)).tolist(), strict=True))
    best, step = float(x[top_of(x, np.array(list(found.values())))]), COARSE_STEP_X_M
    while step >= FINEST_X_M:
        beside = [v for v in (best - step, best + step) if abs(v) <= FARTHEST_X_M]
        new = [v for v in beside if v not in found]
        if new:
            found |= zip(new, np.asarray(kept_at(np.array(new))).tolist(), strict=True)
        better = max(beside, key=lambda v: found[v])
        if found[better] > found[best]:
            best = better
        else:
            step /= 2
    places = np.array(sorted(found))
    return places, np.array([found[v] for v in places.tolist()])
