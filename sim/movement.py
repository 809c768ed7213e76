"""Compiled movement: arrival of the reachable disc, and recovery that slows to stop at its spot."""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.legs import TABLE_NODES, TABLE_STEP


@kernel
def running_time(times, row, distance):  # type: ignore[no-untyped-def]
    """Time to run `distance` from rest (see Legs.times); nothing to run takes no time."""
    if distance <= 0.0:
        return 0.0
    place = math.sqrt(distance) / TABLE_STEP
    node = min(int(place), TABLE_NODES - 2)
    share = place - node
    return times[row, node] + share * (times[row, node + 1] - times[row, node])


@kernel
def run_needed(dx, dy, reach_forehand, reach_backhand, hand, side_speed, back_speed):  # type: ignore[no-untyped-def]
    """Metres to run toward a ball at (dx, dy), less the reach of that side, slow sides stretched.

    `side_speed` and `back_speed` are the legs' speeds to the backhand side and backward, as shares.
    """
    backhand = dx * hand < 0.0
    reach = reach_backhand if backhand else reach_forehand
    distance = math.sqrt(dx * dx + dy * dy)
    run = distance - reach
    if side_speed != 1.0 or back_speed != 1.0:
        wide = dx / side_speed if backhand else dx
        deep = dy / back_speed if dy < 0.0 else dy
        run *= math.sqrt(wide * wide + deep * deep) / max(distance, 1e-12)
    return run


@kernel
def lateness(s, dx, dy, vx, vy, reach_f, reach_b, legs, times, row):  # type: ignore[no-untyped-def]
    """Time that the run would need less the time `s` it has, the start drifting with (vx, vy)."""
    drift = legs.tau_s * (1.0 - math.exp(-s / legs.tau_s))
    run = run_needed(
        dx - vx * drift,
        dy - vy * drift,
        reach_f,
        reach_b,
        legs.hand,
        legs.backhand_side_speed,
        legs.backward_speed,
    )
    return running_time(times, row, run) - s


@kernel
def arrival(dx, dy, vx, vy, reach_f, reach_b, legs, times, row):  # type: ignore[no-untyped-def]
    """Earliest time after the reaction at which a ball at (dx, dy) from the start can be met.

    From rest it is the running time. With a velocity, the disc's centre drifts; the moment is the
    last at which the disc begins to hold the ball, so a place that is only passed does not count.
    """
    run = run_needed(
        dx, dy, reach_f, reach_b, legs.hand, legs.backhand_side_speed, legs.backward_speed
    )
    if vx == 0.0 and vy == 0.0:
        return running_time(times, row, run)
    speed = math.sqrt(vx * vx + vy * vy)
    low = legs.tau_s * math.log(1.0 + speed / legs.top_speed_m_s)
    f_low = lateness(low, dx, dy, vx, vy, reach_f, reach_b, legs, times, row)
    high, f_high = low, f_low
    if f_low > 0.0:
        worst = min(legs.backhand_side_speed, legs.backward_speed)
        high = running_time(times, row, max(run, 0.0) + speed * legs.tau_s / worst) + low
        f_high = lateness(high, dx, dy, vx, vy, reach_f, reach_b, legs, times, row)
    else:
        low = 0.0
        f_low = lateness(low, dx, dy, vx, vy, reach_f, reach_b, legs, times, row)
        if f_low <= 0.0:
            return 0.0
    side = 0
    for _ in range(40):
        if f_high >= 0.0 or high - low < 1e-7:
            break
        s = (low * f_high - high * f_low) / (f_high - f_low)
        f = lateness(s, dx, dy, vx, vy, reach_f, reach_b, legs, times, row)
        if abs(f) < 1e-7:
            return s
        if f > 0.0:
            low, f_low = s, f
            if side == 1:
                f_high *= 0.5
            side = 1
        else:
            high, f_high = s, f
            if side == -1:
                f_low *= 0.5
            side = -1
    return high


@kernel
def run_and_stop(length, time, effort, legs):  # type: ignore[no-untyped-def]
    """Distance and speed after `time` of a run of `length` that begins and ends at rest.

    It speeds up at `effort` of the full sprint and brakes at the legs' braking so as to stop at
    the end; the braking begins where both meet (found by bisection).
    """
    top, tau, brake = legs.top_speed_m_s * effort, legs.tau_s, legs.braking_m_s2
    if length <= 0.0 or time <= 0.0:
        return 0.0, 0.0
    low, high = 0.0, length / top + 2.0 * tau + math.sqrt(2.0 * length * tau / top)
    for _ in range(50):
        t = 0.5 * (low + high)
        faded = 1.0 - math.exp(-t / tau)
        speed = top * faded
        if top * (t - tau * faded) + speed * speed / (2.0 * brake) < length:
            low = t
        else:
            high = t
        if t >= time and low > time:
            break
    turn = min(high, time) if low <= time else time
    faded = 1.0 - math.exp(-turn / tau)
    distance, speed = top * (turn - tau * faded), top * faded
    after = min(time - turn, speed / brake)
    return distance + after * (speed - 0.5 * brake * after), speed - brake * after


@kernel
def recover_one(x, y, vx, vy, spot_x, spot_y, time, legs):  # type: ignore[no-untyped-def]
    """Place, velocity and metres run after recovering toward a spot for `time` since own contact.

    The velocity at the start fades as exp(-t/tau) and carries the body on; after the follow-through
    a run that stops at the spot is laid over it.
    """
    fade = math.exp(-time / legs.tau_s)
    from_x, from_y = x + vx * legs.tau_s, y + vy * legs.tau_s
    dx, dy = spot_x - from_x, spot_y - from_y
    length = math.sqrt(dx * dx + dy * dy)
    run, speed = run_and_stop(length, time - legs.follow_through_s, legs.recovery_effort, legs)
    ux = dx / length if length > 0.0 else 0.0
    uy = dy / length if length > 0.0 else 0.0
    drift = legs.tau_s * (1.0 - fade)
    moved_x, moved_y = vx * drift + ux * run, vy * drift + uy * run
    metres = math.sqrt(moved_x * moved_x + moved_y * moved_y)
    return x + moved_x, y + moved_y, vx * fade + ux * speed, vy * fade + uy * speed, metres


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
