"""Back to the middle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from sim.compiled import kernel
from sim.contracts import Situation
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import stand


@kernel
def stand_in_the_middle(line, out):  # type: ignore[no-untyped-def]
    """Fill spots behind the centre mark, `line` metres from the net."""
    for i in range(out.shape[0]):
        stand(0.0, line, out[i])


@dataclass(frozen=True)
class Middle(PackedSpots):
    """Go back to the middle, behind the centre mark, wherever the opponent is.

    Source: the habit that beginners are taught (common practice). No parameters.
    It should lose when the opponent strikes from a corner, where the crosscourt angle is wider
    than the straight one; with the opponent in the middle it should be as good as any.
    """

    placeable: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return "middle"

    def packed(self, seen: Situation) -> Packed:
        return Packed(stand_in_the_middle, (seen.line_m,))
