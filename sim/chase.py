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
from sim.compiled import kernel
from sim.legs import BACKHAND_SIDE, FOREHAND_SIDE
from sim.movement import ARRIVAL_TOLERANCE_S, arrival, arrival_near, running_time

GOLDEN, GOLDEN_STEPS, STRIDE, ROUNDS = 0.5 * (math.sqrt(5.0) - 1.0), 12, 2, 20
FINE = 0.1  # of the way from point to point
# By how much more than the best yet is asked for: arrivals are known to half of that.
CLOSE_S, ENOUGH_S = 2e-6, 1e-3
MORE_S = 2.0 * ARRIVAL_TOLERANCE_S
# Of the way to where the ball changes sides of the body, what is left of it to be on this side.
SIDE_MARGIN = 1e-6


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
def parabola(low, high, place, step, spare, part, c, legs, table):  # type: ignore[no-untyped-def]
    """The parabola through the gains at a place and a step to both sides of it, within the bounds.

    (The place, the gain there, rise and bend a step, how many steps off its top is, at most one.)
    """
    place = max(min(place, high - step), low + step)
    before, here, after = (
        gain_on(part, place - step, spare, c, legs, table),
        gain_on(part, place, spare, c, legs, table),
        gain_on(part, place + step, spare, c, legs, table),
    )
    rise, bend = 0.5 * (after - before), after - 2.0 * here + before
    way = -rise / bend if bend < 0.0 else math.copysign(1.0, rise)
    return place, here, rise, bend, max(-1.0, min(1.0, way))


@kernel
def vertex(low, high, place, step, spare, part, c, legs, table):  # type: ignore[no-untyped-def]
    """Top of the parabola about a place: (its place, the gain there, how far off the parabola is).

    How far is looked at there and half a step aside. A top beyond the step does not count, but at
    the bounds it does.
    """
    place, here, rise, bend, way = parabola(low, high, place, step, spare, part, c, legs, table)
    top, beside = place + way * step, way - math.copysign(0.5, way)
    gain = gain_on(part, top, spare, c, legs, table)
    if abs(way) == 1.0 and top not in (low, high):
        return top, gain, math.inf
    off = abs(here + way * (rise + 0.5 * bend * way) - gain)
    between = gain_on(part, place + beside * step, spare, c, legs, table)
    return top, gain, max(off, abs(here + beside * (rise + 0.5 * bend * beside) - between))


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

    The top of a parabola if the gain follows one; else, as where the ball leaves the reach, by
    golden section. Not beyond where the ball changes sides of the body, and with that the reach.
    """
    first, last = run_of(part, at)
    low, high = float(max(at - 1, first)), float(min(at + 1, last + 1))
    if table.reach_m[FOREHAND_SIDE] != table.reach_m[BACKHAND_SIDE]:
        grown = exp(spare / legs.tau_s)
        low = same_side(part, at, low, grown, c, legs)
        high = same_side(part, at, high, grown, c, legs)
    middle, step = 0.5 * (low + high), min(FINE, 0.25 * (high - low))
    wide = middle - low
    _, _, _, _, way = parabola(low, high, middle, wide, spare, part, c, legs, table)
    place = middle + way * wide
    place, gain, off = vertex(low, high, place, step, spare, part, c, legs, table)
    if off < CLOSE_S:
        return gain, place
    return golden(part, low, high, spare, c, legs, table)


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
