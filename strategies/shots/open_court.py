"""A hitter who seeks the open court."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.belief import BELIEF, NO_STROKES, Belief
from sim.parameter import parameter
from sim.players import Player
from sim.records import record
from strategies.naming import described
from strategies.shots.directed import DirectedShots, habit_record


@dataclass(frozen=True)
class OpenCourt(DirectedShots):
    """Seeks the open court: prefers the shot that crosses farthest from the receiver.

    Four candidates, crosscourt and down the line deep, short angle and middle, each with the
    margins of the own error. The gap of each is the distance, where the ball's straight path
    crosses the receiver's waiting depth, from where the receiver will be after `look_ahead_s` at
    the present velocity. Chosen softly, weight times exp(sharpness times gap): between crosscourt
    and down the line a logistic in the difference of the gaps, without a dead band.

    Source: this project's, all values assumed. Parameters: `sharpness_per_m`, `look_ahead_s`, the
    weights of short angle and middle against 1 for the deep drives, and those of aiming.
    It should lose to a receiver who offers a side on purpose and covers it.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    sharpness_per_m: float = parameter(
        1.0, "1/m", "how sharply the larger gap is preferred", low=0.3, high=3.0
    )
    look_ahead_s: float = parameter(
        0.4, "s", "time for which the receiver's velocity is counted on", low=0.0, high=0.8
    )
    short_angle_weight: float = parameter(
        0.05, "1", "weight of the short angle against a deep drive", low=0.0, high=0.2
    )
    middle_weight: float = parameter(
        0.2, "1", "weight of the middle against a deep drive", low=0.0, high=0.5
    )
    looks: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return described("open-court", self)

    @cached_property
    def habit(self) -> np.ndarray:
        names = ("sharpness_per_m", "look_ahead_s", "attack_share")
        own = {name: getattr(self, name) for name in names}
        return habit_record(looks=1, **own)

    def shares_of(self, hitter: Player) -> tuple[np.ndarray, np.ndarray]:
        return self.weights, NO_STROKES

    @cached_property
    def weights(self) -> np.ndarray:
        """The weights of the directions, the same from everywhere, as a BELIEF record."""
        weights = (1.0, self.middle_weight, 1.0, self.short_angle_weight)
        return record(BELIEF, **{**Belief().plain, "from_middle": weights, "from_corner": weights})
