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
import threading
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from sim.arithmetic import cos, sin
from sim.compiled import inlined, kernel
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

# Sheets are the table and room to work in, each a record: a kernel hands on a record for nothing,
# but not an array. A search for a launch, or for a drive, tries hundreds of speeds and elevations
# with one topspin. What was interpolated for the spin is kept in the room, by the first of the
# points around a launch or on a curve, with a tag that says of which point and spin it is.
LAUNCHES_KEPT, CURVES_KEPT = 8, 16
MOST_POINTS = 2**20  # more than a grid has
TABLE = np.dtype([("values", "f8", SIZE)])
ROOM = np.dtype(
    [
        ("topspin_rad_s", "f8"),
        ("turned", "i8"),  # how often the spin has changed
        ("first_spin", "i8"),
        ("weights", "f8", 4),
        ("launch_tags", "i8", LAUNCHES_KEPT),
        ("fall_tags", "i8", CURVES_KEPT),
        ("height_tags", "i8", CURVES_KEPT),
        ("launches", "f8", 64 * LAUNCHES_KEPT),
        ("falls", "f8", 16 * CURVES_KEPT),
        ("heights", "f8", 16 * CURVES_KEPT),
    ]
)

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
def spin_of(topspin, room):  # type: ignore[no-untyped-def]
    """First of the four spin points around `topspin`, -1 outside; what `room` holds is of it then.

    Another spin than the last one outdates all that was kept.
    """
    if room.topspin_rad_s != topspin:
        k, wk = between_spins(topspin)
        room.topspin_rad_s, room.first_spin = topspin, k
        room.turned += 1
        room.weights[0], room.weights[1], room.weights[2], room.weights[3] = wk
    return room.first_spin


@kernel
def spin_weights(room):  # type: ignore[no-untyped-def]
    """The weights of the four spin points of `spin_of`."""
    return room.weights[0], room.weights[1], room.weights[2], room.weights[3]


@kernel
def keep_launches(at, values, room, place):  # type: ignore[no-untyped-def]
    """Interpolate APEX for the spin at the 4 by 4 points from number `at` on, into `room`."""
    wk = spin_weights(room)
    for a in range(4):
        for b in range(4):
            i = APEX + 4 * (at + (a * ELEVATION_RAD.points + b) * SPIN.points)
            to = place + 16 * a + 4 * b
            for value in range(4):
                m = i + value
                room.launches[np.uintp(to + value)] = (
                    wk[0] * values[np.uintp(m)] + wk[1] * values[np.uintp(m + 4)]
                ) + (wk[2] * values[np.uintp(m + 8)] + wk[3] * values[np.uintp(m + 12)])


@kernel
def keep_curves(at, row, values, wk, kept, place):  # type: ignore[no-untyped-def]
    """Interpolate a grid of one value for the spin at 4 by 4 points, into `kept`.

    The grid is by apex speed, topspin and an axis of `row` points; `at` is where the first stands.
    """
    for a in range(4):
        for c in range(4):
            total = 0.0
            for b in range(4):
                total += wk[b] * values[np.uintp(at + (a * SPIN.points + b) * row + c)]
            kept[np.uintp(place + 4 * a + c)] = total


@kernel
def launches_at(i, j, k, values, room):  # type: ignore[no-untyped-def]
    """Where in `room.launches` the values around a launch stand, for the spin."""
    at = (i * ELEVATION_RAD.points + j) * SPIN.points + k
    slot = LAUNCHES_KEPT // 2 * (i & 1) + (j & (LAUNCHES_KEPT // 2 - 1))
    tag = room.turned * MOST_POINTS + at
    if room.launch_tags[np.uintp(slot)] != tag:
        room.launch_tags[np.uintp(slot)] = tag
        keep_launches(at, values, room, 64 * slot)
    return 64 * slot


@kernel
def falls_at(m, n, k, values, room):  # type: ignore[no-untyped-def]
    """Where in `room.falls` the values of FALL_DISTANCE around a point stand, for the spin."""
    at = (m * SPIN.points + k) * ROOT_DROP.points + n
    slot, tag = 4 * (m & 3) + (n & 3), room.turned * MOST_POINTS + at
    if room.fall_tags[np.uintp(slot)] != tag:
        room.fall_tags[np.uintp(slot)] = tag
        wk = spin_weights(room)
        keep_curves(FALL_DISTANCE + at, ROOT_DROP.points, values, wk, room.falls, 16 * slot)
    return 16 * slot


@kernel
def heights_at(m, n, k, values, room):  # type: ignore[no-untyped-def]
    """Where in `room.heights` the values of HEIGHT around a point stand, for the spin."""
    at = (m * SPIN.points + k) * APEX_TIME_S.points + n
    slot, tag = 4 * (m & 3) + (n & 3), room.turned * MOST_POINTS + at
    if room.height_tags[np.uintp(slot)] != tag:
        room.height_tags[np.uintp(slot)] = tag
        wk = spin_weights(room)
        keep_curves(HEIGHT + at, APEX_TIME_S.points, values, wk, room.heights, 16 * slot)
    return 16 * slot


@kernel
def four_kept(kept, at, wa, wb):  # type: ignore[no-untyped-def]
    """Four values that stand side by side at each of 4 by 4 points, interpolated on both axes."""
    p, q, r, s = 0.0, 0.0, 0.0, 0.0
    for a in range(4):
        pp, qq, rr, ss = 0.0, 0.0, 0.0, 0.0
        for b in range(4):
            i = at + 16 * a + 4 * b
            pp += wb[b] * kept[np.uintp(i)]
            qq += wb[b] * kept[np.uintp(i + 1)]
            rr += wb[b] * kept[np.uintp(i + 2)]
            ss += wb[b] * kept[np.uintp(i + 3)]
        p += wa[a] * pp
        q += wa[a] * qq
        r += wa[a] * rr
        s += wa[a] * ss
    return p, q, r, s


@kernel
def one_kept(kept, at, wa, wc):  # type: ignore[no-untyped-def]
    """One value, interpolated on both axes of 4 by 4 points.

    Odd for speed: four points of the last axis go side by side, two or four in one instruction of
    the processor, and indices are unsigned, which spares a test whether each counts from the end.
    """
    p, q, r, s = 0.0, 0.0, 0.0, 0.0
    for a in range(4):
        i = at + 4 * a
        p += wa[a] * kept[np.uintp(i)]
        q += wa[a] * kept[np.uintp(i + 1)]
        r += wa[a] * kept[np.uintp(i + 2)]
        s += wa[a] * kept[np.uintp(i + 3)]
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
def reach_by_table(z, elevation, speed, topspin, w, sheets):  # type: ignore[no-untyped-def]
    """A launch at height `z`: (distance of the landing, speed at the apex, distance of the apex,
    drop from the apex to the landing, time to the apex). The first is NaN where the table has no
    answer.
    """
    table, room = sheets
    i, wi = between_points(speed, SPEED_M_S)
    j, wj = between_points(elevation, ELEVATION_RAD)
    k = spin_of(topspin, room)
    if i < 0 or j < 0 or k < 0:
        return math.nan, math.nan, math.nan, math.nan, math.nan
    at = launches_at(i, j, k, table.values, room)
    apex_speed, apex_x, apex_z, rise = four_kept(room.launches, at, wi, wj)
    drop = z + apex_z - w.radius_m
    m, wm = between_points(apex_speed, APEX_SPEED_M_S)
    n, wn = between_points(math.sqrt(drop), ROOT_DROP)
    if m < 0 or n < 0:
        return math.nan, math.nan, math.nan, math.nan, math.nan
    fall = one_kept(room.falls, falls_at(m, n, k, table.values, room), wm, wn)
    return apex_x + fall, apex_speed, apex_x, drop, rise


@kernel
def drop_by_table(topspin, apex_speed, ahead, sheets):  # type: ignore[no-untyped-def]
    """Height lost `ahead` metres after the apex, or before it (< 0); NaN outside the table."""
    table, room = sheets
    m, wm = between_points(apex_speed, APEX_SPEED_M_S)
    n, wn = between_points(ahead / apex_speed, APEX_TIME_S)
    k = spin_of(topspin, room)
    if m < 0 or k < 0 or n < 0:
        return math.nan
    return one_kept(room.heights, heights_at(m, n, k, table.values, room), wm, wn)


@inlined
@kernel
def landing_by_table(topspin, reach, sheets):  # type: ignore[no-untyped-def]
    """Time, horizontal and vertical speed at the landing; `reach` is that of `reach_by_table`."""
    _, apex_speed, _, drop, rise = reach
    table, room = sheets
    k = spin_of(topspin, room)
    m, wm = between_points(apex_speed, APEX_SPEED_M_S)
    n, wn = between_points(math.sqrt(drop), ROOT_DROP)
    drops = ROOT_DROP.points
    at = FALL + 4 * ((m * SPIN.points + k) * drops + n)
    wk = spin_weights(room)
    _, fall, vx, vz = four_values(table.values, at, 4 * SPIN.points * drops, 4 * drops, wm, wk, wn)
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
MOST_WORLDS = 256
GRIDS = (SPEED_M_S, ELEVATION_RAD, SPIN, APEX_SPEED_M_S, ROOT_DROP, APEX_TIME_S)


Sheets = tuple[np.ndarray, np.ndarray] | tuple[None, None]
NO_SHEETS: Sheets = NO_TABLE, NO_TABLE


def sheets_of(world: np.ndarray) -> Sheets:
    """The flight table and room to work in for a WORLD record of length one, arrays of length one;
    NO_SHEETS where flight is integrated.

    Kernels take them beside the world. The table is made or loaded once in a process; the room is
    this thread's own.
    """
    content = world.tobytes()
    found = _SHEETS.by_world.get(content)
    return _SHEETS.of(content) if found is None else found


def records_of(world: np.ndarray) -> tuple[np.void, np.void] | None:
    """The sheets for a WORLD record of length one as the functions that fly a ball take them."""
    table, room = sheets_of(world)
    return None if table is None or room is None else (table[0], room[0])


class _Sheets(threading.local):
    """The sheets of one thread, by the content of a world and by what the table depends on."""

    def __init__(self) -> None:
        self.by_world: dict[bytes, Sheets] = {}
        self.of_inputs = lru_cache(maxsize=8)(lambda inputs: (_flight_table(inputs), new_room()))

    def of(self, content: bytes) -> Sheets:
        if len(self.by_world) >= MOST_WORLDS:
            self.by_world.clear()
        inputs = _inputs_of(np.frombuffer(content, WORLD))
        found = NO_SHEETS if inputs is None else self.of_inputs(inputs)
        self.by_world[content] = found
        return found


def new_room() -> np.ndarray:
    """Room to work in that holds nothing yet."""
    room = np.zeros(1, ROOM)
    room["topspin_rad_s"] = math.nan
    return room


_SHEETS = _Sheets()


def _inputs_of(world: np.ndarray) -> tuple[float, ...] | None:
    windy = any(world[f"wind_{axis}_m_s"][0] != 0.0 for axis in "xyz")
    if not world["tabulated"][0] or windy:
        return None
    return tuple(float(world[name][0]) for name in INPUTS)


@lru_cache(maxsize=8)
def _flight_table(inputs: tuple[float, ...]) -> np.ndarray:
    world = np.zeros(1, WORLD)
    for name, value in zip(INPUTS, inputs, strict=True):
        world[name] = value

    values = kept_table("flight", repr((inputs, GRIDS)).encode(), lambda: new_table(world))
    return values.view(TABLE)
