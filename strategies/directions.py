"""Which way crosscourt is."""

from __future__ import annotations

import numpy as np

from sim.compiled import kernel
from sim.players import Player

CROSSCOURT, MIDDLE, DOWN_THE_LINE, SHORT_ANGLE = 0, 1, 2, 3  # the order of sim.belief.DIRECTIONS


@kernel
def crosscourt_of(x, wing, hand):  # type: ignore[no-untyped-def]
    """The side that a crosscourt ball goes to: see `crosscourt_side`. `hand` 1 is the right."""
    if x == 0.0:
        return -hand if wing > 0 else hand
    return -1.0 if x > 0.0 else 1.0


def crosscourt_side(x_m: np.ndarray, wing: np.ndarray, hitter: Player) -> np.ndarray:
    """The side that a crosscourt ball goes to, in the hitter's own frame: -1 left, 1 right; (n,).

    `x_m` and `wing` of the contact, shape (n,). It is the other side of the centre from the
    contact; from the centre itself the side to which the swing pulls the ball, left for a
    right-hander's forehand.
    """
    hand = 1.0 if hitter.hand == "right" else -1.0
    return np.where(x_m == 0.0, -hand * np.sign(wing), -np.sign(x_m))
