"""Flight from a table, for balls without sidespin in still air: built from `sim.flight`, then read.

Such a flight stays in a vertical plane and is the same wherever it starts, so it is a piece of one
of the trajectories that are known by their highest point: by the speed and the topspin there. Three
grids hold them, all read by cubic interpolation (Lagrange, four points an axis):

- APEX: speed, elevation and topspin of a launch -> speed at the apex, distance and height of it,
  time until it. The apex may lie before the launch.
- FALL_DISTANCE, FALL: speed and topspin at the apex, square root of the drop below it -> distance;
  distance, time and velocity there.
- HEIGHT: speed and topspin at the apex, distance from it over that speed -> drop below it.

A landing is APEX, then FALL; the height above the net is APEX, then HEIGHT. Against integration the
landing is within 5 mm and 0.5 ms for 999 of 1000 launches over 8-45 m/s, -150 to 400 rad/s, -25 to
60 degrees and struck 0.05-3.2 m high, at most 0.02 m off (a fast ball that grazes the ground);
tests/test_flight_table.py measures it.

Not in the table, and flown by integration launch by launch: balls with sidespin, any ball in wind,
launches outside SPEED_M_S, ELEVATION_RAD and SPIN (-184 to 514 rad/s), balls struck downward so
that their apex would lie more than LONGEST_BACK_S before the launch (about half of those below the
horizontal), and lobs that fall more than 49 m or pass the net 2.4 s from their apex.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from sim.arithmetic import cos, sin
from sim.compiled import kernel
from sim.flight import acceleration, advance, crossing
from sim.records import WORLD
from sim.table_cache import kept_table


class Axis(NamedTuple):
    """An even grid: first value, step and number of points."""

    low: float
    step: float
    points: int


# The spin axis is even in w / (|w| + SPIN_SCALE): lift grows less and less with spin. A grid point
# lies on no spin, where lift has a kink, and no interpolation reaches across it.
SPIN_SCALE_RAD_S = 200.0
SPIN = Axis(-0.48, 0.06, 21)
SPIN_ZERO = 8
SPEED_M_S = Axis(5.0, 2.0, 22)
ELEVATION_RAD = Axis(math.radians(-30.0), math.radians(2.0), 47)
APEX_SPEED_M_S = Axis(1.5, 2.0, 24)
ROOT_DROP = Axis(0.0, 0.25, 29)
APEX_TIME_S = Axis(-2.4, 0.1, 49)
APEX_ZERO = 24
LONGEST_BACK_S = 0.7

# Where each grid starts in the flat array. What the search for a launch needs stands apart from
# what is wanted only of the launch that was found.
LAUNCHES = SPEED_M_S.points * ELEVATION_RAD.points * SPIN.points
FALLS = APEX_SPEED_M_S.points * SPIN.points * ROOT_DROP.points
HEIGHTS = APEX_SPEED_M_S.points * SPIN.points * APEX_TIME_S.points
APEX = 0  # speed, distance, height, time
FALL_DISTANCE = APEX + 4 * LAUNCHES
FALL = FALL_DISTANCE + FALLS  # distance, time, horizontal and vertical speed
HEIGHT = FALL + 4 * FALLS
SIZE = HEIGHT + HEIGHTS

STEP_S = 0.02
LONGEST_CURVE_S = 6.0


@kernel
def spin_at(index):  # type: ignore[no-untyped-def]
    """Topspin in rad/s at a point of the SPIN axis."""
    share = SPIN.low + index * SPIN.step
    return SPIN_SCALE_RAD_S * share / (1.0 - abs(share))


@kernel
def to_apex(vx, vz, topspin, w):  # type: ignore[no-untyped-def]
    """Speed at the apex, distance, height and time to it; NaN where it is too far back."""
    x, y, z, vy, t = 0.0, 0.0, 0.0, 0.0, 0.0
    rising = vz > 0.0
    h = STEP_S if rising else -STEP_S
    while -LONGEST_BACK_S < t < LONGEST_CURVE_S:
        nx, ny, nz, nvx, nvy, nvz = advance(x, y, z, vx, vy, vz, 0.0, topspin, 0.0, h, w)
        if (nvz > 0.0) != rising:
            s = h * vz / (vz - nvz)
            for _ in range(4):
                nx, ny, nz, nvx, nvy, nvz = advance(x, y, z, vx, vy, vz, 0.0, topspin, 0.0, s, w)
                s -= nvz / acceleration(nvx, nvy, nvz, 0.0, topspin, 0.0, w)[2]
            return nvx, nx, nz, t + s
        x, y, z, vx, vy, vz = nx, ny, nz, nvx, nvy, nvz
        t += h
    return math.nan, math.nan, math.nan, math.nan


@kernel
def fill_launches(w, table):  # type: ignore[no-untyped-def]
    """Fill APEX."""
    number = 0
    for i in range(SPEED_M_S.points):
        speed = SPEED_M_S.low + i * SPEED_M_S.step
        for j in range(ELEVATION_RAD.points):
            elevation = ELEVATION_RAD.low + j * ELEVATION_RAD.step
            vx, vz = speed * cos(elevation), speed * sin(elevation)
            for k in range(SPIN.points):
                apex_speed, x, z, t = to_apex(vx, vz, spin_at(k), w)
                at = APEX + 4 * number
                table[at], table[at + 1], table[at + 2], table[at + 3] = apex_speed, x, z, t
                number += 1


@kernel
def fill_falls(speed, topspin, w, distances, rest):  # type: ignore[no-untyped-def]
    """Fill one row of FALL_DISTANCE and FALL: downward from an apex with that speed and topspin."""
    distances[:] = math.nan
    rest[:] = math.nan
    distances[0], rest[0], rest[1], rest[2], rest[3] = 0.0, 0.0, 0.0, speed, 0.0
    x, y, z, vx, vy, vz, t = 0.0, 0.0, 0.0, speed, 0.0, 0.0, 0.0
    i = 1
    while i < ROOT_DROP.points and t < LONGEST_CURVE_S:
        nx, ny, nz, nvx, nvy, nvz = advance(x, y, z, vx, vy, vz, 0.0, topspin, 0.0, STEP_S, w)
        level = -((i * ROOT_DROP.step) ** 2)
        if nz > level:
            x, y, z, vx, vy, vz = nx, ny, nz, nvx, nvy, nvz
            t += STEP_S
            continue
        s = STEP_S * crossing(z, vz, nz, nvz, STEP_S, level)
        for _ in range(2):
            px, _, pz, pvx, _, pvz = advance(x, y, z, vx, vy, vz, 0.0, topspin, 0.0, s, w)
            s += (level - pz) / pvz
        distances[i] = px
        rest[4 * i], rest[4 * i + 1], rest[4 * i + 2], rest[4 * i + 3] = px, t + s, pvx, pvz
        i += 1


@kernel
def fill_heights(speed, topspin, way, w, row):  # type: ignore[no-untyped-def]
    """Fill one half of a row of HEIGHT: after the apex (`way` 1) or before it (`way` -1)."""
    h = way * STEP_S
    x, y, z, vx, vy, vz, t = 0.0, 0.0, 0.0, speed, 0.0, 0.0, 0.0
    column = APEX_ZERO + way
    while 0 <= column < APEX_TIME_S.points and abs(t) < LONGEST_CURVE_S and vx > 0.0:
        nx, ny, nz, nvx, nvy, nvz = advance(x, y, z, vx, vy, vz, 0.0, topspin, 0.0, h, w)
        place = speed * (column - APEX_ZERO) * APEX_TIME_S.step
        if way * nx < way * place:
            x, y, z, vx, vy, vz = nx, ny, nz, nvx, nvy, nvz
            t += h
            continue
        s = h * crossing(x, vx, nx, nvx, h, place)
        for _ in range(2):
            px, _, pz, pvx, _, _ = advance(x, y, z, vx, vy, vz, 0.0, topspin, 0.0, s, w)
            s += (place - px) / pvx
        row[column] = -pz
        column += way


@kernel
def fill_table(world, table):  # type: ignore[no-untyped-def]
    """Fill all grids, for a WORLD record of length one."""
    w = world[0]
    fill_launches(w, table)
    drops, times = ROOT_DROP.points, APEX_TIME_S.points
    for i in range(APEX_SPEED_M_S.points):
        speed = APEX_SPEED_M_S.low + i * APEX_SPEED_M_S.step
        for k in range(SPIN.points):
            curve, topspin = i * SPIN.points + k, spin_at(k)
            fall, rest = FALL_DISTANCE + curve * drops, FALL + 4 * curve * drops
            fill_falls(
                speed, topspin, w, table[fall : fall + drops], table[rest : rest + 4 * drops]
            )
            at = HEIGHT + curve * times
            heights = table[at : at + times]
            heights[:] = math.nan
            heights[APEX_ZERO] = 0.0
            fill_heights(speed, topspin, 1, w, heights)
            fill_heights(speed, topspin, -1, w, heights)


def new_table(world: np.ndarray) -> np.ndarray:
    """All grids, for a WORLD record of length one."""
    table = np.empty(SIZE)
    fill_table(world, table)
    return table


@kernel
def weights(s):  # type: ignore[no-untyped-def]
    """Lagrange's weights of four points at 0, 1, 2 and 3 for a value at `s`."""
    a, b, c = s - 1.0, s - 2.0, s - 3.0
    sixth = 1.0 / 6.0
    return -sixth * a * b * c, 0.5 * s * b * c, -0.5 * s * a * c, sixth * s * a * b


@kernel
def between_points(value, axis):  # type: ignore[no-untyped-def]
    """(first of the four points around `value`, weights); -1 outside the axis, or NaN."""
    g = (value - axis.low) * (1.0 / axis.step)
    if not (0.0 <= g <= axis.points - 1.0):
        return -1, weights(0.0)
    first = min(max(int(g) - 1, 0), axis.points - 4)
    return first, weights(g - first)


@kernel
def between_spins(topspin):  # type: ignore[no-untyped-def]
    """As `between_points` for the spin axis, with all four points on one side of no spin."""
    g = (topspin / (abs(topspin) + SPIN_SCALE_RAD_S) - SPIN.low) * (1.0 / SPIN.step)
    if not (0.0 <= g <= SPIN.points - 1.0):
        return -1, weights(0.0)
    if g < SPIN_ZERO:
        first = min(max(int(g) - 1, 0), SPIN_ZERO - 3)
    else:
        first = min(max(int(g) - 1, SPIN_ZERO), SPIN.points - 4)
    return first, weights(g - first)


@kernel
def one_value(table, at, stride_a, stride_b, wa, wb, wc):  # type: ignore[no-untyped-def]
    """One value, interpolated on three axes, of which the last has its points side by side.

    Odd for speed: four points of the last axis go side by side, two or four in one instruction of
    the processor, and indices are unsigned, which spares a test whether each counts from the end.
    """
    p, q, r, s = 0.0, 0.0, 0.0, 0.0
    for a in range(4):
        pp, qq, rr, ss = 0.0, 0.0, 0.0, 0.0
        for b in range(4):
            i = at + a * stride_a + b * stride_b
            pp += wb[b] * table[np.uintp(i)]
            qq += wb[b] * table[np.uintp(i + 1)]
            rr += wb[b] * table[np.uintp(i + 2)]
            ss += wb[b] * table[np.uintp(i + 3)]
        p += wa[a] * pp
        q += wa[a] * qq
        r += wa[a] * rr
        s += wa[a] * ss
    return (wc[0] * p + wc[1] * q) + (wc[2] * r + wc[3] * s)


@kernel
def four_values(table, at, stride_a, stride_b, wa, wb, wc):  # type: ignore[no-untyped-def]
    """Four values that stand side by side at each point, interpolated on three axes."""
    p, q, r, s = 0.0, 0.0, 0.0, 0.0
    for a in range(4):
        pp, qq, rr, ss = 0.0, 0.0, 0.0, 0.0
        for b in range(4):
            i = at + a * stride_a + b * stride_b
            j, k, m = i + 4, i + 8, i + 12
            pp += wb[b] * (
                (wc[0] * table[np.uintp(i)] + wc[1] * table[np.uintp(j)])
                + (wc[2] * table[np.uintp(k)] + wc[3] * table[np.uintp(m)])
            )
            qq += wb[b] * (
                (wc[0] * table[np.uintp(i + 1)] + wc[1] * table[np.uintp(j + 1)])
                + (wc[2] * table[np.uintp(k + 1)] + wc[3] * table[np.uintp(m + 1)])
            )
            rr += wb[b] * (
                (wc[0] * table[np.uintp(i + 2)] + wc[1] * table[np.uintp(j + 2)])
                + (wc[2] * table[np.uintp(k + 2)] + wc[3] * table[np.uintp(m + 2)])
            )
            ss += wb[b] * (
                (wc[0] * table[np.uintp(i + 3)] + wc[1] * table[np.uintp(j + 3)])
                + (wc[2] * table[np.uintp(k + 3)] + wc[3] * table[np.uintp(m + 3)])
            )
        p += wa[a] * pp
        q += wa[a] * qq
        r += wa[a] * rr
        s += wa[a] * ss
    return p, q, r, s


@kernel
def reach_by_table(z, elevation, speed, topspin, w, table):  # type: ignore[no-untyped-def]
    """A launch at height `z`: (distance of the landing, speed at the apex, distance of the apex,
    drop from the apex to the landing, time to the apex). The first is NaN where the table has no
    answer.
    """
    i, wi = between_points(speed, SPEED_M_S)
    j, wj = between_points(elevation, ELEVATION_RAD)
    k, wk = between_spins(topspin)
    if i < 0 or j < 0 or k < 0:
        return math.nan, math.nan, math.nan, math.nan, math.nan
    plane = ELEVATION_RAD.points * SPIN.points
    at = (i * ELEVATION_RAD.points + j) * SPIN.points + k
    apex_speed, apex_x, apex_z, rise = four_values(
        table, APEX + 4 * at, 4 * plane, 4 * SPIN.points, wi, wj, wk
    )
    drop = z + apex_z - w.radius_m
    m, wm = between_points(apex_speed, APEX_SPEED_M_S)
    n, wn = between_points(math.sqrt(drop), ROOT_DROP)
    if m < 0 or n < 0:
        return math.nan, math.nan, math.nan, math.nan, math.nan
    drops = ROOT_DROP.points
    at = FALL_DISTANCE + (m * SPIN.points + k) * drops + n
    fall = one_value(table, at, SPIN.points * drops, drops, wm, wk, wn)
    return apex_x + fall, apex_speed, apex_x, drop, rise


@kernel
def drop_by_table(topspin, apex_speed, ahead, table):  # type: ignore[no-untyped-def]
    """Height lost `ahead` metres after the apex, or before it (< 0); NaN outside the table."""
    m, wm = between_points(apex_speed, APEX_SPEED_M_S)
    k, wk = between_spins(topspin)
    n, wn = between_points(ahead / apex_speed, APEX_TIME_S)
    if m < 0 or k < 0 or n < 0:
        return math.nan
    times = APEX_TIME_S.points
    at = HEIGHT + (m * SPIN.points + k) * times + n
    return one_value(table, at, SPIN.points * times, times, wm, wk, wn)


@kernel
def landing_by_table(topspin, reach, table):  # type: ignore[no-untyped-def]
    """Time, horizontal and vertical speed at the landing; `reach` is that of `reach_by_table`."""
    _, apex_speed, _, drop, rise = reach
    k, wk = between_spins(topspin)
    m, wm = between_points(apex_speed, APEX_SPEED_M_S)
    n, wn = between_points(math.sqrt(drop), ROOT_DROP)
    drops = ROOT_DROP.points
    at = FALL + 4 * ((m * SPIN.points + k) * drops + n)
    _, fall, vx, vz = four_values(table, at, 4 * SPIN.points * drops, 4 * drops, wm, wk, wn)
    return rise + fall, vx, vz


# None is a type of its own to the compiler: kernels for integrated flight are made without a table.
NO_TABLE = None
INPUTS = (
    "drag_per_m",
    "drag_coefficient",
    "lift_slope",
    "lift_offset",
    "gravity_m_s2",
    "radius_m",
)
GRIDS = (SPEED_M_S, ELEVATION_RAD, SPIN, APEX_SPEED_M_S, ROOT_DROP, APEX_TIME_S)


def table_of(world: np.ndarray) -> np.ndarray | None:
    """The table for a WORLD record of length one; NO_TABLE (None) where flight is integrated.

    Kernels take the table beside the world; it is made or loaded once in a process.
    """
    return _table_of(world.tobytes())


@lru_cache(maxsize=256)
def _table_of(content: bytes) -> np.ndarray | None:
    world = np.frombuffer(content, WORLD)
    windy = any(world[f"wind_{axis}_m_s"][0] != 0.0 for axis in "xyz")
    if not world["tabulated"][0] or windy:
        return NO_TABLE
    return _flight_table(tuple(float(world[name][0]) for name in INPUTS))


@lru_cache(maxsize=8)
def _flight_table(inputs: tuple[float, ...]) -> np.ndarray:
    world = np.zeros(1, WORLD)
    for name, value in zip(INPUTS, inputs, strict=True):
        world[name] = value

    return kept_table("flight", repr((inputs, GRIDS)).encode(), lambda: new_table(world))
