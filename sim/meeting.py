"""Meeting and grading: where a receiver can meet a ball, with how much time, and how well.

A ball is a path after its first bounce; a receiver is a body with legs. The time to spare is the
largest, over the playable part of the path, of the ball's time less the earliest arrival of the
reachable disc plus full reach. Between two samples the path is taken as straight.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.movement import arrival, run_needed
from sim.records import (
    BACKHAND,
    FOREHAND,
    IN,
    MEETING,
    MISSED,
    PATH_POINTS,
    SET,
    STRETCHED,
    VZ,
    T,
    X,
    Y,
    Z,
)

EARLIEST, NEAREST, MOST_TIME, BALANCED = 0, 1, 2, 3
RULES = ("earliest", "nearest", "most-time", "balanced")
WAIT_COST_PER_S = 0.25
COMFORT_FOR_SET = 0.5
NEVER = -1e9
LOG_2 = math.log(2.0)


@kernel
def comfort_of(z, vz, legs):  # type: ignore[no-untyped-def]
    """Comfort of a contact height from 0 to 1, smooth, less on a rising ball; below 0: not playable."""
    if z < legs.playable_low_m or z > legs.playable_high_m:
        return -1.0
    off = 0.0
    if z < legs.best_low_m:
        off = (legs.best_low_m - z) / legs.fade_low_m
    elif z > legs.best_high_m:
        off = (z - legs.best_high_m) / legs.fade_high_m
    comfort = math.exp(-LOG_2 * off * off)
    if vz > 0.0:
        comfort *= 1.0 - legs.rise_cost * vz / (vz + 2.0)
    return comfort


@kernel
def read_path(path, points, legs, comfort):  # type: ignore[no-untyped-def]
    """Fill the comfort of each sample; return the first and last playable sample (first > last: none)."""
    first, last = points, -1
    for k in range(points):
        comfort[k] = comfort_of(path[k, Z], path[k, VZ], legs)
        if comfort[k] >= 0.0:
            first = min(first, k)
            last = k
    return first, last


@kernel
def react(vx, vy, legs):  # type: ignore[no-untyped-def]
    """Reaction time and the share of the split step lost at the velocity left at the strike."""
    v2 = vx * vx + vy * vy
    lost = v2 / (v2 + legs.split_half_speed_m_s * legs.split_half_speed_m_s)
    return legs.reaction_s + legs.split_gain_s * lost, lost


@kernel
def spare_at(path, place, comfort, x, y, vx, vy, wait, reach_f, reach_b, legs, times, row):  # type: ignore[no-untyped-def]
    """Time to spare at the fractional sample `place`; NEVER where the ball is not playable."""
    k = int(place)
    share = place - k
    if comfort[k] < 0.0:
        return NEVER
    t, px, py = path[k, T], path[k, X], path[k, Y]
    if share > 0.0:
        if comfort[k + 1] < 0.0:
            return NEVER
        t += share * (path[k + 1, T] - t)
        px += share * (path[k + 1, X] - px)
        py += share * (path[k + 1, Y] - py)
    need = arrival(px - x, py - y, vx, vy, reach_f, reach_b, legs, times, row)
    return t - wait - need


@kernel
def most_spare(path, first, last, comfort, x, y, vx, vy, wait, legs, times):  # type: ignore[no-untyped-def]
    """Largest time to spare at full reach and where on the path: coarse steps, then halving ones."""
    best, where = NEVER, float(first)
    for k in range(first, last + 1, 4):
        value = spare_at(
            path,
            float(k),
            comfort,
            x,
            y,
            vx,
            vy,
            wait,
            legs.forehand_reach_m,
            legs.backhand_reach_m,
            legs,
            times,
            0,
        )
        if value > best:
            best, where = value, float(k)
    step = 2.0
    while step > 0.1:
        centre = where
        for side in (-1.0, 1.0):
            place = centre + side * step
            if first <= place <= last:
                value = spare_at(
                    path,
                    place,
                    comfort,
                    x,
                    y,
                    vx,
                    vy,
                    wait,
                    legs.forehand_reach_m,
                    legs.backhand_reach_m,
                    legs,
                    times,
                    0,
                )
                if value > best:
                    best, where = value, place
                    break
        step *= 0.5
    return best, where


@kernel
def set_spare_at(path, k, comfort, x, y, vx, vy, wait, legs, times):  # type: ignore[no-untyped-def]
    """Time to spare for a settled stroke at comfortable reach at sample `k`."""
    reach = legs.comfortable_reach_m
    return spare_at(path, float(k), comfort, x, y, vx, vy, wait, reach, reach, legs, times, 1)


@kernel
def can_be_set(path, first, last, start, comfort, x, y, vx, vy, wait, legs, times):  # type: ignore[no-untyped-def]
    """Whether a comfortable ball can be met settled; looks outward from sample `start`."""
    for off in range(0, last - first + 1, 2):
        for side in (-1, 1):
            k = start + side * off
            if (
                first <= k <= last
                and comfort[k] >= COMFORT_FOR_SET
                and set_spare_at(path, k, comfort, x, y, vx, vy, wait, legs, times) >= 0.0
            ):
                return True
    return False


@kernel
def appraise(path, first, last, comfort, x, y, vx, vy, legs, times):  # type: ignore[no-untyped-def]
    """Time to spare, grade and best fractional sample for one ball and one standing place."""
    if first > last:
        return NEVER, MISSED, 0.0
    wait, _ = react(vx, vy, legs)
    faded = math.exp(-wait / legs.tau_s) if vx != 0.0 or vy != 0.0 else 0.0
    drift = legs.tau_s * (1.0 - faded)
    sx, sy, svx, svy = x + vx * drift, y + vy * drift, vx * faded, vy * faded
    spare, where = most_spare(path, first, last, comfort, sx, sy, svx, svy, wait, legs, times)
    if spare < 0.0:
        return spare, MISSED, where
    if can_be_set(path, first, last, int(where), comfort, sx, sy, svx, svy, wait, legs, times):
        return spare, SET, where
    return spare, STRETCHED, where


@kernel
def appraise_all(balls, paths, bodies, shared, legs, times, spare, grade):  # type: ignore[no-untyped-def]
    """Grade every ball for every standing place into spare[i, j] and grade[i, j].

    `bodies` has shape (places,) when `shared` (all balls meet the same places) or (balls, places).
    A ball that did not land in has NaN and MISSED.
    """
    comfort = np.empty(PATH_POINTS)
    for i in range(balls.shape[0]):
        if balls[i].outcome != IN:
            spare[i, :] = math.nan
            grade[i, :] = MISSED
            continue
        first, last = read_path(paths[i], balls[i].points, legs[0], comfort)
        for j in range(bodies.shape[1]):
            b = bodies[0, j] if shared else bodies[i, j]
            spare[i, j], grade[i, j], _ = appraise(
                paths[i], first, last, comfort, b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, legs[0], times
            )


@kernel
def quality_of(comfort, set_spare, legs):  # type: ignore[no-untyped-def]
    """Quality of a reply from 0 to 1: comfort of the height times a smooth share of the time to spare."""
    late = (set_spare - legs.ease_centre_s) / legs.ease_width_s
    return comfort / (1.0 + math.exp(-late))


@kernel
def choose_sample(path, first, last, where, comfort, x, y, vx, vy, wait, legs, times, rule):  # type: ignore[no-untyped-def]
    """The sample at which the ball is played, by the rule, among those reached in time."""
    best, chosen = NEVER, int(where + 0.5)
    for k in range(first, last + 1, 2):
        spare = spare_at(
            path,
            float(k),
            comfort,
            x,
            y,
            vx,
            vy,
            wait,
            legs.forehand_reach_m,
            legs.backhand_reach_m,
            legs,
            times,
            0,
        )
        if spare < 0.0:
            continue
        if rule == EARLIEST:
            return k
        if rule == NEAREST:
            score = -run_needed(path[k, X] - x, path[k, Y] - y, 0.0, 0.0, legs)
        elif rule == MOST_TIME:
            score = spare
        else:
            eased = set_spare_at(path, k, comfort, x, y, vx, vy, wait, legs, times)
            score = quality_of(comfort[k], eased, legs)
            score -= WAIT_COST_PER_S * (path[k, T] - path[first, T])
        if score > best:
            best, chosen = score, k
    return chosen


@kernel
def meet_one(ball, path, comfort, b, legs, times, rule, out):  # type: ignore[no-untyped-def]
    """Meet one ball: fill the MEETING record `out`."""
    first, last = read_path(path, ball.points, legs, comfort)
    spare, grade, where = appraise(
        path, first, last, comfort, b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, legs, times
    )
    wait, lost = react(b.vx_m_s, b.vy_m_s, legs)
    faded = math.exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    x, y = b.x_m + b.vx_m_s * drift, b.y_m + b.vy_m_s * drift
    vx, vy = b.vx_m_s * faded, b.vy_m_s * faded
    k = int(where + 0.5)
    if grade != MISSED:
        k = choose_sample(path, first, last, where, comfort, x, y, vx, vy, wait, legs, times, rule)
    eased = NEVER
    if first <= last:
        eased = set_spare_at(path, k, comfort, x, y, vx, vy, wait, legs, times)
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = spare, eased, grade
    out.time_s, out.ball_x_m, out.ball_y_m, out.ball_z_m = (
        path[k, T],
        path[k, X],
        path[k, Y],
        path[k, Z],
    )
    out.quality = quality_of(max(comfort[k], 0.0), eased, legs) if grade != MISSED else 0.0
    out.split_delay_s = legs.split_gain_s * lost
    arrive_at_ball(path[k, T] - wait, x, y, vx, vy, eased, legs, out)
    mx, my = out.body_x_m - b.x_m, out.body_y_m - b.y_m
    out.run_m = math.sqrt(mx * mx + my * my)


@kernel
def arrive_at_ball(time, x, y, vx, vy, eased, legs, out):  # type: ignore[no-untyped-def]
    """Place and velocity of the body at the meeting point after `time` of chasing.

    The body stops at comfortable reach where the time allows, else as near as the disc lets it;
    a stroke with no time to settle is played on the run.
    """
    faded = math.exp(-max(time, 0.0) / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    cx, cy = x + vx * drift, y + vy * drift
    dx, dy = out.ball_x_m - cx, out.ball_y_m - cy
    distance = math.sqrt(dx * dx + dy * dy)
    run = max(
        0.0, min(distance - legs.comfortable_reach_m, legs.top_speed_m_s * (max(time, 0.0) - drift))
    )
    ux = dx / distance if distance > 0.0 else 0.0
    uy = dy / distance if distance > 0.0 else 0.0
    hurry = 1.0 / (1.0 + math.exp((eased - legs.ease_centre_s) / legs.ease_width_s))
    speed = min(legs.top_speed_m_s * (1.0 - faded), math.sqrt(2.0 * legs.braking_m_s2 * run))
    out.body_x_m, out.body_y_m = cx + ux * run, cy + uy * run
    out.body_vx_m_s, out.body_vy_m_s = ux * speed * hurry, uy * speed * hurry
    out.wing = FOREHAND if (out.ball_x_m - out.body_x_m) * legs.hand >= 0.0 else BACKHAND


@kernel
def meet(balls, paths, bodies, legs, times, rule, out):  # type: ignore[no-untyped-def]
    """Meet ball i with body i; balls that did not land in leave a MISSED record of NaN times."""
    comfort = np.empty(PATH_POINTS)
    for i in range(balls.shape[0]):
        if balls[i].outcome == IN:
            meet_one(balls[i], paths[i], comfort, bodies[i], legs[0], times, rule, out[i])
        else:
            out[i].grade = MISSED
            out[i].time_to_spare_s = math.nan


def meetings(
    balls: np.ndarray,
    paths: np.ndarray,
    bodies: np.ndarray,
    legs: np.ndarray,
    times: np.ndarray,
    rule: int = BALANCED,
) -> np.ndarray:
    """MEETING records of balls (n,) with bodies (n,); see `meet`."""
    out = np.zeros(len(balls), MEETING)
    meet(balls, paths, bodies, legs, times, rule, out)
    return out


def appraisals(
    balls: np.ndarray, paths: np.ndarray, bodies: np.ndarray, legs: np.ndarray, times: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Time to spare (s) and grade, shape (balls, places).

    `bodies` are BODY records of shape (places,), or (balls, places) where they differ by ball.
    """
    shared = bodies.ndim == 1
    places = bodies[None, :] if shared else bodies
    spare = np.empty((len(balls), places.shape[1]))
    grade = np.empty(spare.shape, np.int64)
    appraise_all(balls, paths, places, shared, legs, times, spare, grade)
    return spare, grade
