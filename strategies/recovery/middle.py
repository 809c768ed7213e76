"""Back to the middle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from sim.compiled import kernel
from sim.contracts import Situation
from sim.parameter import require_finite_parameters
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import resting, stand, toward_backhand


@kernel
def stand_in_the_middle(beside, line, out):  # type: ignore[no-untyped-def]
    """Fill spots `beside` metres to the right of the centre mark, `line` metres from the net."""
    for i in range(out.shape[0]):
        stand(0.0 + beside, line, out[i])


@dataclass(frozen=True)
class Middle(PackedSpots):
    """Go back to the middle, behind the centre mark, wherever the opponent is.

    Source: the habit that beginners are taught (common practice). Parameter:
    `toward_backhand_m`, metres toward the own backhand side from there.
    It should lose when the opponent strikes from a corner, where the crosscourt angle is wider
    than the straight one; with the opponent in the middle it should be as good as any.

    Raises:
        InputError: metres that are negative or not finite.
    """

    toward_backhand_m: float = resting()
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @property
    def name(self) -> str:
        return described("middle", self)

    def packed(self, seen: Situation) -> Packed:
        return Packed(
            stand_in_the_middle, (toward_backhand(seen.me, self.toward_backhand_m), seen.line_m)
        )
