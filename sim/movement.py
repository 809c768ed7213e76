"""Compiled movement: arrival of the reachable disc, and recovery that slows to stop at its spot."""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.legs import BACKHAND_SIDE, FOREHAND_SIDE, TABLE_NODES, TABLE_STEP_M

ARRIVAL_TOLERANCE_S, LOOKS = 1e-7, 8
# 32 bits, and unsigned as an index: fewer instructions in the innermost loop of a study.
LAST_NODE, ONE = np.int32(TABLE_NODES - 2), np.uint32(1)


@kernel
def running_time(dx, dy, legs, table):  # type: ignore[no-untyped-def]
    """Time to run from rest to a ball (dx, dy) away, and how that grows per metre of tangent.

    See Legs.times. Slow sides stretch the run that is left after the reach.
    """
    side = BACKHAND_SIDE if dx * legs.hand < 0.0 else FOREHAND_SIDE
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
    node = np.uint32(min(np.int32(place), LAST_NODE))
    before = table.time_s[side, node]
    slope = table.time_s[side, node + ONE] - before
    return before + (place - node) * slope, slope * (1.0 / TABLE_STEP_M)


@kernel
def lateness(s, dx, dy, vx, vy, legs, table):  # type: ignore[no-untyped-def]
    """Time that the run would need less the time `s` it has, the start drifting with (vx, vy)."""
    drift = legs.tau_s * (1.0 - math.exp(-s / legs.tau_s))
    return running_time(dx - vx * drift, dy - vy * drift, legs, table)[0] - s


@kernel
def arrival(dx, dy, vx, vy, legs, table):  # type: ignore[no-untyped-def]
    """Earliest time after the reaction at which a ball at (dx, dy) from the start can be met.

    From rest it is the running time. With a velocity, the disc's centre drifts; the moment is the
    last at which the disc begins to hold the ball, so a place that is only passed does not count.
    From the time at which the disc's edge outruns its centre, `nested`, it holds all that it held.
    """
    at_start = running_time(dx, dy, legs, table)[0]
    if vx == 0.0 and vy == 0.0:
        return at_start
    nested = legs.tau_s * math.log(1.0 + math.sqrt(vx * vx + vy * vy) / legs.top_speed_m_s)
    s = max(at_start, nested)
    late = lateness(s, dx, dy, vx, vy, legs, table)
    low, high = 0.0, math.inf
    if at_start == 0.0 and late <= 0.0:
        for look in range(1, LOOKS):
            between = nested * look / LOOKS
            if lateness(between, dx, dy, vx, vy, legs, table) > 0.0:
                low = between  # the disc lets go of the ball for a while
        if low == 0.0:
            return 0.0
    # The first step repeats the run from where the disc has drifted; then secants, kept between
    # the bounds that are known so far.
    following = s + late
    for _ in range(60):
        if late > 0.0:
            low = s
        else:
            high = s
        if abs(late) < ARRIVAL_TOLERANCE_S or high - low < ARRIVAL_TOLERANCE_S:
            break
        if not low < following < high:
            following = 0.5 * (low + high) if high < math.inf else 2.0 * s
        before, late_before, s = s, late, following
        late = lateness(s, dx, dy, vx, vy, legs, table)
        following = s - late * (s - before) / (late - late_before) if late != late_before else s
    return s


@kernel
def ready_turn(time, top, legs):  # type: ignore[no-untyped-def]
    """When braking must begin to be at the ready speed at `time`: `time` if never faster."""
    tau, brake, turn = legs.tau_s, legs.braking_m_s2, time
    for _ in range(20):
        fade = math.exp(-turn / tau)
        over = top * (1.0 - fade) - brake * (time - turn) - legs.ready_speed_m_s
        if over <= 1e-9:
            break
        turn -= over / (top * fade / tau + brake)
    return max(turn, 0.0)


@kernel
def effort_for(length, time, legs):  # type: ignore[no-untyped-def]
    """Effort of a recovery: the usual one, more where it would not do, up to the hurried one."""
    if time <= 0.0:
        return legs.recovery_effort
    drift = legs.tau_s * (1.0 - math.exp(-time / legs.tau_s))
    wanted = length / (legs.top_speed_m_s * (time - drift))
    return max(legs.recovery_effort, min(legs.hurried_effort, wanted))


@kernel
def run_and_stop(length, time, effort, legs):  # type: ignore[no-untyped-def]
    """Distance and speed after `time` of a run of `length` that begins and ends at rest.

    It speeds up at `effort` of the full sprint and brakes at the legs' braking so as to stop at
    the end. The braking begins where the distance run and the distance to brake make `length`:
    the root of a rising function, by Newton steps kept inside its bounds. Where that is later, the
    braking begins in time to be at the ready speed when the time is over.
    """
    if length <= 0.0 or time <= 0.0:
        return 0.0, 0.0
    top, tau, brake = legs.top_speed_m_s * effort, legs.tau_s, legs.braking_m_s2
    low, high = 0.0, ready_turn(time, top, legs)
    time_to_turn = turn = high
    distance, speed = 0.0, 0.0
    for _ in range(60):
        fade = math.exp(-turn / tau)
        speed = top * (1.0 - fade)
        distance = top * turn - tau * speed
        over = distance + 0.5 * speed * speed / brake - length
        if abs(over) < 1e-12 or (over < 0.0 and turn == time_to_turn):
            break
        if over > 0.0:
            high = turn
        else:
            low = turn
        turn -= over / (speed * (1.0 + top * fade / (tau * brake)))
        if not low < turn < high:
            turn = 0.5 * (low + high)
    after = min(time - turn, speed / brake)
    return distance + after * (speed - 0.5 * brake * after), speed - brake * after


@kernel
def recover_one(x, y, vx, vy, spot_x, spot_y, time, legs):  # type: ignore[no-untyped-def]
    """Place, velocity and metres run after recovering toward a spot for `time` since own contact.

    The velocity at the start fades as exp(-t/tau) and carries the body on; after the follow-through
    a run that stops at the spot is laid over it. The metres are those out with the follow-through
    and from there on straight.
    """
    fade = math.exp(-time / legs.tau_s)
    from_x, from_y = x + vx * legs.tau_s, y + vy * legs.tau_s
    dx, dy = spot_x - from_x, spot_y - from_y
    length = math.sqrt(dx * dx + dy * dy)
    left = time - legs.follow_through_s
    run, speed = run_and_stop(length, left, effort_for(length, left, legs), legs)
    ux = dx / length if length > 0.0 else 0.0
    uy = dy / length if length > 0.0 else 0.0
    drift = legs.tau_s * (1.0 - fade)
    moved_x, moved_y = vx * drift + ux * run, vy * drift + uy * run
    out = min(drift, legs.tau_s * (1.0 - math.exp(-legs.follow_through_s / legs.tau_s)))
    back_x, back_y = moved_x - vx * out, moved_y - vy * out
    metres = math.sqrt(vx * vx + vy * vy) * out + math.sqrt(back_x * back_x + back_y * back_y)
    return (x + moved_x, y + moved_y, vx * fade + ux * speed, vy * fade + uy * speed, metres)


@kernel
def recover(bodies, spots, times, legs, out, metres):  # type: ignore[no-untyped-def]
    """Recover each body (BODY records) toward its spot, shape (n, 2), for times[i] seconds."""
    for i in range(bodies.shape[0]):
        b = bodies[i]
        x, y, vx, vy, run = recover_one(
            b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, spots[i, 0], spots[i, 1], times[i], legs[0]
        )
        out[i].x_m, out[i].y_m, out[i].vx_m_s, out[i].vy_m_s = x, y, vx, vy
        metres[i] = run


def recovered(
    bodies: np.ndarray, spots: np.ndarray, times: np.ndarray, legs: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Bodies after recovering, and the metres run; see `recover`."""
    out, metres = np.empty_like(bodies), np.empty(len(bodies))
    recover(bodies, spots, times, legs, out, metres)
    return out, metres
