"""The part of a ball's path that a player can play, and the part that is comfortable.

A part is the samples of the path inside the limits, with its ends put between samples where the
limit is crossed: the path is taken as straight from one sample to the next.
"""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic import exp
from sim.compiled import inlined, kernel
from sim.kinds import FIRST_SERVE
from sim.legs import TABLE_NODES, TABLE_STEP_M
from sim.records import PATH_POINTS, PATH_STEP_S, VZ, T, X, Y, Z

COLUMNS = (
    "time_s",
    "x_m",
    "y_m",
    "z_m",
    "comfort",
    "kept",
    "along_x",
    "along_y",
    "length_m",
    "per_m",
    "pace_s_m",
    "way_m2",
    "circle_m2",
    "fade",
    "gain_s",
)
# Arrays inside a record: a kernel gets one address, and pays nothing to hand an array on. Handing
# on arrays of their own costs as much as the whole search along a path.
PART = np.dtype(
    [
        ("points", "i8"),
        ("gap", "i8"),
        ("haste_per_s", "f8"),
        *((name, "f8", 2 * PATH_POINTS) for name in COLUMNS),
    ]
)
COMFORT_FOR_SET, ANY_COMFORT = 0.5, -1.0
LOG_2 = 0.6931471805599453
SAME_STEP_S = 1e-12
NO_GAP, LAST_NODE = -2, TABLE_NODES - 2


@inlined
@kernel
def comfort_of(z, vz, legs):  # type: ignore[no-untyped-def]
    """Comfort of a contact height from 0 to 1, smooth, less on a rising ball."""
    comfort = 1.0
    if z < legs.best_low_m:
        off = (legs.best_low_m - z) / legs.fade_low_m
        comfort = exp(-LOG_2 * off * off)
    elif z > legs.best_high_m:
        off = (z - legs.best_high_m) / legs.fade_high_m
        comfort = exp(-LOG_2 * off * off)
    if vz > 0.0:
        comfort *= 1.0 - legs.rise_cost * vz / (vz + 2.0)
    return comfort


@kernel
def keep(part, path, k, comfort):  # type: ignore[no-untyped-def]
    """Add sample `k` to the part."""
    n = part.points
    part.time_s[n], part.x_m[n], part.y_m[n], part.z_m[n] = (
        path[k, T],
        path[k, X],
        path[k, Y],
        path[k, Z],
    )
    part.comfort[n] = comfort[k]
    part.points = n + 1


@kernel
def keep_between(part, path, k, share, comfort):  # type: ignore[no-untyped-def]
    """Add to the part the point that lies `share` of the way from sample `k` to the next."""
    n, after = part.points, k + 1 if share > 0.0 else k
    part.time_s[n] = path[k, T] + share * (path[after, T] - path[k, T])
    part.x_m[n] = path[k, X] + share * (path[after, X] - path[k, X])
    part.y_m[n] = path[k, Y] + share * (path[after, Y] - path[k, Y])
    part.z_m[n] = path[k, Z] + share * (path[after, Z] - path[k, Z])
    part.comfort[n] = comfort[k] + share * (comfort[after] - comfort[k])
    part.points = n + 1


@kernel
def lay(part):  # type: ignore[no-untyped-def]
    """Fill the direction, length and seconds per metre of the way from each point to the next."""
    for k in range(part.points - 1):
        wx, wy = part.x_m[k + 1] - part.x_m[k], part.y_m[k + 1] - part.y_m[k]
        length = math.sqrt(wx * wx + wy * wy) + 1e-12
        part.along_x[k], part.along_y[k], part.length_m[k] = (wx / length, wy / length, length)
        spacing = PATH_STEP_S * length / (part.time_s[k + 1] - part.time_s[k])
        part.per_m[k] = 1.0 / spacing
        part.way_m2[k] = 0.0 if k == part.gap else length * length
        part.pace_s_m[k] = (part.time_s[k + 1] - part.time_s[k]) / length


@kernel
def cut(path, points, comfort, least, legs, part):  # type: ignore[no-untyped-def]
    """Fill the part with the playable points of at least that comfort.

    A margin is positive inside the limits, and taken as linear between samples.
    """
    part.points, part.gap = 0, NO_GAP
    before = -1.0
    for k in range(points):
        z = path[k, Z]
        margin = min(z - legs.playable_low_m, legs.playable_high_m - z, comfort[k] - least)
        if margin >= 0.0 and before < 0.0 and part.points > 0:
            part.gap = part.points - 1
        if k > 0 and (margin >= 0.0) != (before >= 0.0):
            keep_between(part, path, k - 1, before / (before - margin), comfort)
        if margin >= 0.0:
            keep(part, path, k, comfort)
        before = margin


@kernel
def fill_fade(part, wait, legs):  # type: ignore[no-untyped-def]
    """Fill the share of a velocity that is left at each point: exp(-t/tau), t after the reaction.

    From one sample of the path to the next it falls by the same factor.
    """
    factor = exp(-PATH_STEP_S / legs.tau_s)
    fade, last = 0.0, -math.inf
    for k in range(part.points):
        time = part.time_s[k]
        if abs(time - last - PATH_STEP_S) < SAME_STEP_S:
            fade *= factor
        else:
            fade = exp((wait - time) / legs.tau_s)
        part.fade[k], last = fade, time


@kernel
def draw_circles(part, wait, table):  # type: ignore[no-untyped-def]
    """Fill the square of the radius around each point from which a body at rest meets it in time.

    That is the tangent (see Legs.times) that takes the time left, found in the table from the node
    of the point before on, since time only grows; below 0 where no time is left.
    """
    node = 0
    for k in range(part.points):
        left = part.time_s[k] - wait
        while node < LAST_NODE and table.time_s[0, node + 1] < left:
            node += 1
        before, after = table.time_s[0, node], table.time_s[0, node + 1]
        tangent = TABLE_STEP_M * (node + (left - before) / (after - before))
        circle = table.reach_m[0] * table.reach_m[0] + tangent * tangent
        part.circle_m2[k] = circle if left >= 0.0 else -1.0


@kernel
def weigh_time(part, ball, legs):  # type: ignore[no-untyped-def]
    """Set what is given up to meet the ball a second earlier: more for a serve."""
    share = legs.return_haste_share if ball.kind >= FIRST_SERVE else 1.0
    part.haste_per_s = legs.haste_per_s * share


@kernel
def weigh_pace(part, vx, vy, legs):  # type: ignore[no-untyped-def]
    """Lessen the comfort of all points of a ball that comes fast over the ground, as serves do."""
    beyond = (math.sqrt(vx * vx + vy * vy) - legs.easy_pace_m_s) / legs.pace_half_m_s
    if beyond > 0.0:
        for k in range(part.points):
            part.comfort[k] /= 1.0 + beyond * beyond


@kernel
def read_path(path, points, legs, comfort, playable):  # type: ignore[no-untyped-def]
    """Fill the comfort of each sample and the playable part of the path.

    A ball that never rises to a playable height can be played at its top, and only there.
    """
    top = 0
    for k in range(points):
        comfort[k] = comfort_of(path[k, Z], path[k, VZ], legs)
        top = k if path[k, Z] > path[top, Z] else top
    cut(path, points, comfort, ANY_COMFORT, legs, playable)
    if playable.points == 0:
        keep(playable, path, top, comfort)
