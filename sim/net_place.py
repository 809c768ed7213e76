"""Coming in: who goes to the net after the own stroke, and where to.

The place at the net lies halfway between two passing lanes from the opponent's contact: on the
ball's side down the line, to the corner of the baseline; on the other side across the court, to
where the service line meets the sideline. From the middle both land halfway between these depths,
and in between the depth changes smoothly, so that nothing jumps where the ball changes sides.
"""

from __future__ import annotations

import math

import numpy as np

from sim.can_play import smooth
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.kinds import COMING_IN
from sim.movement import inside


@kernel
def halfway_x_m(x, y, distance):  # type: ignore[no-untyped-def]
    """Halfway between the lanes from a contact (x, y), y > 0, at `distance` on this side."""
    off = math.copysign(smooth(abs(x) / HALF_WIDTH_M), x)
    middle, half = 0.5 * (HALF_LENGTH_M + SERVICE_LINE_M), 0.5 * (HALF_LENGTH_M - SERVICE_LINE_M)
    right = (HALF_WIDTH_M - x) / (y + middle + half * off)
    left = (-HALF_WIDTH_M - x) / (y + middle - half * off)
    return x + 0.5 * (y + distance) * (right + left)


@kernel
def coming_in(ball, legs):  # type: ignore[no-untyped-def]
    """How much a player who struck the BALL comes in: 0 not, 1 all the way to the net."""
    if legs.comes_in_within_m <= 0.0:
        return 0.0
    for kind in COMING_IN:
        if ball.kind == kind:
            return 1.0
    return inside(ball.y_m, legs)


@kernel
def fill_spots(spots, contacts, balls, legs, out):  # type: ignore[no-untyped-def]
    """Fill the spots of `net_spots`."""
    own = legs[0]
    for i in range(out.shape[0]):
        share = coming_in(balls[i], own)
        out[i, 0], out[i, 1] = spots[i, 0], spots[i, 1]
        if share > 0.0:
            x = halfway_x_m(contacts[i].x_m, contacts[i].y_m, own.net_distance_m)
            out[i, 0] = (1.0 - share) * spots[i, 0] + share * x
            out[i, 1] = (1.0 - share) * spots[i, 1] - share * own.net_distance_m


def net_spots(
    spots: np.ndarray, contact: np.ndarray, own_ball: np.ndarray, legs: np.ndarray
) -> np.ndarray:
    """The spots (n, 2) of a policy, moved to the net where the player comes in.

    After an approach, a volley or an overhead all the way; after another stroke the more, the
    nearer to the net it was struck. `contact` are the opponent's CONTACT records (n,) in the own
    frame (y > 0), `own_ball` BALL records (n,) of the own stroke in the opponent's frame, `legs`
    the numbers of Legs.
    """
    out = np.empty((len(spots), 2))
    fill_spots(np.asarray(spots, float), contact, own_ball, legs, out)
    return out
