"""A hitter of habit."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from sim.belief import DIRECTIONS, Belief
from sim.errors import InputError, unknown_name
from sim.parameter import parameter
from sim.players import Player
from sim.records import BACKHAND, FOREHAND
from strategies.naming import described
from strategies.shots.directed import DirectedShots, habit_record

NONE = "none"
WINGS = {"forehand": FOREHAND, "backhand": BACKHAND}


def to_the_middle(default: float, **said: str) -> Any:
    """The field `backhand_middle_gain` of a hitter, with what `parameter` is told of its source."""
    about = "share moved from crosscourt and down the line to the middle on the backhand"
    return parameter(default, "1", about, low=0.0, high=0.15, **said)


@dataclass(frozen=True)
class Habit(DirectedShots):
    """Hits by habit: fixed shares of crosscourt, middle, down the line and short angle.

    The shares change with the place of the contact (`belief`) and with the wing
    (`backhand_crosscourt_gain`, moved from down the line to crosscourt); speed, topspin and depth
    lie around the level's own, and the margin to the lines follows from the hitter's own error.
    Blind to the receiver.

    Gains multiply the shares of a direction from everywhere, all four scaled to add up to 1 again
    (`line_gain`, `short_gain`, `middle_gain`; the rest goes crosscourt), and on the backhand
    `backhand_middle_gain` moves a share from crosscourt and down the line to the middle. What a
    receiver believes does not follow them.

    Habits that one can name: `never` plays one direction, the others take its balls in proportion;
    `favourite` goes to one direction with `favourite_share` of the balls that would go elsewhere;
    `runs_round_m` plays balls up to so many metres to the backhand side of the centre as
    forehands, if unhurried (what that costs in court position is not modelled);
    `weak_wing` hits with `weak_speed_share` of the speed.

    Source: the shares of sim.belief. Sources disagree: from the corner 0.50 to 0.69 crosscourt,
    0.12 to 0.28 middle, and down the line 0.15 in charted matches of professional men, 0.19 in a
    coaching article on few players, 0.29 in tracked ends of men's points.
    Parameters: `belief` (shares, in the order of sim.belief.DIRECTIONS), those of the habits and
    those of aiming; each carries its unit.
    It should lose to a receiver who knows the habit and shades toward its favourite.

    Raises:
        InputError: a parameter that is negative or not finite, a direction or wing that is none,
            or one direction as favourite that is never played.
    """

    belief: Belief = dataclasses.field(
        default_factory=Belief,
        metadata={"allowed": "a table of from_middle and from_corner, four shares each"},
    )
    backhand_crosscourt_gain: float = parameter(
        0.0, "1", "share moved from down the line to crosscourt on the backhand", low=0.0, high=0.2
    )
    backhand_middle_gain: float = to_the_middle(
        0.1,
        source="professionals: 0.09 to 0.14 more to the middle with the backhand (Match Charting"
        " Project, computed; tracked ends of men's points)",
        status="published",
    )
    line_gain: float = parameter(
        1.0,
        "1",
        "factor on the share down the line",
        low=0.4,
        high=2.1,
        source="0.14 to 0.45 from the corner: what sources have, and more",
    )
    short_gain: float = parameter(
        1.0,
        "1",
        "factor on the share of short angles",
        low=0.5,
        high=2.0,
        source="0.05 to 0.18 from the corner: tracked ends of men's points have 0.06 to 0.15",
    )
    middle_gain: float = parameter(
        1.0,
        "1",
        "factor on the share to the middle",
        low=0.45,
        high=2.0,
        source="0.09 to 0.29 from the corner: what sources have, and less",
    )
    never: str = dataclasses.field(
        default=NONE, metadata={"allowed": " or ".join([NONE, *DIRECTIONS])}
    )
    favourite: str = dataclasses.field(
        default=NONE, metadata={"allowed": " or ".join([NONE, *DIRECTIONS])}
    )
    favourite_share: float = parameter(
        0.3, "1", "share of the other balls that go to the favourite", low=0.0, high=1.0
    )
    runs_round_m: float = parameter(
        0.0, "m", "how far on the backhand side balls are played as forehands", low=0.0, high=3.0
    )
    weak_wing: str = dataclasses.field(
        default=NONE, metadata={"allowed": " or ".join([NONE, *WINGS])}
    )
    weak_speed_share: float = parameter(
        0.85, "1", "speed of the weak wing over its usual one", low=0.6, high=1.0
    )

    def __post_init__(self) -> None:
        super().__post_init__()
        for key, valid in (("never", DIRECTIONS), ("favourite", DIRECTIONS), ("weak_wing", WINGS)):
            if getattr(self, key) not in (NONE, *valid):
                raise unknown_name(f"habit for {key}", str(getattr(self, key)), [NONE, *valid])
        for key in ("favourite_share", "weak_speed_share"):
            if getattr(self, key) > 1:
                raise InputError(f"{key} is {getattr(self, key):g}; allowed: 0 to 1")
        if self.never == self.favourite != NONE:
            raise InputError(f"{self.never} cannot be the favourite and never be played")

    @property
    def name(self) -> str:
        return described("habit", self)

    @cached_property
    def habit(self) -> np.ndarray:
        return habit_record(**self.habits())

    def habits(self) -> dict[str, Any]:
        """What differs from a hitter of plain shares."""
        same = (
            "line_gain",
            "short_gain",
            "middle_gain",
            "backhand_crosscourt_gain",
            "backhand_middle_gain",
            "attack_share",
            "favourite_share",
            "runs_round_m",
            "weak_speed_share",
        )
        own = {name: getattr(self, name) for name in same}
        for name in ("never", "favourite"):
            if getattr(self, name) != NONE:
                own[name] = DIRECTIONS.index(getattr(self, name))
        if self.weak_wing != NONE:
            own["weak_wing"] = WINGS[self.weak_wing]
        return own

    def shares_of(self, hitter: Player) -> tuple[np.ndarray, np.ndarray]:
        return self.belief.numbers, self.belief.seen_strokes
