"""Meeting and grading: where a receiver can meet a ball, with how much time, and how well.

A ball is a path after its first bounce; a receiver is a body with legs. The time to spare is the
largest, over the playable part of the path, of the ball's time less the earliest arrival of the
reachable disc plus full reach. Between two samples the path is taken as straight.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.legs import ARRIVE, SETTLE
from sim.movement import arrival, lateness, run_needed, running_time
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
NEVER, ENDLESS = -1e9, 1e9
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
def intervals(comfort, points, least, out):  # type: ignore[no-untyped-def]
    """The runs of samples with at least that comfort: out[0] to out[1], out[2] to out[3].

    A ball rises and falls once, so there are two at most; an empty run has its end before its
    start. (A third, from a path so long that it was cut, would be left out.)
    """
    out[0], out[1], out[2], out[3] = 0, -1, 0, -1
    found = -1
    inside = False
    for k in range(points):
        good = comfort[k] >= least
        if good and not inside:
            found += 1
            if found > 1:
                return
            out[2 * found] = k
        if good:
            out[2 * found + 1] = k
        inside = good


@kernel
def read_path(path, points, legs, comfort, playable, comfortable):  # type: ignore[no-untyped-def]
    """Fill the comfort of each sample and the runs of playable and of comfortable samples."""
    for k in range(points):
        comfort[k] = comfort_of(path[k, Z], path[k, VZ], legs)
    intervals(comfort, points, 0.0, playable)
    intervals(comfort, points, COMFORT_FOR_SET, comfortable)


@kernel
def react(vx, vy, legs):  # type: ignore[no-untyped-def]
    """Reaction time and the share of the split step lost at the velocity left at the strike."""
    v2 = vx * vx + vy * vy
    lost = v2 / (v2 + legs.split_half_speed_m_s * legs.split_half_speed_m_s)
    return legs.reaction_s + legs.split_gain_s * lost, lost


@kernel
def spare_at(path, k, x, y, motion, wait, reach_f, reach_b, legs, times, row):  # type: ignore[no-untyped-def]
    """Time to spare at sample `k` of the path; `motion` is None at rest, else the velocity.

    None is a type of its own to the compiler: the kernel for bodies at rest, the hot one of a
    study, is made without the code for moving ones and runs three times as fast.
    """
    dx, dy, left = path[k, X] - x, path[k, Y] - y, path[k, T] - wait
    if motion is not None:
        return left - arrival(dx, dy, motion[0], motion[1], reach_f, reach_b, legs, times, row)
    run = run_needed(
        dx, dy, reach_f, reach_b, legs.hand, legs.backhand_side_speed, legs.backward_speed
    )
    return left - running_time(times, row, run)


@kernel
def most_spare(path, runs, x, y, motion, wait, row, enough, legs, times):  # type: ignore[no-untyped-def]
    """Largest time to spare over the runs of samples, and where: (seconds, sample).

    `row` ARRIVE counts full reach, SETTLE comfortable reach and a settled stroke. Along a run the
    time to spare rises and then falls: every fourth sample is tried, then the samples around the
    best, then a parabola gives the top between them. It stops early at a value of `enough`.
    """
    reach_f = legs.forehand_reach_m if row == ARRIVE else legs.comfortable_reach_m
    reach_b = legs.backhand_reach_m if row == ARRIVE else legs.comfortable_reach_m
    best, where, top = NEVER, 0, NEVER
    for run in range(2):
        first, last = runs[2 * run], runs[2 * run + 1]
        near, peak = first, NEVER
        for k in range(first, last + 1, 4):
            value = spare_at(path, k, x, y, motion, wait, reach_f, reach_b, legs, times, row)
            if value > peak:
                near, peak = k, value
                if peak >= enough:
                    return peak, near
        peak, before, after, latest = NEVER, NEVER, NEVER, NEVER
        low, high = max(first, near - 4), min(last, near + 4)
        chosen = near
        for k in range(low, high + 1):
            value = spare_at(path, k, x, y, motion, wait, reach_f, reach_b, legs, times, row)
            if value > peak:
                chosen, peak, before, after = k, value, latest, NEVER
            elif k == chosen + 1:
                after = value
            latest = value
        if peak > best:
            best, where, top = peak, chosen, peak
            if before > NEVER and after > NEVER and before + after < 2.0 * peak:
                top = peak + 0.125 * (after - before) ** 2 / (2.0 * peak - before - after)
    return top, where


@kernel
def appraise(path, playable, comfortable, x, y, motion, wait, legs, times):  # type: ignore[no-untyped-def]
    """One ball, one place after the reaction: (time to spare, sample, whether it can be set)."""
    spare, where = most_spare(path, playable, x, y, motion, wait, ARRIVE, ENDLESS, legs, times)
    if spare < 0.0:
        return spare, where, MISSED
    eased, _ = most_spare(path, comfortable, x, y, motion, wait, SETTLE, 0.0, legs, times)
    return spare, where, SET if eased >= 0.0 else STRETCHED


@kernel
def after_reaction(x, y, vx, vy, wait, legs):  # type: ignore[no-untyped-def]
    """Place and velocity when the reaction ends: the velocity fades as exp(-t/tau)."""
    faded = math.exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    return x + vx * drift, y + vy * drift, vx * faded, vy * faded


@kernel
def appraise_all(balls, paths, x, y, legs, times, spare, grade):  # type: ignore[no-untyped-def]
    """Grade every ball for every body at rest into spare[i, j] and grade[i, j].

    The places `x`, `y` have shape (1, places), the same for all balls, or (balls, places). A ball
    that did not land in has NaN and MISSED.
    """
    comfort = np.empty(PATH_POINTS)
    playable, comfortable = np.empty(4, np.int64), np.empty(4, np.int64)
    for i in range(balls.shape[0]):
        if balls[i].outcome != IN:
            spare[i, :] = math.nan
            grade[i, :] = MISSED
            continue
        path, own = paths[i], i if x.shape[0] > 1 else 0
        read_path(path, balls[i].points, legs[0], comfort, playable, comfortable)
        for j in range(x.shape[1]):
            spare[i, j], _, grade[i, j] = appraise(
                path,
                playable,
                comfortable,
                x[own, j],
                y[own, j],
                None,
                legs[0].reaction_s,
                legs[0],
                times,
            )


@kernel
def quality_of(comfort, set_spare, legs):  # type: ignore[no-untyped-def]
    """Quality of a reply from 0 to 1: comfort of the height times a smooth share of the time to spare."""
    late = (set_spare - legs.ease_centre_s) / legs.ease_width_s
    return comfort / (1.0 + math.exp(-late))


@kernel
def choose_sample(path, playable, where, comfort, x, y, vx, vy, wait, legs, times, rule):  # type: ignore[no-untyped-def]
    """The sample at which the ball is played, by the rule, among those reached in time."""
    best, chosen = NEVER, where
    reach_f, reach_b, near = legs.forehand_reach_m, legs.backhand_reach_m, legs.comfortable_reach_m
    for k in range(playable[0], max(playable[1], playable[3]) + 1, 2):
        dx, dy, left = path[k, X] - x, path[k, Y] - y, path[k, T] - wait
        if comfort[k] < 0.0 or left < 0.0:
            continue
        if lateness(left, dx, dy, vx, vy, reach_f, reach_b, legs, times, ARRIVE) > 0.0:
            continue
        if rule == EARLIEST:
            score = -path[k, T]
        elif rule == NEAREST:
            score = -math.sqrt(dx * dx + dy * dy)
        elif rule == MOST_TIME:
            score = -abs(k - where)
        else:
            need = arrival(dx, dy, vx, vy, near, near, legs, times, SETTLE)
            score = quality_of(comfort[k], left - need, legs) - WAIT_COST_PER_S * path[k, T]
        if score > best:
            best, chosen = score, k
    return chosen


@kernel
def meet_one(ball, path, comfort, playable, comfortable, b, legs, times, rule, out):  # type: ignore[no-untyped-def]
    """Meet one ball: fill the MEETING record `out`."""
    read_path(path, ball.points, legs, comfort, playable, comfortable)
    wait, lost = react(b.vx_m_s, b.vy_m_s, legs)
    x, y, vx, vy = after_reaction(b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, wait, legs)
    if vx == 0.0 and vy == 0.0:
        spare, k, grade = appraise(path, playable, comfortable, x, y, None, wait, legs, times)
    else:
        spare, k, grade = appraise(path, playable, comfortable, x, y, (vx, vy), wait, legs, times)
    if spare >= 0.0:
        k = choose_sample(path, playable, k, comfort, x, y, vx, vy, wait, legs, times, rule)
    near = legs.comfortable_reach_m
    dx, dy, left = path[k, X] - x, path[k, Y] - y, path[k, T] - wait
    eased = left - arrival(dx, dy, vx, vy, near, near, legs, times, SETTLE)
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = spare, eased, grade
    out.time_s = path[k, T]
    out.ball_x_m, out.ball_y_m, out.ball_z_m = path[k, X], path[k, Y], path[k, Z]
    out.quality = quality_of(max(comfort[k], 0.0), eased, legs) if spare >= 0.0 else 0.0
    out.split_delay_s = legs.split_gain_s * lost
    arrive_at_ball(left, x, y, vx, vy, eased, legs, out)
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
    playable, comfortable = np.empty(4, np.int64), np.empty(4, np.int64)
    for i in range(balls.shape[0]):
        if balls[i].outcome == IN:
            meet_one(
                balls[i],
                paths[i],
                comfort,
                playable,
                comfortable,
                bodies[i],
                legs[0],
                times,
                rule,
                out[i],
            )
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
    balls: np.ndarray,
    paths: np.ndarray,
    x_m: np.ndarray,
    y_m: np.ndarray,
    legs: np.ndarray,
    times: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Time to spare (s) and grade of every ball from every place, shape (balls, places).

    The bodies are at rest at (x_m, y_m), arrays of shape (places,), or (balls, places) where they
    differ by ball.
    """
    x, y = np.atleast_2d(x_m), np.atleast_2d(y_m)
    spare = np.empty((len(balls), x.shape[1]))
    grade = np.empty(spare.shape, np.int64)
    appraise_all(balls, paths, x, y, legs, times, spare, grade)
    return spare, grade
