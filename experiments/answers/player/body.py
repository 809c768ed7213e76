"""What a player's height says about reach and comfortable contact.

Lengths of the body go with height (Drillis and Contini 1966 as in Winter's Biomechanics, from
memory: upper arm 0.186, forearm 0.146, hand 0.108, half the shoulders 0.129 of the height; hip at
0.530, shoulder at 0.818). The racket's part of a reach stays: from the hand to the middle of the
strings it is 0.55 m (of a racket of 0.685 m; the rules allow 0.737 m, from memory).
"""

from __future__ import annotations

from sim.levels import LEVELS
from sim.players import PLAYERS

HAND_TO_STRINGS_M = 0.55
SPREAD = 0.05  # players of one height differ by this share to both sides (assumed)
REACHES = ("comfortable_reach_m", "full_reach_m")
CONTACT_HEIGHTS = ("best_low_m", "best_high_m")


def of_height(level: str, height_m: float) -> dict[str, tuple[float, float, float]]:
    """Value, low and high of the reaches and of the best contact heights for that height.

    The body's part of the level's values is scaled by height over the level's own.
    """
    ratio, legs = height_m / LEVELS[level].height_m.value, PLAYERS[level].legs
    values = {n: _scaled(getattr(legs, n), HAND_TO_STRINGS_M, ratio) for n in REACHES}
    values |= {n: _scaled(getattr(legs, n), 0.0, ratio) for n in CONTACT_HEIGHTS}
    return {n: (v, v * (1 - SPREAD), v * (1 + SPREAD)) for n, v in values.items()}


def _scaled(length_m: float, fixed_m: float, ratio: float) -> float:
    return fixed_m + (length_m - fixed_m) * ratio
