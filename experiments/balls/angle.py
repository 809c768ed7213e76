"""The angle of one contact as lines on the court: extreme drives, bisector, where they leave it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.scene.told_units import length
from sim.arithmetic import log
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.envelope import (
    EXTREME,
    LINE_MARGIN_M,
    MOST_TOPSPIN_RPM,
    NET_GAP_M,
    DriveLimits,
)
from sim.flight import trace
from sim.hitter import RPM, usable_topspins
from sim.over_arrays import atan2_of
from sim.records import IN, PATH_POINTS, T, X, Y, Z
from sim.stroke import fly_drives

Point = tuple[float, float]
NEAREST_BOUNCE_M = 3.0
CLOSE_M = 0.005


@dataclass(frozen=True)
class Angle:
    """The two extreme drives seen from above, left and right, and their bisector.

    contact_m: (x, y) of the ball at the opponent's strike. bounces_m: (2, 2), NaN for a drive that
    does not land in, which is not drawn. after_m: for each drive the path from its bounce to the
    second, (k, 2). bisector_x_m: on the line `line_m` from the net, where the player waits.
    """

    contact_m: tuple[float, float]
    bounces_m: np.ndarray
    after_m: tuple[np.ndarray, np.ndarray]
    bisector_x_m: float
    line_m: float

    @classmethod
    def of(cls, seen: Situation) -> Angle:
        """The angle of a situation of length one: its fastest extreme drives and its bisector."""
        drives = np.ascontiguousarray(seen.fastest_extremes[0])
        balls, paths = fly_drives(np.repeat(seen.contact, 2), drives, seen.world)
        bounces = np.stack([balls["landing_x_m"], balls["landing_y_m"]], axis=1)
        bounces[balls["outcome"] != IN] = np.nan
        tracks = []
        for ball, path in zip(balls, paths, strict=True):
            end = (ball["second_bounce_x_m"], ball["second_bounce_y_m"])
            tracks.append(np.vstack([path[: ball["points"]][:, [X, Y]], end]))
        at = (float(seen.contact["x_m"][0]), float(seen.contact["y_m"][0]))
        bisector = float(seen.bisector_x_m[0])
        return cls(at, bounces, (tracks[0], tracks[1]), bisector, float(seen.line_m))


@dataclass(frozen=True)
class Extreme:
    """One extreme drive, in the receiver's frame.

    `over_usual`: its speed over the usual one. `chance_in`: its chance to land in with the
    hitter's own error, None where that is not counted. `path` has shape (points, 4): time from the
    contact, x, y and height of the ball's centre, from the contact past the bounce to the second
    bounce; no points where the drive does not land in.
    """

    target_m: Point
    speed_m_s: float
    topspin_rpm: float
    over_usual: float
    chance_in: float | None
    path: np.ndarray


def extremes_of(seen: Situation) -> tuple[Extreme, Extreme]:
    """The left and the right extreme drive of a situation of length one, at their fastest."""
    left, right = (_extreme(seen, seen.fastest_extremes[0, k : k + 1]) for k in (0, 1))
    return left, right


def _extreme(seen: Situation, drive: np.ndarray) -> Extreme:
    balls, path = whole_path(seen, drive)
    d = drive[0]
    return Extreme(
        (float(d["target_x_m"]), float(d["target_y_m"])),
        float(d["speed_m_s"]),
        float(d["topspin_rad_s"] / RPM),
        float(d["speed_m_s"] / seen.opponent_speed_m_s[0]),
        float(d["chance_in"]) if seen.limits.counts_error else None,
        path if balls["outcome"][0] == IN else path[:0],
    )


def limits_text(limits: DriveLimits) -> str:
    """Which drives count for the angle, in words."""
    speeds = f"{limits.slowest_share:g} to {limits.fastest_share:g} of the usual speed"
    if limits.counts_error:
        return (
            f"Extreme drives: {speeds}, topspin up to {limits.topspin_share:g} of the usual,\n"
            f"launched at {limits.steepest_deg:g} degrees at most, landing in at least"
            f" {100 * limits.least_in:.0f} times in 100 with the opponent's own error (assumed)."
        )
    return (
        f"Extreme drives: {speeds}, topspin up to {MOST_TOPSPIN_RPM:.0f} rpm, at least\n"
        f"{length(NET_GAP_M, None)} above the net, {length(LINE_MARGIN_M, None)} inside the lines,"
        f" landing no nearer to the net than {length(limits.nearest_landing_m, None)}, no error"
        " counted (assumed)."
    )


def shortfall_text(extremes: tuple[Extreme, Extreme], limits: DriveLimits) -> str:
    """Where no drive counts for the angle: what is taken in its place; else nothing."""
    if any(len(e.path) == 0 for e in extremes):
        return (
            "No drive from there gets over the net and in, so there is no angle; the bisector is"
            " the line to the middle of the court."
        )
    if not limits.counts_error:
        return ""
    surest = min(e.chance_in or 0.0 for e in extremes)
    if surest < limits.least_in - 0.005:
        return (
            f"No drive from there lands in {100 * limits.least_in:.0f} times in 100; the surest"
            f" does {100 * surest:.0f} times, so the angle is narrowed to its direction."
        )
    farthest = max(extremes, key=lambda e: abs(log(e.over_usual)))
    if limits.slowest_share - 0.005 < farthest.over_usual < limits.fastest_share + 0.005:
        return ""
    return (
        f"No drive of these speeds from there lands in {100 * limits.least_in:.0f} times in 100;"
        f" the nearest that does has {farthest.over_usual:.2f} of the usual speed, and the angle is"
        " narrowed to its direction."
    )


def whole_path(seen: Situation, drive: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """One drive from contact to second bounce: BALL record (1,) and points (n, 4): t, x, y, z."""
    balls, paths = fly_drives(seen.contact, drive, seen.world)
    return balls, traced(balls[0], paths[0], seen.world)


def traced(ball: np.void, path: np.ndarray, world: np.ndarray) -> np.ndarray:
    """The whole flight of a BALL record and its path: points (n, 4): t, x, y, z.

    From the strike over the first bounce to the second; `world` a WORLD record of length one.
    """
    before = np.empty((PATH_POINTS, 5))
    start = [ball[n] for n in ("x_m", "y_m", "z_m", "vx_m_s", "vy_m_s", "vz_m_s")]
    spin = [ball[f"spin_{axis}_rad_s"] for axis in "xyz"]
    count = trace(0.0, *start, *spin, world[0], before)[0]
    radius = float(world["radius_m"][0])
    end = [ball[f"second_bounce_{n}"] for n in ("time_s", "x_m", "y_m")]
    columns = [T, X, Y, Z]
    after = path[: ball["points"], columns]
    parts = [before[:count, columns], after, np.array([[*end, radius]])]
    return np.concatenate(parts)


def opening_deg(seen: Situation) -> np.ndarray:
    """The angle between the two extreme drives, in degrees, shape (n,)."""
    c, drives = seen.contact, seen.extremes
    across = drives["target_x_m"] - c["x_m"][:, None]
    along = c["y_m"][:, None] - drives["target_y_m"]
    left, right = np.degrees(atan2_of(across, along)).T
    return np.asarray(right - left)


def bisector_line(seen: Situation) -> tuple[Point, Point]:
    """From the contact to the waiting depth along the bisector of the angle."""
    c = seen.contact[0]
    return (float(c["x_m"]), float(c["y_m"])), (float(seen.bisector_x_m[0]), -seen.line_m)


def leaves_singles_court(path: np.ndarray, line_m: float) -> bool:
    """Whether the ball of a path is outside a singles sideline before it is `line_m` from the net.

    The path (points, 4) may end before that; then its last point counts.
    """
    before = path[path[:, 2] >= -line_m]
    outside = np.abs(before[:, 1]).max() > HALF_WIDTH_M
    if outside or len(before) == len(path):
        return bool(outside)
    a, b = path[len(before) - 1], path[len(before)]
    share = (-line_m - a[2]) / (b[2] - a[2])
    return bool(abs(a[1] + share * (b[1] - a[1])) > HALF_WIDTH_M)


def usual_drive(seen: Situation, target_x_m: float, bounce_m: float) -> np.ndarray:
    """The opponent's usual drive (EXTREME record) that bounces `bounce_m` from the net."""
    drive = np.zeros(1, EXTREME)
    drive["target_x_m"], drive["target_y_m"] = target_x_m, -bounce_m
    drive["speed_m_s"] = seen.opponent_speed_m_s
    ability, contact = seen.opponent.hitter, seen.contact
    usual = ability.topspin_rad_s(contact["wing"])
    drive["topspin_rad_s"] = usable_topspins(usual, contact["z_m"], ability.numbers)
    return drive


def leaves_court_m(seen: Situation) -> float | None:
    """Bounce depth, from the net, short of which a crosscourt drive leaves the singles court.

    The drive is the usual one of the opponent, landing inside the far sideline by half a
    metre. "Leaves" means: before the waiting depth. None where no such drive does before the
    baseline margin; the baseline's depth where every one does. Found by halving the interval.
    """
    side = -1.0 if seen.contact["x_m"][0] > 0 else 1.0
    target = side * (HALF_WIDTH_M - LINE_MARGIN_M)

    def leaves(bounce_m: float) -> bool:
        path = whole_path(seen, usual_drive(seen, target, bounce_m))[1]
        return leaves_singles_court(path, seen.line_m)

    short, deep = NEAREST_BOUNCE_M, HALF_LENGTH_M
    if leaves(deep):
        return deep
    if not leaves(short):
        return None
    while deep - short > CLOSE_M:
        middle = 0.5 * (short + deep)
        short, deep = (middle, deep) if leaves(middle) else (short, middle)
    return 0.5 * (short + deep)
