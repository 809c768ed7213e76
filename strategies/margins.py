"""How far inside the lines a hitter aims: so many of the own errors out there."""

from __future__ import annotations

import math

from sim.arithmetic import tan
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M

WIDEST_MARGIN_SHARE = 0.6  # of the half width: the shakiest hitter still aims to a side


@kernel
def margins(c, side, depth, aim, hitter):  # type: ignore[no-untyped-def]
    """Margins to the sideline and to the baseline, m: so many of the own errors out there.

    A stretched hitter knows that the direction errs more; the stroke itself is then aimed shorter
    (`sim.stroke`), so the depth margin does not grow.
    """
    to_corner_x, to_corner_y = side * HALF_WIDTH_M - c.x_m, depth - c.y_m
    distance = math.sqrt(to_corner_x * to_corner_x + to_corner_y * to_corner_y)
    errors = hitter.aim_margin_sds * aim.margin_share
    gain = 1.0 + hitter.stretched_error_gain * (1.0 - c.quality)
    across = errors * gain * tan(hitter.direction_sd_rad) * distance
    along = errors * hitter.depth_sd_share * distance
    return (
        min(across, WIDEST_MARGIN_SHARE * HALF_WIDTH_M),
        min(along, HALF_LENGTH_M - SERVICE_LINE_M),
    )
