"""Search along a ball's path for one body in motion: the largest time to spare, a settled stroke.

Asked is not for how much time to spare there is, which needs a root at each point, but whether
there is more than so much: for a given time to spare the moment of arrival at each point is known,
and with it where the reachable disc stands. The largest time to spare is the one that no point
beats: each point that does sets it higher.
"""

from __future__ import annotations

import math

from sim.arithmetic import exp
from sim.climb import NEVER, run_of
from sim.compiled import inlined, kernel
from sim.legs import BACKHAND_SIDE, FOREHAND_SIDE, TABLE_STEP_M
from sim.movement import (
    ARRIVAL_TOLERANCE_S,
    arrival,
    arrival_near,
    running_time,
    side_of,
    worst_moment,
)

GOLDEN, GOLDEN_STEPS, STRIDE, ROUNDS = 0.5 * (math.sqrt(5.0) - 1.0), 12, 2, 20
# Moves toward the top of the gain end where no more than so much can be left, between places so
# near (in points), or after so many; a ball that leaves the reach is met so far inside it.
CLOSE_S, NARROW, MOVES, INSIDE_M = 1e-6, 1e-3, 12, 1e-6
ENOUGH_S = 1e-3
# Points by which it is not known where the disc lets go of a ball, and by which to look on at least
# while it holds one.
DOUBT, ON = 0.002, 0.01
# By how much more than the best yet is asked for: arrivals are known to half of that.
MORE_S = 2.0 * ARRIVAL_TOLERANCE_S
# Of the way to where the ball changes sides of the body, what is left of it to be on this side.
SIDE_MARGIN = 1e-6


@inlined
@kernel
def gain_at(left, dx, dy, fade, c, legs, table):  # type: ignore[no-untyped-def]
    """Seconds by which a ball (dx, dy) from the start is met before the time `left`.

    Right in its sign, and to first order: it does not see that the disc drifts on meanwhile. `fade`
    is the share of the velocity still there at that time.
    """
    drift = legs.tau_s * (1.0 - fade)
    need = running_time(dx - c.vx_m_s * drift, dy - c.vy_m_s * drift, legs, table)[0]
    if (left < c.nested_s) & (need <= left):  # the disc may let go of the ball again
        return left - arrival(dx, dy, c, legs, table)
    return left - need


@kernel
def is_met(left, dx, dy, c, legs, table):  # type: ignore[no-untyped-def]
    """Whether a ball (dx, dy) from the start is met before the time `left`."""
    return gain_at(left, dx, dy, exp(-left / legs.tau_s), c, legs, table) > 0.0


@kernel
def gain_by(part, k, spare, grown, c, legs, table):  # type: ignore[no-untyped-def]
    """`gain_at` point `k` for so much time to spare; `grown` is exp(spare/tau)."""
    dx, dy = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m
    left = part.time_s[k] - c.wait_s - spare
    return gain_at(left, dx, dy, part.fade[k] * grown, c, legs, table)


@kernel
def scan(part, spare, again, c, legs, table):  # type: ignore[no-untyped-def]
    """The point that beats the time to spare `spare` by most: (seconds, point).

    Looked at `again` are only the points that beat the smaller one of the scan before.
    """
    grown, best, at = exp(spare / legs.tau_s), NEVER, part.points - 1
    for k in range(part.points):
        if (again and part.gain_s[k] <= 0.0) or part.time_s[k] <= c.wait_s + spare:
            part.gain_s[k] = 0.0  # at the most
            continue
        gain = gain_by(part, k, spare, grown, c, legs, table)
        part.gain_s[k] = gain
        at = k if gain > best else at
        best = max(gain, best)
    return best, at


@kernel
def ball_on(part, place, c):  # type: ignore[no-untyped-def]
    """Time after the reaction, and how far away, of the ball at a place among the points: on the
    straight way between two of them.
    """
    k = max(min(int(place), part.points - 2), 0)
    s = place - k
    dx = part.x_m[k] + s * (part.x_m[k + 1] - part.x_m[k]) - c.x_m
    dy = part.y_m[k] + s * (part.y_m[k + 1] - part.y_m[k]) - c.y_m
    return part.time_s[k] + s * (part.time_s[k + 1] - part.time_s[k]) - c.wait_s, dx, dy


@kernel
def gain_on(part, place, spare, c, legs, table):  # type: ignore[no-untyped-def]
    """`gain_at` a place among the points, for so much time to spare."""
    time, dx, dy = ball_on(part, place, c)
    left = time - spare
    return gain_at(left, dx, dy, exp(-left / legs.tau_s), c, legs, table)


@kernel
def way_out(rx, ry, wx, wy, run2, legs, table):  # type: ignore[no-untyped-def]
    """Points on until a ball at (rx, ry) from the disc, (wx, wy) a point, is just inside its edge.

    That is where it leaves the circle whose radius is the reach, its square larger by `run2`.
    (Points, how far outside the circle it passes, squared and times the square of the way.)
    """
    past, across = rx * wx + ry * wy, rx * wy - ry * wx
    way2 = wx * wx + wy * wy + 1e-300
    inside = table.reach_m[side_of(rx, legs)] - INSIDE_M
    outside2 = across * across - (inside * inside + run2) * way2
    return (math.sqrt(max(-outside2, 0.0)) - past) / way2, outside2


@kernel
def held_for(dx, dy, wx, wy, c, legs, table):  # type: ignore[no-untyped-def]
    """Points on until the disc lets go of a ball that it holds from the start to `nested_s`.

    Until it is nearly out of what the disc holds at the worst moment; the drift and the run until
    then as series.
    """
    moment = worst_moment(dx, dy, c, legs, table)
    share = moment / legs.tau_s
    drift = moment * (1.0 - share * (0.5 - share * (1.0 / 6.0)))
    speed_up = TABLE_STEP_M / table.time_s[side_of(dx, legs), 1]
    run = moment * (1.0 - share * (1.0 / 6.0)) * speed_up
    rx, ry = dx - c.vx_m_s * drift, dy - c.vy_m_s * drift
    return way_out(rx, ry, wx, wy, run * run, legs, table)[0] - DOUBT


@kernel
def look_on(part, place, spare, c, legs, table):  # type: ignore[no-untyped-def]
    """The gain at a place for so much time to spare, its slope, and how far off its top is.

    (Seconds, seconds a point, points.) Seen from the drifting disc the ball goes nearly straight: a
    ball that crosses the circle of reach is best met where it leaves. For one that passes outside
    see `sim.climb.aim`. The slope is infinite downward where the disc has let go of a ball that it
    held at first.
    """
    k = max(min(int(place), part.points - 2), 0)
    wx, wy = part.x_m[k + 1] - part.x_m[k], part.y_m[k + 1] - part.y_m[k]
    pace = part.time_s[k + 1] - part.time_s[k]
    time, dx, dy = ball_on(part, place, c)
    left = time - spare
    fade = exp(-left / legs.tau_s)
    drift = legs.tau_s * (1.0 - fade)
    rx, ry = dx - c.vx_m_s * drift, dy - c.vy_m_s * drift
    need, slope, tangent = running_time(rx, ry, legs, table)
    if (left < c.nested_s) & (need <= max(left, 0.0)):  # the disc may let go of the ball again
        arrives, way = arrival(dx, dy, c, legs, table), held_for(dx, dy, wx, wy, c, legs, table)
        return left - arrives, pace if arrives == 0.0 else -math.inf, max(way, ON)
    wx, wy = wx - c.vx_m_s * fade * pace, wy - c.vy_m_s * fade * pace
    way, outside2 = way_out(rx, ry, wx, wy, 0.0, legs, table)
    past, way2 = rx * wx + ry * wy, wx * wx + wy * wy + 1e-300
    ahead = slope * slope * way2 - pace * pace
    if tangent > 0.0 and ahead <= 0.0:
        way = math.inf  # slower than the body
    elif outside2 > 0.0:
        way += pace * math.sqrt(outside2 / max(ahead, 1e-12)) / way2
    rate = pace - slope * past / tangent if tangent > 0.0 else pace
    return left - need, rate, way


@kernel
def aside(part, k, grown, c, legs):  # type: ignore[no-untyped-def]
    """How far to the right of the body point `k` is when the ball is met, `grown` as in gain_by."""
    drift = legs.tau_s * (1.0 - part.fade[k] * grown)
    return part.x_m[k] - c.x_m - c.vx_m_s * drift


@kernel
def same_side(part, at, to, grown, c, legs):  # type: ignore[no-untyped-def]
    """How far from point `at` toward its neighbour `to` the ball stays on one side of the body.

    Both when it is met and at first.
    """
    here, there = aside(part, at, grown, c, legs), aside(part, int(to), grown, c, legs)
    share = here / (here - there) if here * there < 0.0 else 1.0
    here, there = part.x_m[at] - c.x_m, part.x_m[int(to)] - c.x_m
    if here * there < 0.0:
        share = min(share, here / (here - there))
    return at + (to - at) * share * (1.0 - SIDE_MARGIN) if share < 1.0 else to


@kernel
def around(part, at, spare, c, legs, table):  # type: ignore[no-untyped-def]
    """The place beside point `at` that beats `spare` by most: (seconds, place).

    Not beyond where the ball changes sides of the body, and with that the reach. By golden section
    for slow sides, and where the moves come to no end.
    """
    first, last = run_of(part, at)
    low, high = float(max(at - 1, first)), float(min(at + 1, last + 1))
    if table.reach_m[FOREHAND_SIDE] != table.reach_m[BACKHAND_SIDE]:
        grown = exp(spare / legs.tau_s)
        low = same_side(part, at, low, grown, c, legs)
        high = same_side(part, at, high, grown, c, legs)
    here, best, place = float(at), NEVER, float(at)
    if table.slow:
        return golden(part, low, high, spare, c, legs, table)
    rises, falls = low - 1.0, high + 1.0  # the nearest places known from which it rises or falls
    for _ in range(MOVES):
        gain, rate, way = look_on(part, here, spare, c, legs, table)
        place = here if gain > best else place
        best = max(gain, best)
        rises, falls = (here, falls) if rate > 0.0 else (rises, here)
        to = max(low, min(high, here + way))
        if abs(rate * (to - here)) < CLOSE_S or falls - rises < NARROW:
            return best, place
        if not rises < to < falls:
            to = 0.5 * (max(rises, low) + min(falls, high))
        here = to
    gain, here = golden(part, low, high, spare, c, legs, table)
    return (gain, here) if gain > best else (best, place)


@kernel
def golden(part, low, high, spare, c, legs, table):  # type: ignore[no-untyped-def]
    """The place between `low` and `high` that beats `spare` by most: (seconds, place)."""
    a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    gain_a, gain_b = (
        gain_on(part, a, spare, c, legs, table),
        gain_on(part, b, spare, c, legs, table),
    )
    best, place = max(gain_a, gain_b), a if gain_a >= gain_b else b
    for bound in (low, high):  # where the gain may end as steeply as it likes
        gain = gain_on(part, bound, spare, c, legs, table)
        place = bound if gain > best else place
        best = max(gain, best)
    for _ in range(GOLDEN_STEPS):
        left_half = gain_a >= gain_b
        low, high = (low, b) if left_half else (a, high)
        new = high - GOLDEN * (high - low) if left_half else low + GOLDEN * (high - low)
        gain = gain_on(part, new, spare, c, legs, table)
        if left_half:
            b, gain_b, a, gain_a = a, gain_a, new, gain
        else:
            a, gain_a, b, gain_b = b, gain_b, new, gain
        place = new if gain > best else place
        best = max(gain, best)
    return best, place


@kernel
def guess(part, c, legs, table):  # type: ignore[no-untyped-def]
    """A point with about the most time to spare, and about how much: (seconds, point).

    The run is timed from where half of the velocity has carried the body.
    """
    best, at = NEVER, part.points - 1
    x, y = c.x_m + 0.5 * legs.tau_s * c.vx_m_s, c.y_m + 0.5 * legs.tau_s * c.vy_m_s
    for k in range((part.points - 1) % STRIDE, part.points, STRIDE):
        need = running_time(part.x_m[k] - x, part.y_m[k] - y, legs, table)[0]
        spare = part.time_s[k] - c.wait_s - need
        at = k if spare > best else at
        best = max(spare, best)
    return best, at


@kernel
def spare_on(part, place, guess, c, legs, table):  # type: ignore[no-untyped-def]
    """Time to spare at a place among the points, near `guess`."""
    left, dx, dy = ball_on(part, place, c)
    return left - arrival_near(left - guess, dx, dy, c, legs, table)


@kernel
def most_beside(part, at, best, place, c, legs, table):  # type: ignore[no-untyped-def]
    """The largest time to spare beside point `at`, if it is above `best`: (seconds, place)."""
    for _ in range(ROUNDS if part.points > 1 else 0):
        asked = best + MORE_S
        gain, between = around(part, at, asked, c, legs, table)
        if gain <= 0.0:
            break
        best, place = spare_on(part, between, asked + gain, c, legs, table), between
        if best < asked:  # a moment sooner the ball is on the other side: half is sure to be there
            best = asked + 0.5 * gain
        if gain < ENOUGH_S:  # what is left is of the order of its square
            break
    return best, place


@kernel
def across(part, at, spare, c, legs, table):  # type: ignore[no-untyped-def]
    """The best point on the other side of the body than point `at`; -1: all are on its side."""
    grown, best, other = exp(spare / legs.tau_s), -math.inf, -1
    here = aside(part, at, grown, c, legs)
    for k in range(part.points):
        if aside(part, k, grown, c, legs) * here < 0.0:
            gain = gain_by(part, k, spare, grown, c, legs, table)
            other = k if gain > best else other
            best = max(gain, best)
    return other


@kernel
def most_in_motion(part, c, legs, table):  # type: ignore[no-untyped-def]
    """Largest time to spare over a part, and where: (seconds, place).

    Each side of the body has its own reach and so its own top.
    """
    about, at = guess(part, c, legs, table)
    best, place = spare_on(part, float(at), about, c, legs, table), float(at)
    for scans in range(ROUNDS):
        asked = best + MORE_S
        gain, at = scan(part, asked, scans > 0, c, legs, table)
        if gain <= 0.0:
            break
        best, place = spare_on(part, float(at), asked + gain, c, legs, table), float(at)
    at = int(place)
    best, place = most_beside(part, at, best, place, c, legs, table)
    if table.reach_m[FOREHAND_SIDE] != table.reach_m[BACKHAND_SIDE]:
        other = across(part, at, best, c, legs, table)
        if other >= 0:
            best, place = most_beside(part, other, best, place, c, legs, table)
    return best, place


@kernel
def settles_in_motion(part, c, legs, table):  # type: ignore[no-untyped-def]
    """Whether the body can settle for a stroke somewhere on the part."""
    best, at = NEVER, 0
    for k in range(part.points):
        gain = gain_by(part, k, 0.0, 1.0, c, legs, table)
        if gain >= 0.0:
            return True
        at = k if gain > best else at
        best = max(gain, best)
    return part.points > 1 and around(part, at, 0.0, c, legs, table)[0] >= 0.0
