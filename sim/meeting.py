"""Meeting and grading: where a receiver can meet a ball, with how much time, and how well.

A ball is a path after its first bounce; a receiver is a body with legs. The time to spare is the
largest, over the playable part of the path, of the ball's time less the earliest arrival of the
reachable disc plus full reach. Between two samples the path is taken as straight.
"""

from __future__ import annotations

import math

import numpy as np

from sim.climb import CLIMB, NEVER, climb, most_in_motion, settles
from sim.compiled import kernel
from sim.movement import arrival, lateness
from sim.playable import PART, draw_circles, read_path
from sim.records import BACKHAND, FOREHAND, IN, MEETING, MISSED, PATH_POINTS, SET, STRETCHED
from sim.reply import chance_of_reply, stretch_of, worth_of_reply

EARLIEST, NEAREST, MOST_TIME, BALANCED = 0, 1, 2, 3
RULES = ("earliest", "nearest", "most-time", "balanced")
ENDLESS = 1e9


@kernel
def react(vx, vy, legs):  # type: ignore[no-untyped-def]
    """Reaction time and the share of the split step lost at the velocity left at the strike."""
    v2 = vx * vx + vy * vy
    lost = v2 / (v2 + legs.split_half_speed_m_s * legs.split_half_speed_m_s)
    return legs.reaction_s + legs.split_gain_s * lost, lost


@kernel
def appraise(parts, climbs, eases, places, wait, legs, tables, grade):  # type: ignore[no-untyped-def]
    """Appraise one ball for bodies at rest at the first `places` climbs, which keep the times.

    `eases` is room for the climbs that end in a settled stroke.
    """
    settle = tables[1]
    climb(parts[0], climbs, places, wait, legs, tables[0])
    if settle.slow:
        for j in range(places):
            eases[j].x_m, eases[j].y_m = climbs[j].x_m, climbs[j].y_m
        climb(parts[1], eases, places, wait, legs, settle)
    else:
        draw_circles(parts[1], wait, settle)
    for j in range(places):
        c = climbs[j]
        grade[j] = MISSED
        if c.best_s >= 0.0:
            settled = eases[j].best_s >= 0.0 if settle.slow else settles(parts[1], c.x_m, c.y_m)
            grade[j] = SET if settled else STRETCHED


@kernel
def after_reaction(x, y, vx, vy, wait, legs):  # type: ignore[no-untyped-def]
    """Place and velocity when the reaction ends: the velocity fades as exp(-t/tau)."""
    faded = math.exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    return x + vx * drift, y + vy * drift, vx * faded, vy * faded


@kernel
def appraise_all(balls, paths, x, y, legs, tables, parts, climbs, eases, spare, grade):  # type: ignore[no-untyped-def]
    """Grade every ball for every body at rest into spare[i, j] and grade[i, j].

    The places `x`, `y` have shape (1, places), the same for all balls, or (balls, places). A ball
    that did not land in has NaN and MISSED. `parts` and `climbs` are room to work in.
    """
    own, comfort, places = legs[0], np.empty(PATH_POINTS), x.shape[1]
    for i in range(balls.shape[0]):
        if balls[i].outcome != IN:
            for j in range(places):
                spare[i, j], grade[i, j] = math.nan, MISSED
            continue
        read_path(paths[i], balls[i].points, own, comfort, parts[0], parts[1])
        row = i if x.shape[0] > 1 else 0
        for j in range(places):
            climbs[j].x_m, climbs[j].y_m = x[row, j], y[row, j]
        appraise(parts, climbs, eases, places, own.reaction_s, own, tables, grade[i])
        for j in range(places):
            spare[i, j] = climbs[j].best_s


@kernel
def quality_of(comfort, set_spare, legs):  # type: ignore[no-untyped-def]
    """Quality of a reply from 0 to 1: comfort of height times a smooth share of time to spare."""
    late = (set_spare - legs.ease_centre_s) / legs.ease_width_s
    return comfort / (1.0 + math.exp(-late))


@kernel
def choose_point(part, x, y, vx, vy, wait, legs, arrive, settle, rule):  # type: ignore[no-untyped-def]
    """The point of the playable part at which the ball is played, by the rule; -1: none in time.

    Every second point is looked at, those reached in time.
    """
    best, chosen = NEVER, -1
    for k in range(0, part.points, 2):
        dx, dy, left = part.x_m[k] - x, part.y_m[k] - y, part.time_s[k] - wait
        late = lateness(left, dx, dy, vx, vy, legs, arrive)
        if left < 0.0 or late > 0.0:
            continue
        if rule == EARLIEST:
            return k
        if rule == NEAREST:
            score = -(dx * dx + dy * dy)
        else:
            eased = left - arrival(dx, dy, vx, vy, legs, settle)
            worth = worth_of_reply(-late, quality_of(part.comfort[k], eased, legs), legs)
            score = worth - legs.haste_per_s * part.time_s[k]
        if score > best:
            best, chosen = score, k
    return chosen


@kernel
def meet_one(parts, climbs, eases, grade, b, guess, legs, tables, rule, out):  # type: ignore[no-untyped-def]
    """Meet one ball: fill the MEETING record `out`.

    The ball is played where most time is left by the rule MOST_TIME, and by any rule that finds
    no other point.
    """
    arrive, settle, part = tables[0], tables[1], parts[0]
    wait, lost = react(b.vx_m_s, b.vy_m_s, legs)
    wait = max(wait + guess, 0.0)
    x, y, vx, vy = after_reaction(b.x_m, b.y_m, b.vx_m_s, b.vy_m_s, wait, legs)
    if vx == 0.0 and vy == 0.0:
        climbs[0].x_m, climbs[0].y_m = x, y
        appraise(parts, climbs, eases, grade.size, wait, legs, tables, grade)
        spare, k = climbs[0].best_s, climbs[0].best_point
        share = climbs[0].best_past_m / part.length_m[k] if climbs[0].best_past_m > 0.0 else 0.0
    else:
        spare, place = most_in_motion(part, x, y, vx, vy, wait, ENDLESS, legs, arrive)
        k = int(place)
        share = place - k
        grade[0] = MISSED
        if spare >= 0.0:
            eased, _ = most_in_motion(parts[1], x, y, vx, vy, wait, 0.0, legs, settle)
            grade[0] = SET if eased >= 0.0 else STRETCHED
    if spare >= 0.0 and rule != MOST_TIME:
        point = choose_point(part, x, y, vx, vy, wait, legs, arrive, settle, rule)
        if point >= 0:
            k, share = point, 0.0
    after = k + 1 if share > 0.0 else k
    comfort = part.comfort[k] + share * (part.comfort[after] - part.comfort[k])
    out.time_s = part.time_s[k] + share * (part.time_s[after] - part.time_s[k])
    out.ball_x_m = part.x_m[k] + share * (part.x_m[after] - part.x_m[k])
    out.ball_y_m = part.y_m[k] + share * (part.y_m[after] - part.y_m[k])
    out.ball_z_m = part.z_m[k] + share * (part.z_m[after] - part.z_m[k])
    left = out.time_s - wait
    eased = left - arrival(out.ball_x_m - x, out.ball_y_m - y, vx, vy, legs, settle)
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = spare, eased, grade[0]
    out.quality = quality_of(comfort, eased, legs) if spare >= 0.0 else 0.0
    out.split_delay_s = legs.split_gain_s * lost
    at_point = left - arrival(out.ball_x_m - x, out.ball_y_m - y, vx, vy, legs, arrive)
    arrive_at_ball(left, x, y, vx, vy, eased, legs, out)
    out.reply_chance = (
        chance_of_reply(at_point, stretch_of(out, legs), comfort, legs) if spare >= 0.0 else 0.0
    )
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
def meet(balls, paths, bodies, guesses, legs, tables, rule, parts, climbs, eases, out):  # type: ignore[no-untyped-def]
    """Meet ball i with body i; balls that did not land in leave a MISSED record of NaN times."""
    own, comfort, grade = legs[0], np.empty(PATH_POINTS), np.empty(1, np.int64)
    for i in range(balls.shape[0]):
        if balls[i].outcome == IN:
            read_path(paths[i], balls[i].points, own, comfort, parts[0], parts[1])
            meet_one(parts, climbs, eases, grade, bodies[i], guesses[i], own, tables, rule, out[i])
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
    guesses: np.ndarray | None = None,
) -> np.ndarray:
    """MEETING records of balls (n,) with bodies (n,); `times` of Legs.times. See `meet`.

    `guesses` are seconds that a guess adds to the reaction (sim.anticipation), none if not given.
    """
    out = np.zeros(len(balls), MEETING)
    changes = np.zeros(len(balls)) if guesses is None else guesses
    meet(balls, paths, bodies, changes, legs, times, rule, *_room(1), out)
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
    x, y = (np.atleast_2d(np.ascontiguousarray(values, float)) for values in (x_m, y_m))
    spare = np.empty((len(balls), x.shape[1]))
    grade = np.empty(spare.shape, np.int64)
    appraise_all(balls, paths, x, y, legs, times, *_room(x.shape[1]), spare, grade)
    return spare, grade


def _room(places: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Room to work in: the two parts of a path, and twice the climbs from that many places."""
    return np.zeros(2, PART), np.zeros(2 * places, CLIMB), np.zeros(2 * places, CLIMB)
