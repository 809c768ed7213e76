"""Compiled movement: arrival of the reachable disc, and recovery that slows to stop at its spot."""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic import exp
from sim.can_play import smooth
from sim.compiled import inlined, kernel
from sim.legs import (
    BACKHAND_SIDE,
    COMES_IN_OVER_M,
    FOREHAND_SIDE,
    TABLE_NODES,
    TABLE_STEP_M,
)
from sim.records import record_type

ARRIVAL_TOLERANCE_S, LOOKS, NEAR_STEPS = 1e-7, 8, 4
# 32 bits, and unsigned as an index: fewer instructions in the innermost loop of a study.
LAST_NODE, ONE = float(TABLE_NODES - 2), np.uint32(1)


# A body when its reaction ends: place, velocity, the reaction, the time after it from which the
# edge of the reachable disc is faster than its centre, and how far 1 m/s has carried it by then.
CHASER = record_type("x_m", "y_m", "vx_m_s", "vy_m_s", "wait_s", "nested_s", "nested_drift_s")


@kernel
def side_of(dx, legs):  # type: ignore[no-untyped-def]
    """The side of the body on which a ball `dx` metres to the right is."""
    return BACKHAND_SIDE if dx * legs.hand < 0.0 else FOREHAND_SIDE


@kernel
def running_time(dx, dy, legs, table):  # type: ignore[no-untyped-def]
    """Time to run from rest to a ball (dx, dy) away, its growth per metre of tangent, the tangent.

    See Legs.times. Slow sides stretch the run that is left after the reach.
    """
    side = side_of(dx, legs)
    reach = table.reach_m[side]
    tangent2 = dx * dx + dy * dy - reach * reach
    if table.slow:
        distance = math.sqrt(dx * dx + dy * dy)
        wide = dx / legs.backhand_side_speed if side == BACKHAND_SIDE else dx
        deep = dy / legs.backward_speed if dy < 0.0 else dy
        run = distance - reach
        run *= math.sqrt(wide * wide + deep * deep) / max(distance, 1e-12)
        tangent2 = run * (run + 2.0 * reach)
    place = math.sqrt(max(tangent2, 0.0)) * (1.0 / TABLE_STEP_M)
    # Bounded before it is made a whole number: of a huge or missing one the processor makes any.
    node = np.uint32(np.int32(place if place < LAST_NODE else LAST_NODE))
    before = table.time_s[side, node]
    slope = table.time_s[side, node + ONE] - before
    return before + (place - node) * slope, slope * (1.0 / TABLE_STEP_M), place * TABLE_STEP_M


@inlined
@kernel
def lateness(s, dx, dy, c, legs, table):  # type: ignore[no-untyped-def]
    """Time that the run would need less the time `s` it has, and how that changes with `s`.

    The start drifts with the fading velocity of the CHASER `c`.
    """
    fade = exp(-s / legs.tau_s)
    drift = legs.tau_s * (1.0 - fade)
    rx, ry = dx - c.vx_m_s * drift, dy - c.vy_m_s * drift
    need, slope, tangent = running_time(rx, ry, legs, table)
    if tangent <= 0.0:  # within reach, where no run is needed
        return -s, -1.0
    nearing = fade * (rx * c.vx_m_s + ry * c.vy_m_s) / tangent
    return need - s, -1.0 - slope * nearing


@kernel
def worst_moment(dx, dy, c, legs, table):  # type: ignore[no-untyped-def]
    """When, up to `nested_s`, the disc is nearest to letting go of a ball within reach at first.

    The square of the radius grows with that of the time, while the centre moves at about the
    velocity of the start: what is over is a parabola. Slow sides are not counted.
    """
    toward = dx * c.vx_m_s + dy * c.vy_m_s
    run = TABLE_STEP_M / table.time_s[side_of(dx, legs), 1]
    over = run * run - c.vx_m_s * c.vx_m_s - c.vy_m_s * c.vy_m_s
    if toward >= 0.0:
        return 0.0
    return min(c.nested_s, -toward / over) if over > 0.0 else c.nested_s


@kernel
def lets_go(dx, dy, c, legs, table):  # type: ignore[no-untyped-def]
    """The last look before `nested_s` at which the disc does not hold the ball; 0: at none.

    A ball within reach from both ends of a straight drift is within reach from all of it.
    """
    ex, ey = dx - c.vx_m_s * c.nested_drift_s, dy - c.vy_m_s * c.nested_drift_s
    reach = table.reach_m[side_of(dx, legs)]
    if dx * ex < 0.0:  # it changes sides
        reach = min(table.reach_m[FOREHAND_SIDE], table.reach_m[BACKHAND_SIDE])
    if max(dx * dx + dy * dy, ex * ex + ey * ey) <= reach * reach:
        return 0.0
    last = 0.0
    for look in range(1, LOOKS):
        between = c.nested_s * look / LOOKS
        if lateness(between, dx, dy, c, legs, table)[0] > 0.0:
            last = between
    return last


@kernel
def arrival(dx, dy, c, legs, table):  # type: ignore[no-untyped-def]
    """Earliest time after the reaction at which a ball at (dx, dy) from the start can be met.

    From rest it is the running time. With a velocity, the disc's centre drifts; the moment is the
    last at which the disc begins to hold the ball, so a place that is only passed does not count.
    From the time at which the disc's edge outruns its centre, `nested_s`, it holds all that it
    held.
    """
    at_start = running_time(dx, dy, legs, table)[0]
    if c.vx_m_s == 0.0 and c.vy_m_s == 0.0:
        return at_start
    s = max(at_start, c.nested_s)
    late, slope = lateness(s, dx, dy, c, legs, table)
    low, high = 0.0, math.inf
    if at_start == 0.0 and late <= 0.0:
        low = lets_go(dx, dy, c, legs, table)
        if low == 0.0:
            return 0.0
    # Newton's steps, kept between the bounds that are known so far.
    for _ in range(60):
        if late > 0.0:
            low = s
        else:
            high = s
        if abs(late) < ARRIVAL_TOLERANCE_S or high - low < ARRIVAL_TOLERANCE_S:
            break
        following = s - late / slope if slope < 0.0 else low
        if not low < following < high:
            following = 0.5 * (low + high) if high < math.inf else 2.0 * s
        s = following
        late, slope = lateness(s, dx, dy, c, legs, table)
    return s


@kernel
def arrival_near(guess, dx, dy, c, legs, table):  # type: ignore[no-untyped-def]
    """`arrival` by a few Newton steps from a good guess; where they leave its range, in full.

    Past `nested_s` the lateness only falls: a root there is the only one.
    """
    s = max(guess, c.nested_s)
    for _ in range(NEAR_STEPS):
        late, slope = lateness(s, dx, dy, c, legs, table)
        if abs(late) < ARRIVAL_TOLERANCE_S:
            return s
        s -= late / slope
        if not s > c.nested_s:
            break
    return arrival(dx, dy, c, legs, table)


@kernel
def inside(y, legs):  # type: ignore[no-untyped-def]
    """How far a place `y` is inside the court: 0 where nobody comes in to, 1 at the net."""
    if legs.comes_in_within_m <= 0.0:
        return 0.0
    return smooth((legs.comes_in_within_m - abs(y)) / COMES_IN_OVER_M)


@kernel
def follow_through(spot_y, legs):  # type: ignore[no-untyped-def]
    """Seconds of the follow-through: a player whose spot is at the net runs through the stroke."""
    return legs.follow_through_s + inside(spot_y, legs) * (
        legs.run_through_s - legs.follow_through_s
    )


@kernel
def effort_for(length, time, asked, rush, legs):  # type: ignore[no-untyped-def]
    """Effort of a recovery: the one asked for; where none is (0), the usual one, more where it
    would not do, up to the hurried one. By `rush`, 0 to 1, both grow to a sprint."""
    if asked > 0.0:
        return asked + rush * (1.0 - asked)
    hurried = legs.hurried_effort + rush * (1.0 - legs.hurried_effort)
    drift = legs.tau_s * (1.0 - exp(-time / legs.tau_s))
    wanted = length / (legs.top_speed_m_s * (time - drift))
    return max(legs.recovery_effort, min(hurried, wanted))


@kernel
def brake_to_be_ready(time, top, ready, legs):  # type: ignore[no-untyped-def]
    """When to brake so as to run at the speed `ready` at `time`: `time` itself if never faster.

    The root of a concave rising function, by Newton steps from above.
    """
    turn = time
    for _ in range(20):
        fade = exp(-turn / legs.tau_s)
        over = top * (1.0 - fade) - legs.braking_m_s2 * (time - turn) - ready
        if over <= 1e-9:
            break
        turn -= over / (top * fade / legs.tau_s + legs.braking_m_s2)
    return max(turn, 0.0)


@kernel
def plan_run(length, time, asked, rush, legs):  # type: ignore[no-untyped-def]
    """The run of a recovery of `length` that has `time`: (speed it tends to, moment of braking).

    It speeds up at an effort of the full sprint and brakes at the legs' braking so as to stop at
    the end, or earlier so as to be at the ready speed when the time is over, with a share of the
    mean speed that the way asks for on top. It stops at the end if the distance run and the
    distance to brake make `length`: the root of a rising function, by Newton steps kept inside its
    bounds.
    """
    if length <= 0.0 or time <= 0.0:
        return 0.0, 0.0
    top = legs.top_speed_m_s * effort_for(length, time, asked, rush, legs)
    tau, brake = legs.tau_s, legs.braking_m_s2
    ready = legs.ready_speed_m_s + legs.run_on_share * length / time
    low, high = 0.0, brake_to_be_ready(time, top, ready, legs)
    latest = turn = high
    for _ in range(60):
        fade = exp(-turn / tau)
        speed = top * (1.0 - fade)
        over = top * turn - tau * speed + 0.5 * speed * speed / brake - length
        if abs(over) < 1e-12 or (over < 0.0 and turn == latest):
            break
        if over > 0.0:
            high = turn
        else:
            low = turn
        turn -= over / (speed * (1.0 + top * fade / (tau * brake)))
        if not low < turn < high:
            turn = 0.5 * (low + high)
    return top, turn


@kernel
def run_after(time, top, turn, legs):  # type: ignore[no-untyped-def]
    """Distance and speed after `time` of a run planned by `plan_run`."""
    pushing = max(min(time, turn), 0.0)
    speed = top * (1.0 - exp(-pushing / legs.tau_s))
    distance = top * pushing - legs.tau_s * speed
    after = min(max(time - turn, 0.0), speed / legs.braking_m_s2)
    lost = legs.braking_m_s2 * after
    return distance + after * (speed - 0.5 * lost), speed - lost


@kernel
def recover_one(x, y, vx, vy, spot_x, spot_y, effort, time, in_all, legs):  # type: ignore[no-untyped-def]
    """Place, velocity and metres run, `time` after the own contact, of a recovery toward a spot.

    It has `in_all` seconds until the opponent's contact, and runs at `effort`, a share of the full
    sprint (0: the legs' own). The velocity at the start fades as
    exp(-t/tau) and carries the body on; after the follow-through a run is laid over it, from where
    the velocity will have carried the body by the opponent's contact; to the net it is a sprint.
    The metres are those out with the follow-through and from there on straight.
    """
    fade = exp(-time / legs.tau_s)
    carried = legs.tau_s * (1.0 - exp(-in_all / legs.tau_s))
    from_x, from_y = x + vx * carried, y + vy * carried
    dx, dy = spot_x - from_x, spot_y - from_y
    length = math.sqrt(dx * dx + dy * dy)
    through = follow_through(spot_y, legs)
    top, turn = plan_run(length, in_all - through, effort, inside(spot_y, legs), legs)
    run, speed = run_after(time - through, top, turn, legs)
    ux = dx / length if length > 0.0 else 0.0
    uy = dy / length if length > 0.0 else 0.0
    drift = legs.tau_s * (1.0 - fade)
    moved_x, moved_y = vx * drift + ux * run, vy * drift + uy * run
    out = min(drift, legs.tau_s * (1.0 - exp(-through / legs.tau_s)))
    back_x, back_y = moved_x - vx * out, moved_y - vy * out
    metres = math.sqrt(vx * vx + vy * vy) * out + math.sqrt(back_x * back_x + back_y * back_y)
    return (x + moved_x, y + moved_y, vx * fade + ux * speed, vy * fade + uy * speed, metres)


@kernel
def recover(bodies, spots, efforts, times, in_all, legs, out, metres):  # type: ignore[no-untyped-def]
    """Recover each body (BODY records) toward its spot, shape (n, 2): see `recovered`."""
    for i in range(bodies.shape[0]):
        b, to_x, to_y = bodies[i], spots[i, 0], spots[i, 1]
        x, y, vx, vy, run = recover_one(
            b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, to_x, to_y, efforts[i], times[i], in_all[i], legs[0]
        )
        out[i].x_m, out[i].y_m, out[i].vx_m_s, out[i].vy_m_s = x, y, vx, vy
        metres[i] = run


def recovered(
    bodies: np.ndarray,
    spots: np.ndarray,
    in_all_s: np.ndarray,
    legs: np.ndarray,
    after_s: np.ndarray | None = None,
    effort: np.ndarray | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Bodies after recovering toward spots (n, 2), and the metres run (n,).

    A recovery has `in_all_s` (n,) from the own to the opponent's contact and is planned for that
    time; it is looked at `after_s` of it, at its end if that is not given. `effort` (n,) is the
    share of the full sprint that is run at; the legs' own where it is 0 or not given.
    """
    out, metres = np.empty_like(bodies), np.empty(len(bodies))
    after = in_all_s if after_s is None else after_s
    efforts = np.zeros(len(bodies)) if effort is None else effort
    recover(bodies, spots, efforts, after, in_all_s, legs, out, metres)
    return out, metres
