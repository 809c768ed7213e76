"""The safest place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from sim.belief import Belief
from sim.contracts import Situation
from strategies.packed import Packed, PackedSpots
from strategies.recovery.place_losses import packed_for


@dataclass(frozen=True)
class Safest(PackedSpots):
    """Stand where the best reply of a hitter who sees the place costs least.

    The replies are the four directions, as usual and harder and nearer to the lines, each with the
    hitter's error and with the price of balls that do not land in (`place_losses`).

    Source: the game in which the place is seen first (von Neumann 1928). No parameters.
    It should lose to the best place for a belief where that belief is right, and to no one by much.
    """

    placeable: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return "safest"

    def packed(self, seen: Situation) -> Packed:
        return packed_for(seen, 1.0, Belief())
