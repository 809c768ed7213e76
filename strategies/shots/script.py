"""Scripted shots, for tests and worked examples."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.errors import InputError
from sim.hitter import RPM
from sim.kinds import DRIVE
from strategies.limits import FARTHEST_X_M, FARTHEST_Y_M, FASTEST_M_S, MOST_SPIN_RPM
from strategies.naming import described
from strategies.packed import Packed, PackedShots

Shot = tuple[float, float, float, float]


@kernel
def intend_script(chance, shots, out):  # type: ignore[no-untyped-def]
    """Fill INTENT records by one uniform number each: one of the shots (m, m, m/s, rad/s)."""
    count = shots.shape[0]
    for i in range(out.shape[0]):
        shot, wish = shots[min(int(chance[i, 0] * count), count - 1)], out[i]
        wish.target_x_m, wish.target_y_m = shot[0], shot[1]
        wish.speed_m_s, wish.topspin_rad_s = shot[2], shot[3]
        wish.sidespin_rad_s, wish.kind = 0.0, DRIVE


@dataclass(frozen=True)
class Script(PackedShots):
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

    @cached_property
    def numbers(self) -> np.ndarray:
        """The shots as the kernel takes them: x m, y m, speed m/s, topspin rad/s; (shots, 4)."""
        out = np.array(self.shots, float)
        out[:, 3] *= RPM
        return out

    def packed(self, seen: ShotSituation, chance: np.ndarray) -> Packed:
        return Packed(intend_script, (chance, self.numbers))


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
