"""Which way crosscourt is."""

from __future__ import annotations

import numpy as np

from sim.belief import CROSSCOURT, DOWN_THE_LINE, MIDDLE, SHORT_ANGLE, crosscourt_of
from sim.players import Player

__all__ = (
    "CROSSCOURT",
    "DOWN_THE_LINE",
    "MIDDLE",
    "SHORT_ANGLE",
    "crosscourt_of",
    "crosscourt_side",
    "hand_of",
)


def hand_of(someone: Player) -> float:
    """1 for a right-handed player, -1 for a left-handed one."""
    return 1.0 if someone.hand == "right" else -1.0


def crosscourt_side(x_m: np.ndarray, wing: np.ndarray, hitter: Player) -> np.ndarray:
    """The side that a crosscourt ball goes to, in the hitter's own frame: -1 left, 1 right; (n,).

    `x_m` and `wing` of the contact, shape (n,). It is the other side of the centre from the
    contact; from the centre itself the side to which the swing pulls the ball, left for a
    right-hander's forehand.
    """
    return np.where(x_m == 0.0, -hand_of(hitter) * np.sign(wing), -np.sign(x_m))
