"""Words for a lateral place: length and steps from the centre mark, as the player faces the net."""

from __future__ import annotations

from experiments.scene.told_units import length

STEP_M = 0.75
NEAR_MIDDLE_M = 0.05


def side(x_m: float) -> str:
    """A lateral place in words."""
    if abs(x_m) < NEAR_MIDDLE_M:
        return "at the centre mark"
    return f"{length(abs(x_m))} {'left' if x_m < 0 else 'right'}"


def steps(x_m: float) -> str:
    """A lateral place in steps."""
    if abs(x_m) < NEAR_MIDDLE_M:
        return "no step"
    count = abs(x_m) / STEP_M
    return f"{count:.1f} step{'' if f'{count:.1f}' == '1.0' else 's'}"


def behind(depth_m: float) -> str:
    """A waiting depth in words."""
    if abs(depth_m) < NEAR_MIDDLE_M:
        return "on the baseline"
    return f"{length(abs(depth_m))} {'behind' if depth_m > 0 else 'inside'} the baseline"


def wing(x_m: float, hand: str) -> str:
    """The wing on which a lateral place lies, as the player of that hand faces the net."""
    return "forehand" if (x_m > 0) == (hand == "right") else "backhand"
