"""A hitter of habit who watches the receiver a little."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from sim.parameter import parameter
from strategies.naming import described
from strategies.shots.habit import Habit


@dataclass(frozen=True)
class Attentive(Habit):
    """Hits by habit, but rather where the receiver is not.

    The shares of habit, each times exp(sharpness times gap): the gap is the distance, at the
    receiver's waiting depth, between the ball's straight path and where the receiver will be after
    `look_ahead_s`. With a sharpness of 0 it is the hitter of habit; it grows into one who seeks
    the open court. The opponent of the rallies that are compared with published ones.

    Source: this project's, sharpness assumed. Parameters: those of habit and aiming, and two that
    carry their units.
    It should lose to a receiver who knows the habit, and to one who offers a side on purpose.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    sharpness_per_m: float = parameter(
        0.2, "1/m", "how sharply the larger gap is preferred", low=0.0, high=1.0
    )
    look_ahead_s: float = parameter(
        0.4, "s", "time for which the receiver's velocity is counted on", low=0.0, high=0.8
    )
    looks: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return described("attentive", self)

    def habits(self) -> dict[str, Any]:
        own = {name: getattr(self, name) for name in ("sharpness_per_m", "look_ahead_s")}
        return {**super().habits(), **own, "looks": 1}
