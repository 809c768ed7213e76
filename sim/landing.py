"""How likely a drive is to land in, its hitter's own error counted.

The error is that of `sim.stroke.spoil`: a turn of the direction, and a share of the distance that
acts through the elevation and through the speed. To first order each is normal where the ball
lands and where it passes the net, so the chance follows from four normal tails: over the net,
inside the baseline, inside either sideline. Sidelines are met from the side, net and baseline
along the path, and the two are taken as independent.
"""

from __future__ import annotations

import math

from sim.arithmetic import erfc, log
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.launch import over_net
from sim.stroke import LARGEST_TILT_RAD

TILT_RAD, FASTER = 0.003, 0.01
LEAST_ERROR_M, LEAST = 0.02, 1e-300  # less error is counted as that, so that a search has a slope
NEVER = -1e3  # logarithm of the chance of a ball that does not get over the net at all
ROOT_HALF = math.sqrt(0.5)


@kernel
def normal_below(x):  # type: ignore[no-untyped-def]
    """The normal distribution function."""
    return 0.5 * erfc(-ROOT_HALF * x)


@kernel
def log_chance(x, y, ball, slopes, hitter):  # type: ignore[no-untyped-def]
    """Logarithm of the chance to land in of a ball (gap over the net, landing x, landing y).

    Struck at (x, y), y > 0. `slopes`: metres of carry and of gap for a radian of elevation, and for
    the whole speed more.
    """
    gap, lx, ly = ball
    carry_tilt, gap_tilt, carry_speed, gap_speed = slopes
    dx, dy = lx - x, ly - y
    distance = math.sqrt(dx * dx + dy * dy)
    depth_sd = hitter.depth_sd_share * distance
    tilt_sd = math.sqrt(hitter.elevation_share) * depth_sd / max(carry_tilt, 1.0)
    tilt_sd = min(tilt_sd, LARGEST_TILT_RAD)
    share_sd = math.sqrt(1.0 - hitter.elevation_share) * depth_sd / max(carry_speed, 0.1)
    by_tilt, by_speed = gap_tilt * tilt_sd, gap_speed * share_sd
    gap_sd = math.sqrt(by_tilt * by_tilt + by_speed * by_speed)
    along = -dy / distance
    sideways, drift = distance * along * hitter.direction_sd_rad, dx / distance * depth_sd
    side_sd = math.sqrt(sideways * sideways + drift * drift)
    over = normal_below(gap / max(gap_sd, LEAST_ERROR_M))
    short = normal_below((ly + HALF_LENGTH_M) / max(along * depth_sd, LEAST_ERROR_M))
    right = normal_below((HALF_WIDTH_M - lx) / max(side_sd, LEAST_ERROR_M))
    left = normal_below((HALF_WIDTH_M + lx) / max(side_sd, LEAST_ERROR_M))
    return log(max(over * short * max(right + left - 1.0, 0.0), LEAST))


@kernel
def log_chance_in(x, y, z, elevation, hx, hy, speed, topspin, hitter, w, sheets):  # type: ignore[no-untyped-def]
    """A launch in the direction (hx, hy): (logarithm of its chance to land in, landing x, y).

    The contact is at y > 0, in the receiver's frame; without sidespin.
    """
    ball = over_net(x, y, z, elevation, math.nan, hx, hy, speed, topspin, w, sheets)
    tilted = over_net(x, y, z, elevation + TILT_RAD, math.nan, hx, hy, speed, topspin, w, sheets)
    faster = over_net(
        x, y, z, elevation, math.nan, hx, hy, (1.0 + FASTER) * speed, topspin, w, sheets
    )
    gap, lx, ly = ball
    if not (math.isfinite(gap) and math.isfinite(tilted[0]) and math.isfinite(faster[0])):
        return NEVER, lx, ly
    slopes = (
        ((tilted[1] - lx) * hx + (tilted[2] - ly) * hy) / TILT_RAD,
        (tilted[0] - gap) / TILT_RAD,
        ((faster[1] - lx) * hx + (faster[2] - ly) * hy) / FASTER,
        (faster[0] - gap) / FASTER,
    )
    return log_chance(x, y, ball, slopes, hitter), lx, ly
