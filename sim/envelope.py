"""The angle: the two extreme drives that a hitter can play from a contact point.

Extreme are the drives that cross the receiver's depth line farthest to either side. Without
sidespin a drive stays in one vertical plane, so the crossing depends on the direction alone. Which
drives count follows from the hitter: those that land in with a stated chance, the own error
counted (`sim.extremes`).

An older rule stays as an option: no error, but fixed margins over the net and inside the lines and
a nearest landing. It gives nearly one angle to everybody, since the nearest landing cuts it off.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.arithmetic import atan2, cos, exp, log, sin, tan
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.extremes import Drives, outermost
from sim.flight_table import table_of
from sim.hitter import RPM, Hitter, usable_topspin
from sim.landing import log_chance_in
from sim.launch import lowest_over_net, solve_flat
from sim.parameter import parameter, require_above_zero, require_finite_parameters
from sim.records import record_type

EXTREME = record_type("target_x_m", "target_y_m", "speed_m_s", "topspin_rad_s", "chance_in")
# Of the rule without error (assumed).
NET_GAP_M, LINE_MARGIN_M, MOST_TOPSPIN_RPM = 0.25, 0.5, 3000.0
SLOWER, TRIES = 0.9, 8
FASTER, RAISES = 1.02, 60
CLOSE_M = 1e-4


@dataclass(frozen=True)
class DriveLimits:
    """Which balls count as playable drives when the angle is drawn (all assumed, to be varied).

    `least_in`: a ball that lands in less often than 7 times in 10 loses its hitter more points
    than an even rally does, unless it wins more than 5 in 7 of those in which it lands in; so such
    a ball need not be guarded. Reasoned before it was tried on any policy.

    With `nearest_landing_m` above 0 no error is counted: drives leave NET_GAP_M over the net and
    LINE_MARGIN_M to the lines, have MOST_TOPSPIN_RPM and land no nearer to the net than that.

    Raises:
        InputError: a limit that is negative, not finite or not allowed, or a slowest share above
            the fastest.
    """

    slowest_share: float = parameter(
        0.75, "1", "slowest drive over the usual speed", low=0.6, high=0.9
    )
    fastest_share: float = parameter(
        1.10, "1", "fastest drive over the usual speed", low=1.0, high=1.2
    )
    topspin_share: float = parameter(
        1.3, "1", "most topspin of a drive over the usual one", low=1.0, high=1.6
    )
    steepest_deg: float = parameter(
        25.0, "degrees", "steepest launch of a drive", low=15.0, high=40.0
    )
    least_in: float = parameter(
        0.7, "1", "chance to land in that a drive must have", low=0.5, high=0.9
    )
    nearest_landing_m: float = 0.0

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        require_above_zero(self, "slowest_share", "fastest_share", "topspin_share", "steepest_deg")
        if not 0.0 < self.least_in < 1.0:
            raise InputError(
                f"chance to land in is {self.least_in:g}; allowed: above 0, below 1"
                " (sensible: 0.5 to 0.9)"
            )
        if self.slowest_share > self.fastest_share:
            raise InputError(
                f"the slowest drive's share {self.slowest_share:g} is above the fastest one's"
                f" {self.fastest_share:g}; give it at most that"
            )
        if not 0.0 <= self.nearest_landing_m < HALF_LENGTH_M - LINE_MARGIN_M:
            raise InputError(
                f"nearest landing is {self.nearest_landing_m:g} m from the net; allowed: 0 (no such"
                f" limit, the own error is counted) to {HALF_LENGTH_M - LINE_MARGIN_M:g}"
            )

    @property
    def counts_error(self) -> bool:
        """Whether drives count by their chance to land in (else: by fixed margins)."""
        return self.nearest_landing_m == 0.0


@kernel
def shortest_landing(x, y, z, line_x, speed, spin, lift, nearest_m, w, table):  # type: ignore[no-untyped-def]
    """Shortest playable drive beside the line x = line_x: (landing depth, negative y; lift).

    Fixed point: the shortest carry of a heading changes little with the heading. NaN where no
    drive of this speed clears the net by the gap. For `lift` see `lowest_over_net`.
    """
    depth = -nearest_m
    across = line_x - x
    for _ in range(12):
        heading = atan2(depth - y, across)
        _, lx, ly, lift = lowest_over_net(x, y, z, heading, speed, spin, NET_GAP_M, lift, w, table)
        carry2 = (lx - x) ** 2 + (ly - y) ** 2
        if not carry2 > across * across:
            return math.nan, lift
        found = y - math.sqrt(carry2 - across * across)
        if found >= -nearest_m or abs(found - depth) < CLOSE_M:
            return found, lift
        depth = found
    return depth, lift


@kernel
def fastest_drive(x, y, z, tx, ty, slowest, fastest, spin, w, table):  # type: ignore[no-untyped-def]
    """Largest speed up to `fastest` whose drive to the target leaves the gap above the net.

    Falls back to `slowest`; the gap shrinks as the speed grows, so a bracketed secant finds it.
    """
    reached, _, _, gap = solve_flat(x, y, z, tx, ty, fastest, spin, 0.0, w, table)
    high, f_high = fastest, gap - NET_GAP_M
    if reached and f_high >= 0.0:
        return fastest
    reached, _, _, gap = solve_flat(x, y, z, tx, ty, slowest, spin, 0.0, w, table)
    low, f_low = slowest, gap - NET_GAP_M
    if not reached or f_low <= 0.0 or not math.isfinite(f_high):
        return slowest
    side = 0
    for _ in range(20):
        speed = (low * f_high - high * f_low) / (f_high - f_low)
        _, _, _, gap = solve_flat(x, y, z, tx, ty, speed, spin, 0.0, w, table)
        f = gap - NET_GAP_M
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
def slowest_over(x, y, z, tx, ty, slowest, spin, w, table):  # type: ignore[no-untyped-def]
    """The slowest speed from `slowest` up whose drive to the target leaves the gap over the net;
    `slowest` where there is none."""
    speed = slowest
    for _ in range(RAISES):
        reached, _, _, gap = solve_flat(x, y, z, tx, ty, speed, spin, 0.0, w, table)
        if reached and gap >= NET_GAP_M:
            return speed
        speed *= FASTER
    return slowest


@kernel
def beside_line(x, y, z, side, slowest, fastest, spin, want_speed, lift, nearest_m, w, table):  # type: ignore[no-untyped-def]
    """The extreme drive toward `side`, no error counted: (target x, target y, speed, lift).

    Of the drives that take the extreme direction the fastest is given, or, where `want_speed` is
    false, the slowest, which costs a tenth of the time. Where the slowest cannot cross the net,
    faster balls are tried; where it cannot be kept in beside that line, slower ones, and in the
    end the deepest landing is taken. For `lift` see `lowest_over_net`.
    """
    line_x = side * (HALF_WIDTH_M - LINE_MARGIN_M)
    deepest = -(HALF_LENGTH_M - LINE_MARGIN_M)
    if side * x >= side * line_x:
        speed = slowest_over(x, y, z, line_x, deepest, slowest, spin, w, table)
        if want_speed and speed < fastest:
            speed = fastest_drive(x, y, z, line_x, deepest, speed, fastest, spin, w, table)
        return line_x, deepest, speed, lift
    depth = math.nan
    for _ in range(RAISES):
        depth, lift = shortest_landing(x, y, z, line_x, slowest, spin, lift, nearest_m, w, table)
        if math.isfinite(depth):
            break
        slowest *= FASTER
    for _ in range(TRIES):
        if not depth < deepest:
            break
        slower, lift = shortest_landing(
            x, y, z, line_x, SLOWER * slowest, spin, lift, nearest_m, w, table
        )
        if not math.isfinite(slower):
            break
        depth, slowest = slower, SLOWER * slowest
    if not depth >= deepest:
        depth = deepest
    if depth >= -nearest_m:
        depth = -nearest_m
        slowest = slowest_over(x, y, z, line_x, depth, slowest, spin, w, table)
        if want_speed and slowest < fastest:
            slowest = fastest_drive(x, y, z, line_x, depth, slowest, fastest, spin, w, table)
    return line_x, depth, slowest, lift


@kernel
def fill_by_chance(x, y, z, speed, topspin, limits, h, world, table, out):  # type: ignore[no-untyped-def]
    """Fill out[i, 0] (left) and out[i, 1] (right) for each contact, the own error counted."""
    w, hitter = world[0], h[0]
    slow, fast, more, steepest, level = limits
    for i in range(x.size):
        flat = usable_topspin(topspin[i], z[i], hitter)
        spin = usable_topspin(more * topspin[i], z[i], hitter)
        drives = Drives(slow * speed[i], fast * speed[i], flat, spin, steepest, level)
        for side in range(2):
            toward = 2.0 * side - 1.0
            found, phi, up, v, own = outermost(x[i], y[i], z[i], toward, drives, hitter, w, table)
            hx, hy = toward * sin(phi), -cos(phi)
            _, lx, ly = log_chance_in(x[i], y[i], z[i], up, hx, hy, v, own, hitter, w, table)
            out[i, side].target_x_m, out[i, side].target_y_m = lx, ly
            out[i, side].speed_m_s, out[i, side].topspin_rad_s = v, own
            out[i, side].chance_in = exp(found)


@kernel
def fill_by_margins(x, y, z, speed, slow, fast, want_speed, nearest_m, h, world, table, out):  # type: ignore[no-untyped-def]
    """Fill out[i, 0] (left) and out[i, 1] (right) for each contact, by margins without error."""
    w = world[0]
    for i in range(x.size):
        lift = 0.0
        spin = usable_topspin(MOST_TOPSPIN_RPM * RPM, z[i], h[0])
        slowest, fastest = slow * speed[i], fast * speed[i]
        for side in range(2):
            toward = 2.0 * side - 1.0
            tx, ty, v, lift = beside_line(
                x[i],
                y[i],
                z[i],
                toward,
                slowest,
                fastest,
                spin,
                want_speed,
                lift,
                nearest_m,
                w,
                table,
            )
            out[i, side].target_x_m, out[i, side].target_y_m = tx, ty
            out[i, side].speed_m_s, out[i, side].topspin_rad_s = v, spin
            out[i, side].chance_in = math.nan


def extreme_drives(
    x_m: np.ndarray,
    y_m: np.ndarray,
    z_m: np.ndarray,
    wing: np.ndarray,
    hitter: Hitter,
    world: np.ndarray,
    limits: DriveLimits,
    fastest: bool = False,
) -> np.ndarray:
    """EXTREME records, shape (n, 2): the left and the right extreme drive of each contact.

    Contacts at (x, y, z), y > 0, in the receiver's frame, and the wings they are struck with,
    arrays of shape (n,); `world` a WORLD record in that frame. `chance_in` is the chance to land
    in: the stated one, or less where no drive has it: then both are the surest drive. NaN where no
    error is counted. Of the drives of the extreme direction the slowest is given, or with
    `fastest` the fastest, where margins and not chances leave a choice.
    """
    out = np.zeros((len(x_m), 2), EXTREME)
    x, y, z = (np.ascontiguousarray(c, float) for c in (x_m, y_m, z_m))
    speed = np.ascontiguousarray(hitter.speed_m_s(wing), float)
    shares, h, table = (limits.slowest_share, limits.fastest_share), hitter.numbers, table_of(world)
    if limits.counts_error:
        topspin = np.ascontiguousarray(hitter.topspin_rad_s(wing), float)
        steepest, level = math.radians(limits.steepest_deg), log(limits.least_in)
        own = (*shares, limits.topspin_share, steepest, level)
        fill_by_chance(x, y, z, speed, topspin, own, h, world, table, out)
    else:
        nearest_m = limits.nearest_landing_m
        fill_by_margins(x, y, z, speed, *shares, fastest, nearest_m, h, world, table, out)
    return out


@kernel
def fill_bisector(x, y, extremes, depth, out):  # type: ignore[no-untyped-def]
    """Where the bisector of the two extreme paths meets the lines `depth` (n,) behind the net."""
    for i in range(x.size):
        middle = 0.0
        for side in range(2):
            e = extremes[i, side]
            middle += 0.5 * atan2(e.target_x_m - x[i], y[i] - e.target_y_m)
        out[i] = x[i] + tan(middle) * (y[i] + depth[i])


def bisector_x_m(
    x_m: np.ndarray, y_m: np.ndarray, extremes: np.ndarray, depth_m: float | np.ndarray
) -> np.ndarray:
    """Lateral place, `depth_m` (one or (n,)) from the net, on the bisector of the angle; (n,)."""
    out = np.empty(len(x_m))
    depths = np.full(len(x_m), depth_m) if np.ndim(depth_m) == 0 else np.asarray(depth_m, float)
    fill_bisector(np.ascontiguousarray(x_m), np.ascontiguousarray(y_m), extremes, depths, out)
    return out


def crossing_x_m(
    x_m: np.ndarray, y_m: np.ndarray, extremes: np.ndarray, depth_m: float
) -> np.ndarray:
    """Where the two extreme paths cross the line `depth_m` from the net; shape (n, 2)."""
    x, y = np.asarray(x_m)[:, None], np.asarray(y_m)[:, None]
    share = (y + depth_m) / (y - extremes["target_y_m"])
    return np.asarray(x + (extremes["target_x_m"] - x) * share)
