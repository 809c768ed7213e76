"""Scripted shots, for tests and worked examples."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import ShotSituation, intents_of
from sim.errors import InputError
from sim.hitter import RPM
from strategies.limits import FARTHEST_X_M, FARTHEST_Y_M, FASTEST_M_S, MOST_SPIN_RPM
from strategies.naming import described

Shot = tuple[float, float, float, float]


@dataclass(frozen=True)
class Script:
    """Hits scripted shots: always the one, or one of several with equal chances.

    `shots` holds (target x m, target y m, speed m/s, topspin rpm), the target in the hitter's own
    frame, y > 0. The draw picks the shot: of three, a draw below 1/3 picks the first, and so on.
    Blind to the receiver, to the contact, to wing and hand.

    Source: none; for tests and worked examples.
    It should lose to any receiver who has read it.

    Raises:
        InputError: no shots, or one that is not four finite numbers in range.
    """

    shots: tuple[Shot, ...] = dataclasses.field(
        default=((0.0, 9.0, 28.0, 2000.0),),
        metadata={"allowed": "a list of [target x m, target y m, speed m/s, topspin rpm]"},
    )
    draws: ClassVar[int] = 1
    sees_receiver: ClassVar[bool] = False

    def __post_init__(self) -> None:
        if not isinstance(self.shots, list | tuple) or not self.shots:
            raise InputError(f"Script.shots is {self.shots!r}; give at least one shot")
        object.__setattr__(self, "shots", tuple(_checked(shot) for shot in self.shots))

    @property
    def name(self) -> str:
        return described("script", self)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        count = len(self.shots)
        chosen = np.minimum((chance[:, 0] * count).astype(np.int64), count - 1)
        x, y, speed, rpm = np.array(self.shots)[chosen].T
        return intents_of(x, y, speed, rpm * RPM)


def _checked(shot: object) -> Shot:
    """The shot as a tuple, or an InputError that says what it must be."""
    numbers = tuple(shot) if isinstance(shot, list | tuple) else ()
    good = len(numbers) == 4 and all(
        isinstance(n, int | float) and math.isfinite(n) for n in numbers
    )
    if good:
        x, y, speed, rpm = (float(n) for n in numbers)
        inside = abs(x) <= FARTHEST_X_M and 0 < y <= FARTHEST_Y_M
        if inside and 0 < speed <= FASTEST_M_S and abs(rpm) <= MOST_SPIN_RPM:
            return x, y, speed, rpm
    raise InputError(
        f"scripted shot {shot!r}: give target x (-{FARTHEST_X_M:g} to {FARTHEST_X_M:g} m),"
        f" target y (above 0, to {FARTHEST_Y_M:g} m), speed (above 0, to {FASTEST_M_S:g} m/s),"
        f" topspin (-{MOST_SPIN_RPM:g} to {MOST_SPIN_RPM:g} rpm)"
    )
