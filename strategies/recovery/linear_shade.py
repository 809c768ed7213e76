"""Shade away from the opponent in proportion."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from sim.compiled import kernel
from sim.contracts import Situation
from sim.parameter import parameter, require_finite_parameters
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import resting, stand, toward_backhand


@kernel
def shade(contacts, shade, beside, line, out):  # type: ignore[no-untyped-def]
    """Fill spots `shade` metres away from the opponent's side for each metre off the centre, and
    `beside` metres to the right."""
    for i in range(out.shape[0]):
        stand(-shade * contacts[i].x_m + beside, line, out[i])


@dataclass(frozen=True)
class LinearShade(PackedSpots):
    """Stand so many metres away from the middle for each metre that the opponent is off centre.

    Source: this project's yardstick; the middle (0) and, for one contact depth, the bisector are
    points of the family. Parameters: `shade_m_per_m`, metres away from the opponent's side per
    metre of the opponent's contact from the centre line; `toward_backhand_m`, metres toward the own
    backhand side from there.
    It should lose where the right shade changes with the depth or height of the contact, since it
    looks at the lateral place alone.

    Raises:
        InputError: a shade that is negative or not finite.
    """

    shade_m_per_m: float = parameter(
        0.2, "m/m", "metres away from the opponent per metre off centre", low=0.0, high=0.6
    )
    toward_backhand_m: float = resting()
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @property
    def name(self) -> str:
        beside = f" toward_backhand_m={self.toward_backhand_m:g}" if self.toward_backhand_m else ""
        return f"linear-shade {self.shade_m_per_m:.2f}{beside}"

    def packed(self, seen: Situation) -> Packed:
        beside = toward_backhand(seen.me, self.toward_backhand_m)
        return Packed(shade, (seen.contact, float(self.shade_m_per_m), beside, seen.line_m))
