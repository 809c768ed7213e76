"""Search along a ball's path for bodies at rest: the largest time to spare, a settled stroke.

Many places are searched at once. `sim.chase` does the same for one body in motion, and for slow
sides, for which the geometry of a climb does not hold.
"""

from __future__ import annotations

import math

from sim.compiled import kernel
from sim.legs import BACKHAND_SIDE, FOREHAND_SIDE
from sim.movement import running_time
from sim.records import PATH_STEP_S, record_type

NEVER = -1e9
STRIDE, MOVES = 3, 2

# A search for the largest time to spare: the body, the way it looks along, the reach on its side of
# the body, the best found yet.
CLIMB = record_type(
    "x_m",
    "y_m",
    "point",
    "past_m",
    "slope_s_m",
    "reach_m",
    "first",
    "last",
    "best_s",
    "best_point",
    "best_past_m",
    "owner",
    integers=("point", "first", "last", "best_point", "owner"),
)


@kernel
def spare_at(part, k, c, wait, legs, table):  # type: ignore[no-untyped-def]
    """Time to spare at point `k` of the part."""
    dx, dy, left = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m, part.time_s[k] - wait
    return left - running_time(dx, dy, legs, table)[0]


@kernel
def scan(part, c, wait, legs, table):  # type: ignore[no-untyped-def]
    """Start a CLIMB at the best of every fifth point of the part and of the ends at a gap."""
    best, at = NEVER, part.points - 1
    for k in range((part.points - 1) % STRIDE, part.points, STRIDE):
        spare = spare_at(part, k, c, wait, legs, table)
        at = k if spare > best else at
        best = max(spare, best)
    if part.gap >= 0:
        for k in range(part.gap, part.gap + 2):
            spare = spare_at(part, k, c, wait, legs, table)
            at = k if spare > best else at
            best = max(spare, best)
    c.best_s, c.best_point, c.best_past_m, c.point, c.past_m = NEVER, at, 0.0, at, 0.0
    c.first, c.last = run_of(part, at)


@kernel
def run_of(part, at):  # type: ignore[no-untyped-def]
    """The first and the last way of the run of points, with no gap, that holds point `at`."""
    if part.gap < 0:
        return 0, part.points - 2
    return (part.gap + 1, part.points - 2) if at > part.gap else (0, part.gap - 1)


@kernel
def reach_at(part, k, c, legs, table):  # type: ignore[no-untyped-def]
    """The reach on the side of the body on which point `k` is."""
    return table.reach_m[
        BACKHAND_SIDE if (part.x_m[k] - c.x_m) * legs.hand < 0.0 else FOREHAND_SIDE
    ]


@kernel
def look(part, c, wait, legs, table):  # type: ignore[no-untyped-def]
    """Take the time to spare and the slope of the running time where the climb is."""
    k, m = c.point, c.past_m
    dx = part.x_m[k] + m * part.along_x[k] - c.x_m
    dy = part.y_m[k] + m * part.along_y[k] - c.y_m
    need, c.slope_s_m, _ = running_time(dx, dy, legs, table)
    spare = part.time_s[k] + m * part.pace_s_m[k] - wait - need
    better = spare > c.best_s
    c.best_point = k if better else c.best_point
    c.best_past_m = m if better else c.best_past_m
    c.best_s = max(spare, c.best_s)


@kernel
def aim(part, c):  # type: ignore[no-untyped-def]
    """Move the climb to where the time to spare is largest, if the path went on straight.

    A ball that crosses the circle of reach is best met where it leaves. For one that passes
    outside, u^2 = u0^2 + m^2 for the tangent u at m metres past the closest point, and the time
    T(u) to run grows by T'(u) m / u per metre: at the top, as much as the ball's own time.
    """
    k = max(min(c.point, c.last), c.first)
    ax, ay, pace = (part.x_m[k] - c.x_m, part.y_m[k] - c.y_m, part.pace_s_m[k])
    ux, uy = part.along_x[k], part.along_y[k]
    aside = ax * uy - ay * ux
    tangent2 = aside * aside - c.reach_m * c.reach_m
    share = pace * pace / max(c.slope_s_m * c.slope_s_m - pace * pace, 1e-12)
    m = math.sqrt(max(tangent2, 0.0) * share + max(-tangent2, 0.0)) - ax * ux - ay * uy
    # All ways are as long as the ball goes in one step of the path, but for those at the ends.
    spacing = PATH_STEP_S / pace
    beyond, before = max(m - part.length_m[k], 0.0), min(m, 0.0)
    steps = math.ceil(beyond * part.per_m[k]) + math.floor(before * part.per_m[k])
    to = max(min(k + steps, c.last), c.first)
    m = (beyond + spacing if beyond > 0.0 else m) - (to - k) * spacing
    c.past_m = min(max(m, 0.0), part.length_m[to])
    c.point = to


@kernel
def split(part, c, other, wait, legs, table):  # type: ignore[no-untyped-def]
    """Keep the climb on its side of the body; return whether `other` must climb the other side.

    Where the path changes sides the reach changes. That place itself is looked at, with the longer
    reach. The other side can be left out if it is the earlier one and the ball still comes nearer
    at the change: all points there are farther and earlier.
    """
    c.reach_m = reach_at(part, c.point, c, legs, table)
    if (part.x_m[c.first] - c.x_m) * (part.x_m[c.last + 1] - c.x_m) >= 0.0:
        return False
    turn = c.first
    while (part.x_m[c.first] - c.x_m) * (part.x_m[turn + 1] - c.x_m) >= 0.0:
        turn += 1
    m = (c.x_m - part.x_m[turn]) / part.along_x[turn]
    dx = 1e-12 * legs.hand
    if table.reach_m[FOREHAND_SIDE] < table.reach_m[BACKHAND_SIDE]:
        dx = -dx
    dy = part.y_m[turn] + m * part.along_y[turn] - c.y_m
    left = part.time_s[turn] + m * part.pace_s_m[turn] - wait
    later = c.point > turn
    spare = left - running_time(dx, dy, legs, table)[0]
    if spare > c.best_s:
        c.best_s, c.best_point, c.best_past_m = spare, turn, m
    other.x_m, other.y_m = c.x_m, c.y_m
    other.best_s, other.past_m, other.point = NEVER, 0.0, turn if later else turn + 1
    other.first, other.last = (c.first, turn) if later else (turn, c.last)
    other.reach_m = reach_at(part, c.first if later else c.last + 1, c, legs, table)
    c.first, c.last = (turn, c.last) if later else (c.first, turn)
    return not later or dy * part.along_y[turn] >= 0.0


@kernel
def climb(part, climbs, places, wait, legs, table):  # type: ignore[no-untyped-def]
    """Find the largest time to spare over a part of a path for each of the first `places` climbs.

    Along points on one side of the body it rises and then falls: from the best of a few points
    two moves along the nearly straight path end at the top. The second half of `climbs` is room
    for paths that change sides. Every step is taken for all places before the next one: inside one
    place each step waits for the one before, while those of many places overlap.
    """
    n = places
    for j in range(places):
        scan(part, climbs[j], wait, legs, table)
    if part.points == 0:
        return
    for j in range(places):
        if split(part, climbs[j], climbs[n], wait, legs, table):
            climbs[n].owner = j
            n += 1
    for j in range(n):
        look(part, climbs[j], wait, legs, table)
    for _ in range(MOVES if part.points > 1 else 0):
        for j in range(n):
            aim(part, climbs[j])
        for j in range(n):
            look(part, climbs[j], wait, legs, table)
    for j in range(places, n):
        c = climbs[j]
        owner = climbs[c.owner]
        if c.best_s > owner.best_s:
            owner.best_s, owner.best_point, owner.best_past_m = (
                c.best_s,
                c.best_point,
                c.best_past_m,
            )


@kernel
def settles(part, x, y):  # type: ignore[no-untyped-def]
    """Whether a body at rest can settle for a stroke on the part: see `draw_circles`.

    At a point the ball is in the circle or not. Between two points the square of its distance is
    a parabola, and the circle's square is taken as linear: it dips inside if both ends are outside
    by little enough.
    """
    inside = 0
    for k in range(part.points):
        dx, dy = part.x_m[k] - x, part.y_m[k] - y
        inside += dx * dx + dy * dy <= part.circle_m2[k]
    if inside > 0:
        return True
    for k in range(part.points - 1):
        ax, ay = part.x_m[k] - x, part.y_m[k] - y
        bx, by = part.x_m[k + 1] - x, part.y_m[k + 1] - y
        a = ax * ax + ay * ay - part.circle_m2[k]
        b = bx * bx + by * by - part.circle_m2[k + 1]
        way2 = part.way_m2[k]
        inside += (abs(b - a) < way2) & (2.0 * way2 * (a + b) <= way2 * way2 + (b - a) * (b - a))
    return inside > 0
