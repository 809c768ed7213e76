"""The angle: the two extreme drives that a hitter can play from a contact point.

Extreme are the drives that cross the receiver's depth line farthest to either side. Without
sidespin a drive stays in one vertical plane, so the crossing depends on the landing alone: the
shortest playable landing beside the line that the ball runs away from, the deepest one where it
comes back in. The shortest landing comes with the least speed and the most topspin that just leave
the wished gap above the net.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.flight_table import table_of
from sim.hitter import RPM
from sim.launch import lowest_over_net, solve_flat
from sim.parameter import parameter, require_finite_parameters
from sim.records import record, record_type

LIMITS = record_type(
    "slowest_share",
    "fastest_share",
    "topspin_rad_s",
    "net_gap_m",
    "line_margin_m",
    "nearest_landing_m",
)
EXTREME = record_type("target_x_m", "target_y_m", "speed_m_s", "topspin_rad_s")
SLOWER = 0.9
TRIES = 8
CLOSE_M = 1e-4


@dataclass(frozen=True)
class DriveLimits:
    """Which balls count as playable drives when the angle is drawn (all assumed, to be varied)."""

    slowest_share: float = parameter(
        0.75, "1", "slowest drive over the usual speed", low=0.6, high=0.9
    )
    fastest_share: float = parameter(
        1.10, "1", "fastest drive over the usual speed", low=1.0, high=1.2
    )
    most_topspin_rpm: float = parameter(
        3000.0, "rpm", "most topspin of a drive", low=2000.0, high=4000.0
    )
    net_gap_m: float = parameter(
        0.25, "m", "gap between the ball's underside and the net", low=0.0, high=0.6
    )
    line_margin_m: float = parameter(0.5, "m", "distance inside the lines", low=0.0, high=1.2)
    nearest_landing_m: float = parameter(6.0, "m", "nearest landing to the net", low=4.5, high=8.0)

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @cached_property
    def numbers(self) -> np.ndarray:
        """The limits as a LIMITS record."""
        return record(
            LIMITS,
            slowest_share=self.slowest_share,
            fastest_share=self.fastest_share,
            topspin_rad_s=self.most_topspin_rpm * RPM,
            net_gap_m=self.net_gap_m,
            line_margin_m=self.line_margin_m,
            nearest_landing_m=self.nearest_landing_m,
        )


@kernel
def shortest_landing(x, y, z, line_x, speed, lift, limits, w, table):  # type: ignore[no-untyped-def]
    """Shortest playable drive beside the line x = line_x: (landing depth, negative y; lift).

    Fixed point: the shortest carry of a heading changes little with the heading. NaN where no
    drive of this speed clears the net by the gap. For `lift` see `lowest_over_net`.
    """
    depth = -limits.nearest_landing_m
    across = line_x - x
    for _ in range(12):
        heading = math.atan2(depth - y, across)
        _, lx, ly, lift = lowest_over_net(
            x, y, z, heading, speed, limits.topspin_rad_s, limits.net_gap_m, lift, w, table
        )
        carry2 = (lx - x) ** 2 + (ly - y) ** 2
        if not carry2 > across * across:
            return math.nan, lift
        found = y - math.sqrt(carry2 - across * across)
        if found >= -limits.nearest_landing_m or abs(found - depth) < CLOSE_M:
            return found, lift
        depth = found
    return depth, lift


@kernel
def fastest_drive(x, y, z, tx, ty, slowest, fastest, limits, w, table):  # type: ignore[no-untyped-def]
    """Largest speed up to `fastest` whose drive to the target leaves the gap above the net.

    Falls back to `slowest`; the gap shrinks as the speed grows, so a bracketed secant finds it.
    """
    spin = limits.topspin_rad_s
    reached, _, _, gap = solve_flat(x, y, z, tx, ty, fastest, spin, 0.0, w, table)
    high, f_high = fastest, gap - limits.net_gap_m
    if reached and f_high >= 0.0:
        return fastest
    reached, _, _, gap = solve_flat(x, y, z, tx, ty, slowest, spin, 0.0, w, table)
    low, f_low = slowest, gap - limits.net_gap_m
    if not reached or f_low <= 0.0 or not math.isfinite(f_high):
        return slowest
    side = 0
    for _ in range(20):
        speed = (low * f_high - high * f_low) / (f_high - f_low)
        _, _, _, gap = solve_flat(x, y, z, tx, ty, speed, spin, 0.0, w, table)
        f = gap - limits.net_gap_m
        if 0.0 <= f < 0.002 or high - low < 0.001:
            return speed
        if f > 0.0:
            low, f_low = speed, f
            if side == 1:
                f_high *= 0.5
            side = 1
        else:
            high, f_high = speed, f
            if side == -1:
                f_low *= 0.5
            side = -1
    return low


@kernel
def extreme_drive(x, y, z, side, usual, want_speed, lift, limits, w, table):  # type: ignore[no-untyped-def]
    """The extreme drive toward `side` (-1 left, 1 right): (target x, target y, speed, lift).

    Of the drives that take the extreme direction the fastest is given, or, where `want_speed` is
    false, the slowest, which costs a tenth of the time. Where not even the slowest drive can be
    kept in beside that line, slower balls are tried, and in the end the deepest landing is taken.
    For `lift` see `lowest_over_net`.
    """
    line_x = side * (HALF_WIDTH_M - limits.line_margin_m)
    deepest = -(HALF_LENGTH_M - limits.line_margin_m)
    slowest, fastest = usual * limits.slowest_share, usual * limits.fastest_share
    if side * x >= side * line_x:
        if want_speed:
            slowest = fastest_drive(x, y, z, line_x, deepest, slowest, fastest, limits, w, table)
        return line_x, deepest, slowest, lift
    for _ in range(TRIES):
        depth, lift = shortest_landing(x, y, z, line_x, slowest, lift, limits, w, table)
        if math.isfinite(depth) and depth >= deepest:
            break
        depth = deepest
        slowest *= SLOWER
    if depth >= -limits.nearest_landing_m:
        depth = -limits.nearest_landing_m
        if want_speed:
            slowest = fastest_drive(x, y, z, line_x, depth, slowest, fastest, limits, w, table)
    return line_x, depth, slowest, lift


@kernel
def fill_extremes(x, y, z, usual, want_speed, limits, world, table, out):  # type: ignore[no-untyped-def]
    """Fill out[i, 0] (left) and out[i, 1] (right) for each contact."""
    own, w = limits[0], world[0]
    for i in range(x.size):
        lift = 0.0
        for side in range(2):
            toward = 2.0 * side - 1.0
            tx, ty, speed, lift = extreme_drive(
                x[i], y[i], z[i], toward, usual[i], want_speed, lift, own, w, table
            )
            out[i, side].target_x_m = tx
            out[i, side].target_y_m = ty
            out[i, side].speed_m_s = speed
            out[i, side].topspin_rad_s = own.topspin_rad_s


def extreme_drives(
    x_m: np.ndarray,
    y_m: np.ndarray,
    z_m: np.ndarray,
    usual_speed_m_s: np.ndarray,
    world: np.ndarray,
    limits: DriveLimits,
    fastest: bool = True,
) -> np.ndarray:
    """EXTREME records, shape (n, 2): the left and the right extreme drive of each contact.

    Of the drives that take the extreme direction the fastest is given; with `fastest` false the
    slowest, for callers who need the direction alone.

    Contacts at (x, y, z), y > 0, in the receiver's frame, arrays of shape (n,); `world` a WORLD
    record in that frame.
    """
    out = np.zeros((len(x_m), 2), EXTREME)
    columns = [np.ascontiguousarray(c, float) for c in (x_m, y_m, z_m, usual_speed_m_s)]
    fill_extremes(*columns, fastest, limits.numbers, world, table_of(world), out)
    return out


@kernel
def fill_bisector(x, y, extremes, depth, out):  # type: ignore[no-untyped-def]
    """Where the bisector of the two extreme paths meets the line `depth` behind the net."""
    for i in range(x.size):
        middle = 0.0
        for side in range(2):
            e = extremes[i, side]
            middle += 0.5 * math.atan2(e.target_x_m - x[i], y[i] - e.target_y_m)
        out[i] = x[i] + math.tan(middle) * (y[i] + depth)


def bisector_x_m(
    x_m: np.ndarray, y_m: np.ndarray, extremes: np.ndarray, depth_m: float
) -> np.ndarray:
    """Lateral place, `depth_m` from the net, on the bisector of the angle; shape (n,)."""
    out = np.empty(len(x_m))
    fill_bisector(np.ascontiguousarray(x_m), np.ascontiguousarray(y_m), extremes, depth_m, out)
    return out


def crossing_x_m(
    x_m: np.ndarray, y_m: np.ndarray, extremes: np.ndarray, depth_m: float
) -> np.ndarray:
    """Where the two extreme paths cross the line `depth_m` from the net; shape (n, 2)."""
    x, y = np.asarray(x_m)[:, None], np.asarray(y_m)[:, None]
    share = (y + depth_m) / (y - extremes["target_y_m"])
    return np.asarray(x + (extremes["target_x_m"] - x) * share)
