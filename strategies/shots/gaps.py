"""How far each shot would cross from the receiver, and a soft choice of the larger gap."""

from __future__ import annotations

import numpy as np

from sim.arithmetic import exp
from sim.belief import DIRECTIONS
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M
from strategies.aim import AimedShots


@kernel
def fill_choices(gaps, sharpness, weights, draw, out):  # type: ignore[no-untyped-def]
    """Choose column k of row i with a chance as weights[i, k] exp(sharpness gaps[i, k])."""
    for i in range(gaps.shape[0]):
        largest, total = gaps[i].max(), 0.0
        for k in range(weights.shape[1]):
            total += weights[i, k] * exp(sharpness * (gaps[i, k] - largest))
        left, chosen = draw[i] * total, 0
        for k in range(weights.shape[1]):
            if weights[i, k] > 0.0:
                chosen = k
                left -= weights[i, k] * exp(sharpness * (gaps[i, k] - largest))
                if left < 0.0:
                    break
        out[i] = chosen


def pick_by_gap(
    gaps: np.ndarray, sharpness_per_m: float, weights: np.ndarray, draw: np.ndarray
) -> np.ndarray:
    """One direction a row from gaps and weights (n, 4) and uniform numbers (n,): see above."""
    out = np.empty(len(gaps), np.int64)
    fill_choices(gaps, sharpness_per_m, weights, np.ascontiguousarray(draw), out)
    return out


def gaps_m(shots: AimedShots, seen: ShotSituation, look_ahead_s: float) -> np.ndarray:
    """Gap of each direction, (n, 4): from where the receiver will be `look_ahead_s` from now at the
    present velocity to where the ball's straight path crosses the receiver's waiting depth."""
    soon = seen.receiver["x_m"] + look_ahead_s * seen.receiver["vx_m_s"]
    line = HALF_LENGTH_M + seen.receiver_depth_m
    gaps = np.empty((len(seen), len(DIRECTIONS)))
    x, y = seen.contact["x_m"], seen.contact["y_m"]
    for k in range(len(DIRECTIONS)):
        target_x, target_y = shots.targets(seen, np.full(len(seen), k))
        crossing = x + (target_x - x) * (line - y) / (target_y - y)
        gaps[:, k] = np.abs(crossing - soon)
    return gaps
