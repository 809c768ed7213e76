"""How many balls, how much rest and how many sessions a trial may ask of whom.

Common practice, no source: sets of eight feeds with a minute of rest, as in the handout's drill,
and fewer balls with longer rests for children and for players of 65 and more. A player file has the
age of the level that it is based on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from experiments.answers.handout.answer import FEEDS_A_SET, REST_S
from experiments.scene.scene import require_count
from sim.errors import InputError
from sim.players import Player

FEED_S = 15  # from one feed to the next: run, come back, take the place, tick the box
SESSIONS = 10  # more than these nobody keeps up as one trial
FEWEST_BALLS, MOST_BALLS = 2 * FEEDS_A_SET, 2000


@dataclass(frozen=True)
class Dose:
    """At most so many balls in a session, with so much rest after each set of FEEDS_A_SET."""

    balls: int
    rest_s: int


ADULT = Dose(64, REST_S)
BY_LEVEL = {
    "under-12": Dose(32, 90),
    "under-14-girl": Dose(48, 90),
    "under-14-boy": Dose(48, 90),
    "senior-65": Dose(40, 90),
}


@dataclass(frozen=True)
class Practice:
    """The sets and sessions of a trial of at most `most_balls` balls.

    Raises:
        InputError: a number of balls out of range, or that makes no whole sets.
    """

    dose: Dose
    most_balls: int

    def __post_init__(self) -> None:
        require_count("balls in a session", self.dose.balls, FEEDS_A_SET, 10 * FEEDS_A_SET)
        require_count("balls of the trial", self.most_balls, FEWEST_BALLS, MOST_BALLS)
        for what, balls in (("a session", self.dose.balls), ("the trial", self.most_balls)):
            if balls % FEEDS_A_SET:
                raise InputError(
                    f"balls of {what} are {balls}; give a multiple of {FEEDS_A_SET}, the balls of a"
                    " set"
                )

    @property
    def pairs_a_set(self) -> int:
        return FEEDS_A_SET // 2

    def sessions(self, balls: int) -> int:
        """How many sessions so many balls take."""
        return math.ceil(balls / self.dose.balls)

    def minutes(self, balls: int) -> float:
        """How long so many balls of one session take, without the warm-up."""
        sets = math.ceil(balls / FEEDS_A_SET)
        return (balls * FEED_S + (sets - 1) * self.dose.rest_s) / 60.0


def practice_of(
    player: Player, session_balls: int | None = None, most_balls: int | None = None
) -> Practice:
    """What suits the player, with what was given in its place.

    Raises:
        InputError: as Practice.
    """
    usual = BY_LEVEL.get(player.base_level, ADULT)
    dose = usual if session_balls is None else Dose(session_balls, usual.rest_s)
    most = min(SESSIONS * dose.balls, MOST_BALLS) if most_balls is None else most_balls
    return Practice(dose, most)
