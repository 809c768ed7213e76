"""A pressing hitter."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from sim.belief import Belief
from sim.parameter import parameter
from strategies.naming import described
from strategies.shots.habit import Habit, to_the_middle

PRESSING_SHARES = Belief(from_middle=(0.45, 0.05, 0.45, 0.05), from_corner=(0.52, 0.04, 0.30, 0.14))


@dataclass(frozen=True)
class Pressing(Habit):
    """Presses: 1.15 of the level's speed, closer to the lines, few balls to the middle.

    A Habit with other values: `speed_share` without a spread, `margin_share` of the normal margin,
    own shares. Blind to the receiver.

    Source: this project's, all values assumed. Parameters as those of Habit.
    It should lose points by its own errors, most at a level whose error is large.
    """

    speed_share: float = parameter(1.15, "1", "speed over the usual one", low=1.0, high=1.15)
    speed_spread: float = parameter(0.0, "1", "standard deviation of that share", low=0, high=0.15)
    backhand_middle_gain: float = to_the_middle(0.0)
    margin_share: float = parameter(
        0.6, "1", "margin to the lines over the hitter's normal one", low=0.3, high=1.0
    )
    belief: Belief = dataclasses.field(
        default=PRESSING_SHARES,
        metadata={"allowed": "a table of from_middle and from_corner, four shares each"},
    )

    @property
    def name(self) -> str:
        return described("pressing", self)
