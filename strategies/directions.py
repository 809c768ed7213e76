"""Which way crosscourt is."""

from __future__ import annotations

from sim.belief import CROSSCOURT, DOWN_THE_LINE, MIDDLE, SHORT_ANGLE, crosscourt_of
from sim.players import Player

__all__ = (
    "CROSSCOURT",
    "DOWN_THE_LINE",
    "MIDDLE",
    "SHORT_ANGLE",
    "crosscourt_of",
    "hand_of",
)


def hand_of(someone: Player) -> float:
    """1 for a right-handed player, -1 for a left-handed one."""
    return 1.0 if someone.hand == "right" else -1.0
