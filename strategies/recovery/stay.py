"""Stay where the own stroke was played."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from sim.compiled import kernel
from sim.contracts import Situation
from strategies.packed import Packed, PackedSpots


@kernel
def stay_there(bodies, out):  # type: ignore[no-untyped-def]
    """Fill spots with the places of BODY records."""
    for i in range(out.shape[0]):
        out[i, 0], out[i, 1] = bodies[i].x_m, bodies[i].y_m


@dataclass(frozen=True)
class Stay(PackedSpots):
    """Stay where you are: no recovery at all.

    The spot is the place of the own stroke, so it has no meaning in the *placed* setting, which
    has no own stroke: `placeable` is False, and studies leave it out there.

    Source: none needed; it is the zero that a recovery has to beat. No parameters.
    It should lose to nearly everything after a wide stroke, and cost little after one from the
    middle.
    """

    placeable: ClassVar[bool] = False

    @property
    def name(self) -> str:
        return "stay"

    def packed(self, seen: Situation) -> Packed:
        return Packed(stay_there, (seen.body,))
