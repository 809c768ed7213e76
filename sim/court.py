"""The singles court, in metres (ITF Rules of Tennis, rule 1)."""

from __future__ import annotations

from sim.compiled import kernel

HALF_LENGTH_M = 11.885
HALF_WIDTH_M = 4.115
SERVICE_LINE_M = 6.40
NET_CENTRE_M = 0.914
NET_SUPPORT_M = 1.07
NET_SUPPORT_X_M = HALF_WIDTH_M + 0.914
RUN_OFF_BACK_M = 6.40
RUN_OFF_SIDE_M = 3.66


@kernel
def net_height_m(x_m: float) -> float:
    """Height of the net at `x_m` from the centre: linear up to the singles stick, none beyond.

    The rules fix only the centre and the support; the straight line between is our choice. A ball
    that passes outside the support goes round the net, which the rules allow.
    """
    distance = abs(x_m)
    if distance > NET_SUPPORT_X_M:
        return 0.0
    return NET_CENTRE_M + (NET_SUPPORT_M - NET_CENTRE_M) * distance / NET_SUPPORT_X_M


@kernel
def is_wide(x_m: float) -> bool:
    """Whether a landing at `x_m` is outside the singles sidelines (on the line is in)."""
    return abs(x_m) > HALF_WIDTH_M


@kernel
def is_long(y_m: float) -> bool:
    """Whether a landing at `y_m` is past the baseline (on the line is in)."""
    return abs(y_m) > HALF_LENGTH_M
