"""Anticipation: a player out of place sometimes moves on a guess before seeing the ball."""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel


@kernel
def fill_guesses(bodies, spots, chance, legs, out):  # type: ignore[no-untyped-def]
    """Fill the seconds that a guess adds to the reaction of each receiver: see `guesses`."""
    for i in range(out.size):
        dx, dy = bodies[i].x_m - spots[i, 0], bodies[i].y_m - spots[i, 1]
        off = math.sqrt(dx * dx + dy * dy)
        share = legs[0].guess_share * off / (off + legs[0].guess_half_m)
        out[i] = 0.0
        if chance[i, 0] < share:
            right = chance[i, 1] < legs[0].guess_right_share
            out[i] = -legs[0].guess_gain_s if right else legs[0].guess_loss_s


def guesses(
    bodies: np.ndarray, spots: np.ndarray, chance: np.ndarray, legs: np.ndarray
) -> np.ndarray:
    """Seconds that a guess adds to the reaction, shape (n,): below 0 right, above 0 wrong.

    The farther a player is from the own spot at the opponent's strike, the likelier a guess.
    `bodies` are BODY records, `spots` (n, 2), `chance` uniform numbers (n, 2), `legs` a LEGS
    record.

    Source: anticipation in 6-13 % of situations, almost only in trouble (Triolet et al. 2013).
    """
    out = np.empty(len(bodies))
    fill_guesses(bodies, spots, chance, legs, out)
    return out
