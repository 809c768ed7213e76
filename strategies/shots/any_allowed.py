"""Any allowed ball, uniformly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.flight_table import sheets_of
from sim.kinds import DRIVE
from sim.launch import HIT
from sim.parameter import parameter, require_finite_parameters
from sim.records import record, record_type
from sim.stroke import reason_not_to_hit
from strategies.directions import crosscourt_of, hand_of
from strategies.naming import described
from strategies.packed import Packed, PackedShots

TRIES = 8


ANY = record_type("nearest_landing_m")


@kernel
def between(low, high, u):  # type: ignore[no-untyped-def]
    return low + (high - low) * u


@kernel
def intend_any(contacts, chance, models, hand, hitters, world, table, room, out):  # type: ignore[no-untyped-def]
    """Fill INTENT records of AnyAllowed by uniform numbers (n, 2 + 2 TRIES)."""
    h, w = hitters[0], world[0]
    sheets = None if table is None else (table[0], room[0])
    for i in range(out.shape[0]):
        c, u, wish = contacts[i], chance[i], out[i]
        speed = h.forehand_speed_m_s if c.wing > 0 else h.backhand_speed_m_s
        # Counted from the side that crosscourt is on, so that a mirrored hitter does the mirrored.
        side = crosscourt_of(c.x_m, c.wing, hand)
        wish.target_x_m = side * HALF_WIDTH_M * (2.0 * u[0] - 1.0)
        wish.target_y_m = between(models[0].nearest_landing_m, HALF_LENGTH_M, u[1])
        wish.sidespin_rad_s, wish.kind = 0.0, DRIVE
        for k in range(TRIES):
            wish.speed_m_s = speed * between(h.slowest_share, h.fastest_share, u[2 + 2 * k])
            spin = between(h.least_topspin_rad_s, h.most_topspin_rad_s, u[3 + 2 * k])
            wish.topspin_rad_s = spin
            if reason_not_to_hit(c, wish, h, w, sheets) == HIT:
                break


@dataclass(frozen=True)
class AnyAllowed(PackedShots):
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

    @cached_property
    def numbers(self) -> np.ndarray:
        """The parameters as an ANY record."""
        return record(ANY, nearest_landing_m=self.nearest_landing_m)

    def packed(self, seen: ShotSituation, chance: np.ndarray) -> Packed:
        me, world = seen.me, seen.world
        who = self.numbers, hand_of(me), me.hitter.numbers
        return Packed(intend_any, (seen.contact, chance, *who, world, *sheets_of(world)))
