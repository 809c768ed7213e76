"""The one core of every answer about places: strike balls from a contact, appraise those that land.

A hitter who does not look plays the same balls whoever stands where; one who sees the receiver
plays to the place that the receiver is given here, on the same random numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from experiments.statistics.tally import COLUMNS
from sim.contracts import bodies_at
from sim.exchange import Game, Place, opening_contact, strike_balls
from sim.legs import Legs
from sim.meeting import appraisals
from sim.records import IN, OPPONENT

SAME_PLACE_M = 1e-6


@dataclass(frozen=True, eq=False)
class Struck:
    """Balls of one contact place: BALL records (n,), which landed in (n,), their own paths."""

    balls: np.ndarray
    landed: np.ndarray
    paths: np.ndarray

    def appraised(self, places: np.ndarray, legs: Legs) -> tuple[np.ndarray, np.ndarray]:
        """Time to spare in s and grade from places (k, 2), of the balls that landed in: (m, k)."""
        x, y = np.ascontiguousarray(np.asarray(places, float).T)  # one layout, so one kernel serves
        balls = self.balls[self.landed]
        return appraisals(balls, self.paths, x, y, legs.numbers, legs.times)


def struck_at(game: Game, contact: Place, place: np.ndarray, replicates: np.ndarray) -> Struck:
    """The opponent's balls `replicates` from a contact, at a receiver at rest at a place (2,)."""
    n = len(replicates)
    receiver = bodies_at(np.full(n, place[0]), np.full(n, place[1]))
    at = opening_contact(contact, game.opponent, n)
    balls, paths = strike_balls(game, OPPONENT, at, receiver, replicates, 0)
    landed = balls["outcome"] == IN
    return Struck(balls, landed, paths[landed])


def groups_of(places: np.ndarray, sees_receiver: bool) -> Sequence[np.ndarray]:
    """The places (k, 2) that meet the same balls: all, or each one alone for a hitter who looks."""
    return [places[j : j + 1] for j in range(len(places))] if sees_receiver else [places]


def return_chance(spare_s: np.ndarray, control_time_s: float) -> np.ndarray:
    """Chance of a return as far as time goes (sim.reply.in_control), for balls that are reached."""
    if control_time_s <= 0.0:
        return np.ones_like(spare_s)
    return np.asarray(-np.expm1(-np.maximum(spare_s, 0.0) / control_time_s))


def table_of(
    landed: np.ndarray, lost: np.ndarray, place: np.ndarray, of: float = 0.0
) -> np.ndarray:
    """Rows (units,) in the columns of a tally, the lost balls as `missed`, for one place (x, y).

    Two places that lose the very same balls are still two, and so are two players (`of` tells them
    apart): the tally is to see that, for only a difference from the same place is exactly 0.
    """
    out = np.zeros((len(landed), len(COLUMNS)))
    x, y = np.round(place, 6)
    out[:, [COLUMNS.index(c) for c in ("one", "reached_x_m", "spot_x_m", "spare_s")]] = (
        1.0,
        x,
        y,
        of,
    )
    out[:, COLUMNS.index("balls")] = landed
    out[:, COLUMNS.index("missed")] = lost
    return out
