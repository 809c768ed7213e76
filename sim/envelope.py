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
from functools import cached_property

import numpy as np

from sim.arithmetic import atan2, cos, exp, log, sin, tan
from sim.compiled import kernel
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.extremes import Drives, outermost
from sim.flight_table import sheets_of
from sim.hitter import RPM, Hitter, usable_topspin
from sim.landing import log_chance_in
from sim.launch import lowest_over_net, solve_flat
from sim.parameter import parameter, require_above_zero, require_finite_parameters
from sim.records import CONTACT, record, record_type

EXTREME = record_type("target_x_m", "target_y_m", "speed_m_s", "topspin_rad_s", "chance_in")
# DriveLimits as kernels take them.
LIMITS = record_type(
    "slowest_share",
    "fastest_share",
    "topspin_share",
    "steepest_rad",
    "least_log_chance",
    "nearest_landing_m",
)
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

    @cached_property
    def numbers(self) -> np.ndarray:
        """The limits as a LIMITS record."""
        same = ("slowest_share", "fastest_share", "topspin_share", "nearest_landing_m")
        return record(
            LIMITS,
            steepest_rad=math.radians(self.steepest_deg),
            least_log_chance=log(self.least_in),
            **{name: getattr(self, name) for name in same},
        )


@kernel
def shortest_landing(x, y, z, line_x, speed, spin, lift, nearest_m, w, sheets):  # type: ignore[no-untyped-def]
    """Shortest playable drive beside the line x = line_x: (landing depth, negative y; lift).

    Fixed point: the shortest carry of a heading changes little with the heading. NaN where no
    drive of this speed clears the net by the gap. For `lift` see `lowest_over_net`.
    """
    depth = -nearest_m
    across = line_x - x
    for _ in range(12):
        heading = atan2(depth - y, across)
        _, lx, ly, lift = lowest_over_net(x, y, z, heading, speed, spin, NET_GAP_M, lift, w, sheets)
        carry2 = (lx - x) ** 2 + (ly - y) ** 2
        if not carry2 > across * across:
            return math.nan, lift
        found = y - math.sqrt(carry2 - across * across)
        if found >= -nearest_m or abs(found - depth) < CLOSE_M:
            return found, lift
        depth = found
    return depth, lift


@kernel
def fastest_drive(x, y, z, tx, ty, slowest, fastest, spin, w, sheets):  # type: ignore[no-untyped-def]
    """Largest speed up to `fastest` whose drive to the target leaves the gap above the net.

    Falls back to `slowest`; the gap shrinks as the speed grows, so a bracketed secant finds it.
    """
    reached, _, _, gap = solve_flat(x, y, z, tx, ty, fastest, spin, 0.0, w, sheets)
    high, f_high = fastest, gap - NET_GAP_M
    if reached and f_high >= 0.0:
        return fastest
    reached, _, _, gap = solve_flat(x, y, z, tx, ty, slowest, spin, 0.0, w, sheets)
    low, f_low = slowest, gap - NET_GAP_M
    if not reached or f_low <= 0.0 or not math.isfinite(f_high):
        return slowest
    side = 0
    for _ in range(20):
        speed = (low * f_high - high * f_low) / (f_high - f_low)
        _, _, _, gap = solve_flat(x, y, z, tx, ty, speed, spin, 0.0, w, sheets)
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
def slowest_over(x, y, z, tx, ty, slowest, spin, w, sheets):  # type: ignore[no-untyped-def]
    """The slowest speed from `slowest` up whose drive to the target leaves the gap over the net;
    `slowest` where there is none."""
    speed = slowest
    for _ in range(RAISES):
        reached, _, _, gap = solve_flat(x, y, z, tx, ty, speed, spin, 0.0, w, sheets)
        if reached and gap >= NET_GAP_M:
            return speed
        speed *= FASTER
    return slowest


@kernel
def beside_line(x, y, z, side, slowest, fastest, spin, want_speed, lift, nearest_m, w, sheets):  # type: ignore[no-untyped-def]
    """The extreme drive toward `side`, no error counted: (target x, target y, speed, lift).

    Of the drives that take the extreme direction the fastest is given, or, where `want_speed` is
    false, the slowest, which costs a tenth of the time. Where the slowest cannot cross the net,
    faster balls are tried; where it cannot be kept in beside that line, slower ones, and in the
    end the deepest landing is taken. For `lift` see `lowest_over_net`.
    """
    line_x = side * (HALF_WIDTH_M - LINE_MARGIN_M)
    deepest = -(HALF_LENGTH_M - LINE_MARGIN_M)
    if side * x >= side * line_x:
        speed = slowest_over(x, y, z, line_x, deepest, slowest, spin, w, sheets)
        if want_speed and speed < fastest:
            speed = fastest_drive(x, y, z, line_x, deepest, speed, fastest, spin, w, sheets)
        return line_x, deepest, speed, lift
    depth = math.nan
    for _ in range(RAISES):
        depth, lift = shortest_landing(x, y, z, line_x, slowest, spin, lift, nearest_m, w, sheets)
        if math.isfinite(depth):
            break
        slowest *= FASTER
    for _ in range(TRIES):
        if not depth < deepest:
            break
        slower, lift = shortest_landing(
            x, y, z, line_x, SLOWER * slowest, spin, lift, nearest_m, w, sheets
        )
        if not math.isfinite(slower):
            break
        depth, slowest = slower, SLOWER * slowest
    if not depth >= deepest:
        depth = deepest
    if depth >= -nearest_m:
        depth = -nearest_m
        slowest = slowest_over(x, y, z, line_x, depth, slowest, spin, w, sheets)
        if want_speed and slowest < fastest:
            slowest = fastest_drive(x, y, z, line_x, depth, slowest, fastest, spin, w, sheets)
    return line_x, depth, slowest, lift


@kernel
def usual_pace(wing, h):  # type: ignore[no-untyped-def]
    """Usual speed (m/s) and topspin (rad/s) of a HITTER by wing."""
    if wing > 0:
        return h.forehand_speed_m_s, h.forehand_topspin_rad_s
    return h.backhand_speed_m_s, h.backhand_topspin_rad_s


@kernel
def pair_by_chance(c, limits, h, w, sheets, pair):  # type: ignore[no-untyped-def]
    """Fill the two extreme drives from a CONTACT, left and right, the own error counted."""
    speed, topspin = usual_pace(c.wing, h)
    flat = usable_topspin(topspin, c.z_m, h)
    spin = usable_topspin(limits.topspin_share * topspin, c.z_m, h)
    slowest, fastest = limits.slowest_share * speed, limits.fastest_share * speed
    level = limits.least_log_chance
    drives = Drives(slowest, fastest, flat, spin, limits.steepest_rad, level)
    for side in range(2):
        toward = 2.0 * side - 1.0
        found, phi, up, v, own = outermost(c.x_m, c.y_m, c.z_m, toward, drives, h, w, sheets)
        hx, hy = toward * sin(phi), -cos(phi)
        _, lx, ly = log_chance_in(c.x_m, c.y_m, c.z_m, up, hx, hy, v, own, h, w, sheets)
        pair[side].target_x_m, pair[side].target_y_m = lx, ly
        pair[side].speed_m_s, pair[side].topspin_rad_s = v, own
        pair[side].chance_in = exp(found)


@kernel
def pair_by_margins(c, limits, want_speed, h, w, sheets, pair):  # type: ignore[no-untyped-def]
    """Fill the two extreme drives from a CONTACT, left and right, by margins without error."""
    speed, nearest_m, lift = usual_pace(c.wing, h)[0], limits.nearest_landing_m, 0.0
    spin = usable_topspin(MOST_TOPSPIN_RPM * RPM, c.z_m, h)
    slow, fast = limits.slowest_share * speed, limits.fastest_share * speed
    for side in range(2):
        toward = 2.0 * side - 1.0
        tx, ty, v, lift = beside_line(
            c.x_m, c.y_m, c.z_m, toward, slow, fast, spin, want_speed, lift, nearest_m, w, sheets
        )
        pair[side].target_x_m, pair[side].target_y_m = tx, ty
        pair[side].speed_m_s, pair[side].topspin_rad_s = v, spin
        pair[side].chance_in = math.nan


@kernel
def fill_extremes(contacts, limits, want_speed, h, world, table, room, out):  # type: ignore[no-untyped-def]
    """Fill out[i, 0] (left) and out[i, 1] (right) for each contact: see `extremes_from`."""
    sheets = None if table is None else (table[0], room[0])
    for i in range(out.shape[0]):
        if limits[0].nearest_landing_m > 0.0:
            pair_by_margins(contacts[i], limits[0], want_speed, h[0], world[0], sheets, out[i])
        else:
            pair_by_chance(contacts[i], limits[0], h[0], world[0], sheets, out[i])


def extremes_from(
    contact: np.ndarray,
    hitter: Hitter,
    world: np.ndarray,
    limits: DriveLimits,
    fastest: bool = False,
) -> np.ndarray:
    """EXTREME records, shape (n, 2): the left and the right extreme drive of each contact.

    CONTACT records (n,) at y > 0 in the receiver's frame; `world` a WORLD record in that frame.
    `chance_in` is the chance to land in: the stated one, or less where no drive has it: then both
    are the surest drive. NaN where no error is counted. Of the drives of the extreme direction the
    slowest is given, or with `fastest` the fastest, where margins and not chances leave a choice.
    """
    out, who = np.zeros((len(contact), 2), EXTREME), (hitter.numbers, world, *sheets_of(world))
    fill_extremes(contact, limits.numbers, fastest, *who, out)
    return out


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
    """`extremes_from` contacts given by their columns, (n,) each."""
    contact = np.zeros(len(x_m), CONTACT)
    contact["x_m"], contact["y_m"], contact["z_m"], contact["wing"] = x_m, y_m, z_m, wing
    return extremes_from(contact, hitter, world, limits, fastest)


@kernel
def halfway_of(x, y, pair, depth):  # type: ignore[no-untyped-def]
    """Where the bisector of a pair of extreme paths from (x, y) meets the line `depth` behind the
    net."""
    middle = 0.0
    for side in range(2):
        middle += 0.5 * atan2(pair[side].target_x_m - x, y - pair[side].target_y_m)
    return x + tan(middle) * (y + depth)


@kernel
def fill_bisector(x, y, extremes, depth, out):  # type: ignore[no-untyped-def]
    """Fill where the bisectors meet the lines `depth` (n,) behind the net."""
    for i in range(x.size):
        out[i] = halfway_of(x[i], y[i], extremes[i], depth[i])


def bisector_x_m(
    x_m: np.ndarray, y_m: np.ndarray, extremes: np.ndarray, depth_m: float | np.ndarray
) -> np.ndarray:
    """Lateral place, `depth_m` (one or (n,)) from the net, on the bisector of the angle; (n,)."""
    out = np.empty(len(x_m))
    depths = np.full(len(x_m), depth_m) if np.ndim(depth_m) == 0 else np.asarray(depth_m, float)
    x, y = np.ascontiguousarray(x_m), np.ascontiguousarray(y_m)
    fill_bisector(x, y, np.ascontiguousarray(extremes), depths, out)
    return out
