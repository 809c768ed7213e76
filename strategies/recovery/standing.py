"""Spots that a player can stand on."""

from __future__ import annotations

import numpy as np

from sim.contracts import Situation
from sim.court import HALF_WIDTH_M, RUN_OFF_SIDE_M

SIDE_LIMIT_M = HALF_WIDTH_M + RUN_OFF_SIDE_M


def standing(seen: Situation, x_m: np.ndarray) -> np.ndarray:
    """Spots (n, 2) at the waiting depth, the lateral places kept inside the run-off."""
    return seen.spots_at(np.clip(x_m, -SIDE_LIMIT_M, SIDE_LIMIT_M))
