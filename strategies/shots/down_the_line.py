"""A hitter who favours the line."""

from __future__ import annotations

from dataclasses import dataclass

from sim.parameter import parameter
from strategies.naming import described
from strategies.shots.habit import Habit


@dataclass(frozen=True)
class DownTheLine(Habit):
    """Hits by habit, but about every second ball from the corner down the line.

    Source: this project's; no source of ours has so many, the most is 0.29 from the corner (tracked
    ends of men's points). Parameters: those of habit and aiming, with another `line_gain`.
    It should lose to a receiver who goes back to the middle: the ball that would drag a receiver
    out of the court is the one crosscourt.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    line_gain: float = parameter(3.0, "1", "factor on the share down the line", low=1.0, high=3.6)

    @property
    def name(self) -> str:
        return described("down-the-line", self)
