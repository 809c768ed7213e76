"""A hitter who aims at the weaker wing of the receiver."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.parameter import parameter
from sim.players import Player
from sim.records import BACKHAND, FOREHAND
from strategies.directions import hand_of
from strategies.naming import described
from strategies.shots.directed import habit_record
from strategies.shots.habit import Habit


@dataclass(frozen=True)
class WeakerWing(Habit):
    """Hits by habit, but rather to the side of the receiver's weaker wing.

    The shares of the balls to that side are multiplied by `weaker_side_gain`, all four scaled to
    add up to 1 again. The weaker wing is the one with the slower drive, of two equal ones the
    backhand. Knows who receives, not where.

    Source: common practice, no source; the gain is assumed. Parameters: those of habit and aiming,
    and that gain. It should lose to a receiver who waits on the side of the weaker wing.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    weaker_side_gain: float = parameter(
        2.0, "1", "factor on the shares to the side of the weaker wing", low=1.0, high=4.0
    )

    @property
    def name(self) -> str:
        return described("weaker-wing", self)

    def habit_against(self, receiver: Player) -> np.ndarray:
        hits, hand = receiver.hitter, hand_of(receiver)
        wing = FOREHAND if hits.forehand_speed_m_s < hits.backhand_speed_m_s else BACKHAND
        return habit_record(**self.habits(), weaker_side=int(-hand * wing))

    def habits(self) -> dict[str, Any]:
        return {**super().habits(), "weaker_side_gain": self.weaker_side_gain}
