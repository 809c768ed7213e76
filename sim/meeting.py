"""Meeting and grading: where a receiver can meet a ball, with how much time, and how well.

A ball is a path after its first bounce; a receiver is a body with legs. The time to spare is the
largest, over the playable part of the path, of the ball's time less the earliest arrival of the
reachable disc plus full reach. Between two samples the path is taken as straight.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.legs import tables
from sim.movement import arrival, lateness, run_needed, running_time
from sim.playable import PART, read_path
from sim.records import (
    BACKHAND,
    FOREHAND,
    IN,
    MEETING,
    MISSED,
    PATH_POINTS,
    PATH_STEP_S,
    SET,
    STRETCHED,
)

EARLIEST, NEAREST, MOST_TIME, BALANCED = 0, 1, 2, 3
RULES = ("earliest", "nearest", "most-time", "balanced")
WAIT_COST_PER_S = 0.25
NEVER, ENDLESS = -1e9, 1e9
STRIDE, MOST_STEPS = 4, 6
GAP_S = 1.5 * PATH_STEP_S


@kernel
def react(vx, vy, legs):  # type: ignore[no-untyped-def]
    """Reaction time and the share of the split step lost at the velocity left at the strike."""
    v2 = vx * vx + vy * vy
    lost = v2 / (v2 + legs.split_half_speed_m_s * legs.split_half_speed_m_s)
    return legs.reaction_s + legs.split_gain_s * lost, lost


@kernel
def spare_at(dx, dy, left, motion, reach_f, reach_b, legs, table):  # type: ignore[no-untyped-def]
    """Time to spare at a ball (dx, dy) away in `left` seconds; `motion` is None or a velocity.

    None is a type of its own to the compiler: the kernel for bodies at rest, the hot one of a
    study, is made without the code for moving ones.
    """
    if motion is not None:
        return left - arrival(dx, dy, motion[0], motion[1], reach_f, reach_b, legs, table)
    return left - running_time(table, run_needed(dx, dy, reach_f, reach_b, legs))


@kernel
def most_spare(part, x, y, motion, wait, enough, reach_f, reach_b, legs, table):  # type: ignore[no-untyped-def]
    """Largest time to spare over a part of a path, and where: (seconds, place among its points).

    Along the path the time to spare rises and then falls: every fourth point is tried, and then
    `search_near` the best of them; not if it has `enough`.
    """
    best, at = NEVER, 0
    for k in range(part.points - 1, -1, -STRIDE):
        dx, dy, left = part.x_m[k] - x, part.y_m[k] - y, part.time_s[k] - wait
        spare = spare_at(dx, dy, left, motion, reach_f, reach_b, legs, table)
        at = k if spare > best else at
        best = max(spare, best)
    if best >= enough or part.points < 2:
        return best, float(at)
    return search_near(at, best, part, x, y, motion, wait, reach_f, reach_b, legs, table)


@kernel
def search_near(at, best, part, x, y, motion, wait, reach_f, reach_b, legs, table):  # type: ignore[no-untyped-def]
    """Largest time to spare near point `at`, between points too: (seconds, place).

    A ball that crosses the disc is best met where it leaves; one that passes outside, where it
    draws away as fast as the body has come to run. On a straight path both are known at once; the
    search goes to the stretch of the path where that is, and looks there again.
    """
    place, cx, cy = float(at), x, y
    arrive = part.time_s[at] - wait - best
    if motion is not None:
        drift = legs.tau_s * (1.0 - math.exp(-arrive / legs.tau_s))
        cx, cy = x + motion[0] * drift, y + motion[1] * drift
    k, last, looks = min(at, part.points - 2), part.points - 2, 0
    for _ in range(MOST_STEPS):
        ax, ay = part.x_m[k] - cx, part.y_m[k] - cy
        wx, wy = part.x_m[k + 1] - part.x_m[k], part.y_m[k + 1] - part.y_m[k]
        duration = part.time_s[k + 1] - part.time_s[k]
        way2 = wx * wx + wy * wy + 1e-30
        aside2 = (ax * wy - ay * wx) ** 2 / way2
        reach = reach_b if ax * legs.hand < 0.0 else reach_f
        beyond2 = reach * reach - aside2
        outside = beyond2 <= 0.0
        if outside:
            run = legs.top_speed_m_s * (1.0 - math.exp(-arrive / legs.tau_s)) * duration
            beyond2 = aside2 * run * run / max(way2 - run * run, 1e-12)
        s = (math.sqrt(beyond2 * way2) - ax * wx - ay * wy) / way2
        if s < 0.0 and k > 0:
            k = max(k + max(int(math.floor(s)), -STRIDE), 0)
            continue
        if s > 1.0 and k < last:
            k = min(k + min(int(s), STRIDE), last)
            continue
        s = min(max(s, 0.0), 1.0)
        left = part.time_s[k] - wait + s * duration
        dx, dy = ax + cx - x + s * wx, ay + cy - y + s * wy
        spare = spare_at(dx, dy, left, motion, reach, reach, legs, table)
        arrive = left - spare
        if spare > best:
            best, place = spare, k + s
        looks += 1
        if looks == 2 or not outside:
            break
    return best, place


@kernel
def appraise(playable, comfortable, x, y, motion, wait, legs, arrive, settle):  # type: ignore[no-untyped-def]
    """One ball, one place after the reaction: (time to spare, place on the playable part, grade)."""
    reach_f, reach_b, near = legs.forehand_reach_m, legs.backhand_reach_m, legs.comfortable_reach_m
    spare, place = most_spare(
        playable, x, y, motion, wait, ENDLESS, reach_f, reach_b, legs, arrive
    )
    if spare < 0.0:
        return spare, place, MISSED
    eased, _ = most_spare(comfortable, x, y, motion, wait, 0.0, near, near, legs, settle)
    return spare, place, SET if eased >= 0.0 else STRETCHED


@kernel
def after_reaction(x, y, vx, vy, wait, legs):  # type: ignore[no-untyped-def]
    """Place and velocity when the reaction ends: the velocity fades as exp(-t/tau)."""
    faded = math.exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    return x + vx * drift, y + vy * drift, vx * faded, vy * faded


@kernel
def appraise_all(balls, paths, x, y, legs, times, parts, spare, grade):  # type: ignore[no-untyped-def]
    """Grade every ball for every body at rest into spare[i, j] and grade[i, j].

    The places `x`, `y` have shape (1, places), the same for all balls, or (balls, places). A ball
    that did not land in has NaN and MISSED. `parts` is room for the two parts of one path.
    """
    own, comfort = legs[0], np.empty(PATH_POINTS)
    playable, comfortable, arrive, settle = parts[0], parts[1], times[0], times[1]
    for i in range(balls.shape[0]):
        if balls[i].outcome != IN:
            spare[i, :] = math.nan
            grade[i, :] = MISSED
            continue
        read_path(paths[i], balls[i].points, own, comfort, playable, comfortable)
        row = i if x.shape[0] > 1 else 0
        for j in range(x.shape[1]):
            spare[i, j], _, grade[i, j] = appraise(
                playable, comfortable, x[row, j], y[row, j], None, own.reaction_s, own, arrive, settle
            )


@kernel
def quality_of(comfort, set_spare, legs):  # type: ignore[no-untyped-def]
    """Quality of a reply from 0 to 1: comfort of height times a smooth share of time to spare."""
    late = (set_spare - legs.ease_centre_s) / legs.ease_width_s
    return comfort / (1.0 + math.exp(-late))


@kernel
def choose_place(part, place, x, y, vx, vy, wait, legs, arrive, settle, rule):  # type: ignore[no-untyped-def]
    """Where on the playable part the ball is played, by the rule, among points reached in time.

    `place` is where most time is left: the choice of MOST_TIME, and of any rule that finds no
    other. Every second point is looked at.
    """
    best, chosen = NEVER, place
    if rule == MOST_TIME:
        return place
    reach_f, reach_b, near = legs.forehand_reach_m, legs.backhand_reach_m, legs.comfortable_reach_m
    for k in range(0, part.points, 2):
        dx, dy, left = part.x_m[k] - x, part.y_m[k] - y, part.time_s[k] - wait
        if left < 0.0 or lateness(left, dx, dy, vx, vy, reach_f, reach_b, legs, arrive) > 0.0:
            continue
        if rule == EARLIEST:
            return float(k)
        if rule == NEAREST:
            score = -(dx * dx + dy * dy)
        else:
            eased = left - arrival(dx, dy, vx, vy, near, near, legs, settle)
            score = quality_of(part.comfort[k], eased, legs) - WAIT_COST_PER_S * part.time_s[k]
        if score > best:
            best, chosen = score, float(k)
    return chosen


@kernel
def point_at(part, place):  # type: ignore[no-untyped-def]
    """The point of a part at a place among its points: (time, x, y, z, comfort)."""
    k = int(place)
    n, s = min(k + 1, part.points - 1), place - k
    return (
        part.time_s[k] + s * (part.time_s[n] - part.time_s[k]),
        part.x_m[k] + s * (part.x_m[n] - part.x_m[k]),
        part.y_m[k] + s * (part.y_m[n] - part.y_m[k]),
        part.z_m[k] + s * (part.z_m[n] - part.z_m[k]),
        part.comfort[k] + s * (part.comfort[n] - part.comfort[k]),
    )


@kernel
def meet_one(playable, comfortable, b, legs, arrive, settle, rule, out):  # type: ignore[no-untyped-def]
    """Meet one ball: fill the MEETING record `out`."""
    wait, lost = react(b.vx_m_s, b.vy_m_s, legs)
    x, y, vx, vy = after_reaction(b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, wait, legs)
    if vx == 0.0 and vy == 0.0:
        spare, place, grade = appraise(playable, comfortable, x, y, None, wait, legs, arrive, settle)
    else:
        spare, place, grade = appraise(playable, comfortable, x, y, (vx, vy), wait, legs, arrive, settle)
    if spare >= 0.0:
        place = choose_place(playable, place, x, y, vx, vy, wait, legs, arrive, settle, rule)
    time, ball_x, ball_y, ball_z, comfort = point_at(playable, place)
    near, left = legs.comfortable_reach_m, time - wait
    eased = left - arrival(ball_x - x, ball_y - y, vx, vy, near, near, legs, settle)
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = spare, eased, grade
    out.time_s, out.ball_x_m, out.ball_y_m, out.ball_z_m = time, ball_x, ball_y, ball_z
    out.quality = quality_of(comfort, eased, legs) if spare >= 0.0 else 0.0
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
def meet(balls, paths, bodies, legs, times, rule, parts, out):  # type: ignore[no-untyped-def]
    """Meet ball i with body i; balls that did not land in leave a MISSED record of NaN times."""
    own, comfort = legs[0], np.empty(PATH_POINTS)
    playable, comfortable, arrive, settle = parts[0], parts[1], times[0], times[1]
    for i in range(balls.shape[0]):
        if balls[i].outcome == IN:
            read_path(paths[i], balls[i].points, own, comfort, playable, comfortable)
            meet_one(playable, comfortable, bodies[i], own, arrive, settle, rule, out[i])
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
    meet(balls, paths, bodies, legs, tables(times), rule, np.zeros(2, PART), out)
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
    parts = np.zeros(2, PART)
    appraise_all(balls, paths, x, y, legs, tables(times), parts, spare, grade)
    return spare, grade
