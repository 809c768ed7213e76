"""The place from which both extreme drives leave the same time."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.compiled import kernel
from sim.contracts import Situation
from sim.envelope import halfway_of
from sim.errors import unknown_name
from sim.flight_table import sheets_of
from sim.meeting import appraisal_room, appraise_all
from sim.records import BALL, PATH_POINTS
from sim.stroke import fly_drive
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import SIDE_LIMIT_M, stand

PLACES, FINE_PLACES = 33, 9
PLACE, SPARE = 0, 6  # of `room_for`
HOPELESS_S = -1e8  # less time to spare than this: the ball cannot be played from anywhere
SPEEDS = ("slowest", "fastest")


@kernel
def crossing_x_m(c, drive, line):  # type: ignore[no-untyped-def]
    """Where the straight path of a drive crosses the line, inside the run-off."""
    share = (c.y_m + line) / (c.y_m - drive.target_y_m)
    x = c.x_m + (drive.target_x_m - c.x_m) * share
    return min(max(x, -SIDE_LIMIT_M), SIDE_LIMIT_M)


@kernel
def surplus_of(left, right):  # type: ignore[no-untyped-def]
    """Time to spare against the right extreme less that against the left; NaN where either ball is
    not in or cannot be played at all."""
    return right - left if left > HOPELESS_S and right > HOPELESS_S else math.nan


@kernel
def weigh_places(balls, paths, low, high, line, legs, tables, room):  # type: ignore[no-untyped-def]
    """Put places evenly from low to high on the line, and the surpluses there in place of the left
    ball's times to spare."""
    x, y, parts, climbs, chasers, comfort, spare, grade = room
    last = x.shape[1] - 1
    for k in range(last + 1):
        share = k / last
        x[0, k], y[0, k] = low * (1.0 - share) + high * share, -line
    appraise_all(balls, paths, x, y, legs, tables, parts, climbs, chasers, comfort, spare, grade)
    for k in range(last + 1):
        spare[0, k] = surplus_of(spare[0, k], spare[1, k])


@kernel
def change_of_sign(x, surplus, near):  # type: ignore[no-untyped-def]
    """The interval of places in which the surplus turns positive, -1 for none.

    Of several the one nearest to `near` counts, so that the answer mirrors with the question.
    """
    found, least = -1, math.inf
    for k in range(x.size - 1):
        if surplus[k] <= 0.0 and surplus[k + 1] >= 0.0:
            away = abs(0.5 * (x[k] + x[k + 1]) - near)
            if away < least:
                found, least = k, away
    return found


@kernel
def root_of(x, f, k):  # type: ignore[no-untyped-def]
    """Where the straight line over an interval is zero; its middle if it is flat."""
    rise = f[k + 1] - f[k]
    share = -f[k] / rise if rise > 0.0 else 0.5
    return x[k] + (x[k + 1] - x[k]) * share


@kernel
def in_balance(balls, paths, low, high, near, line, legs, tables, coarse, fine):  # type: ignore[no-untyped-def]
    """The place from low to high on the line from which both balls leave the same time to spare;
    `near` where there is none."""
    weigh_places(balls, paths, low, high, line, legs, tables, coarse)
    x = coarse[PLACE][0]
    k = change_of_sign(x, coarse[SPARE][0], near)
    if k < 0:
        return near
    weigh_places(balls, paths, x[k], x[k + 1], line, legs, tables, fine)
    x, surplus = fine[PLACE][0], fine[SPARE][0]
    k = change_of_sign(x, surplus, near)
    return near if k < 0 else root_of(x, surplus, k)


@kernel
def stand_in_balance(  # type: ignore[no-untyped-def]
    contacts,
    extremes,
    drives,
    line,
    legs,
    tables,
    world,
    table,
    room,
    balls,
    paths,
    coarse,
    fine,
    out,
):
    """Fill spots in balance between the drives (n, 2), else on the bisectors of the extremes.

    Room to work in: BALL records and paths of two balls, and `room_for` both rounds.
    """
    sheets = None if table is None else (table[0], room[0])
    for i in range(out.shape[0]):
        c, ends = contacts[i], drives[i]
        for side in range(2):
            fly_drive(c, ends[side], world[0], sheets, paths[side], balls[side])
        low, high = crossing_x_m(c, ends[0], line), crossing_x_m(c, ends[1], line)
        near = halfway_of(c.x_m, c.y_m, extremes[i], line)
        x = in_balance(balls, paths, low, high, near, line, legs, tables, coarse, fine)
        stand(x, line, out[i])


def room_for(places: int) -> tuple[np.ndarray, ...]:
    """Room to work in for `weigh_places` of so many places."""
    x, y, spare = np.empty((1, places)), np.empty((1, places)), np.empty((2, places))
    return x, y, *appraisal_room(places), spare, np.empty((2, places), np.int64)


@dataclass(frozen=True)
class TimeBalanced(PackedSpots):
    """Stand where the drives to both extremes leave the same time to spare.

    Source: this project's; it asks of time what the bisector asks of angles, with the real flight
    of both balls and the own legs, reach and hand. Parameter: `drives`, which drives to the
    extremes count: the slowest or the fastest that the limits allow. The slowest are of one speed
    and exist from every contact. The fastest differ in speed from side to side (a straight ball
    that lands short has to be slower, one from outside the sideline may be deep and hard), which
    moves the spot farther over from a corner and less far from outside the sideline.
    It looks along the waiting depth between the two crossings, and falls back to the bisector
    where one of the balls cannot be played from anywhere or no place between is in balance.
    It should lose where the extreme ball is not the one that hurts, and against an opponent who
    plays one side far more.

    Raises:
        InputError: `drives` is neither fastest nor slowest.
    """

    drives: str = dataclasses.field(default="slowest", metadata={"allowed": " or ".join(SPEEDS)})
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        if self.drives not in SPEEDS:
            raise unknown_name("choice for TimeBalanced.drives", str(self.drives), SPEEDS)

    @property
    def name(self) -> str:
        return described("time-balanced", self)

    def packed(self, seen: Situation) -> Packed:
        drives = seen.fastest_extremes if self.drives == "fastest" else seen.extremes
        legs, world = seen.me.legs, seen.world
        what = seen.contact, seen.extremes, drives, seen.line_m, legs.numbers, legs.times
        balls, paths = np.zeros(2, BALL), np.empty((2, PATH_POINTS, 5))
        room = balls, paths, room_for(PLACES), room_for(FINE_PLACES)
        return Packed(stand_in_balance, (*what, world, *sheets_of(world), *room))
