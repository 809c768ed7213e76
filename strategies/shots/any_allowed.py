"""Any allowed ball, uniformly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import ShotSituation, intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.hitter import RPM
from sim.launch import HIT
from sim.parameter import parameter, require_finite_parameters
from sim.stroke import reasons_not_to_hit
from strategies.directions import crosscourt_side
from strategies.naming import described

TRIES = 8


@dataclass(frozen=True)
class AnyAllowed:
    """Hits any allowed ball: the landing uniform over the court beyond `nearest_landing_m`.

    Then speed and topspin uniform in the hitter's ranges, among those that can be hit: up to eight
    pairs are drawn until the flat ball clears the net; if none does, the stroke settles for what
    can be hit from the last. Blind to the receiver.

    Source: this project's neutral opponent, who makes no direction likelier than another.
    Parameter: `nearest_landing_m`, m from the net.
    As a hitter it should lose to all others: it aims at the lines as often as anywhere.

    Raises:
        InputError: a nearest landing that is negative, not finite or past the baseline.
    """

    nearest_landing_m: float = parameter(4.5, "m", "nearest landing to the net", low=2.0, high=8.0)
    draws: ClassVar[int] = 2 + 2 * TRIES
    sees_receiver: ClassVar[bool] = False

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        if not 0 < self.nearest_landing_m < HALF_LENGTH_M:
            raise InputError(
                f"AnyAllowed.nearest_landing_m is {self.nearest_landing_m:g} m; it must be between"
                f" the net (0) and the baseline ({HALF_LENGTH_M})"
            )

    @property
    def name(self) -> str:
        return described("any-allowed", self)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        h = seen.me.hitter
        # Counted from the side that crosscourt is on, so that a mirrored hitter does the mirrored.
        side = crosscourt_side(seen.contact["x_m"], seen.contact["wing"], seen.me)
        x = side * HALF_WIDTH_M * (2.0 * chance[:, 0] - 1.0)
        y = _between(self.nearest_landing_m, HALF_LENGTH_M, chance[:, 1])
        shares = _between(h.slowest_share, h.fastest_share, chance[:, 2::2])
        rpm = _between(h.least_topspin_rpm, h.most_topspin_rpm, chance[:, 3::2])
        speeds, topspins = seen.speed_m_s[:, None] * shares, rpm * RPM
        intents = intents_of(x, y, speeds[:, 0], topspins[:, 0])
        waiting = np.arange(len(seen))
        for k in range(TRIES):
            intents["speed_m_s"][waiting] = speeds[waiting, k]
            intents["topspin_rad_s"][waiting] = topspins[waiting, k]
            these = seen.contact[waiting], intents[waiting]
            tried = reasons_not_to_hit(*these, h.numbers, seen.world)
            waiting = waiting[tried != HIT]
        return intents


def _between(low: float, high: float, draw: np.ndarray) -> np.ndarray:
    return low + (high - low) * draw
