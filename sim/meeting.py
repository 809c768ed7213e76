"""Meeting and grading: where a receiver can meet a ball, with how much time, and how well.

A ball is a path after its first bounce; a receiver is a body with legs. The time to spare is the
largest, over the playable part of the path, of the ball's time less the earliest arrival of the
reachable disc plus full reach. Between two samples the path is taken as straight.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from sim.chase import gain_by, is_met, most_in_motion, settles_in_motion
from sim.climb import CLIMB, NEVER, climb, settles
from sim.compiled import kernel
from sim.movement import CHASER, arrival, arrival_near
from sim.playable import (
    COMFORT_FOR_SET,
    PART,
    cut,
    draw_circles,
    fill_fade,
    lay,
    read_path,
    weigh_pace,
)
from sim.records import BACKHAND, FOREHAND, IN, MEETING, MISSED, PATH_POINTS, SET, STRETCHED
from sim.reply import chance_of_reply, in_control, stretch_of

EARLIEST, NEAREST, MOST_TIME, BALANCED = 0, 1, 2, 3
RULES = ("earliest", "nearest", "most-time", "balanced")


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
    lay(parts[0])
    lay(parts[1])
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
def start_chase(b, wait, legs, c):  # type: ignore[no-untyped-def]
    """Fill the CHASER `c`: a body when its reaction ends, the velocity faded as exp(-t/tau)."""
    faded = math.exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    c.x_m, c.y_m = b.x_m + b.vx_m_s * drift, b.y_m + b.vy_m_s * drift
    c.vx_m_s, c.vy_m_s, c.wait_s = b.vx_m_s * faded, b.vy_m_s * faded, wait
    speed = math.sqrt(c.vx_m_s * c.vx_m_s + c.vy_m_s * c.vy_m_s)
    c.nested_s = legs.tau_s * math.log(1.0 + speed / legs.top_speed_m_s)


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
        read_path(paths[i], balls[i].points, own, comfort, parts[0])
        cut(paths[i], balls[i].points, comfort, COMFORT_FOR_SET, own, parts[1])
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
def spare_for(quality, comfort, legs):  # type: ignore[no-untyped-def]
    """The time to spare for a settled stroke that gives that quality, less than `comfort`.

    The inverse of `quality_of`; any will do for a quality that is not above 0.
    """
    if quality <= 0.0:
        return NEVER
    return legs.ease_centre_s + legs.ease_width_s * math.log(quality / (comfort - quality))


@kernel
def is_reached(part, k, c, legs, table):  # type: ignore[no-untyped-def]
    """Whether the body is in time for point `k`."""
    return gain_by(part, k, 0.0, 1.0, c, legs, table) >= 0.0


@kernel
def first_reached(part, c, legs, arrive):  # type: ignore[no-untyped-def]
    """The earliest of every second point; -1: none is reached."""
    for k in range(0, part.points, 2):
        if is_reached(part, k, c, legs, arrive):
            return k
    return -1


@kernel
def nearest_reached(part, c, legs, arrive):  # type: ignore[no-untyped-def]
    """The one of every second point that is nearest to the body; -1: none is reached."""
    nearest, chosen = math.inf, -1
    for k in range(0, part.points, 2):
        dx, dy = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m
        away2 = dx * dx + dy * dy
        if away2 < nearest and is_reached(part, k, c, legs, arrive):
            nearest, chosen = away2, k
    return chosen


@kernel
def best_reached(part, place, spare, c, legs, arrive, settle):  # type: ignore[no-untyped-def]
    """The place with the best reply, waiting counted: one of every second point, or `place`.

    At `place` most time is left, `spare`. The reply is worth its chance, as far as time goes, times
    0.5 + 0.5 quality: a poor one is worth half of the best one. The time to spare at a point is
    taken to first order. The most promising point comes first; then most others are worse even with
    all the time.
    """
    first, hoped = 0, NEVER
    for k in range(0, part.points, 2):
        hope = 0.5 * part.comfort[k] - legs.haste_per_s * part.time_s[k]
        first = k if hope > hoped else first
        hoped = max(hope, hoped)
    best, chosen, eased = NEVER, -1.0, 0.0
    for turn in range(-2, part.points, 2):
        k = first if turn < 0 else turn
        cost, most = legs.haste_per_s * part.time_s[k], 0.5 + 0.5 * part.comfort[k]
        if most - cost <= best:
            continue
        left = gain_by(part, k, 0.0, 1.0, c, legs, arrive)
        control = in_control(left, legs)
        if left < 0.0 or control * most - cost <= best:
            continue
        left = part.time_s[k] - c.wait_s
        dx, dy = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m
        asked = spare_for(2.0 * (best + cost) / max(control, 1e-9) - 1.0, part.comfort[k], legs)
        if asked > NEVER and not is_met(left - asked, dx, dy, c, legs, settle):
            continue
        eased = left - arrival_near(left - max(asked, eased), dx, dy, c, legs, settle)
        score = control * (0.5 + 0.5 * quality_of(part.comfort[k], eased, legs)) - cost
        if score > best:
            best, chosen = score, float(k)
    return chosen if best > most_time_worth(part, place, spare, best, c, legs, settle) else place


@kernel
def most_time_worth(part, place, spare, best, c, legs, settle):  # type: ignore[no-untyped-def]
    """What `best_reached` weighs, at the place with most time; NEVER if surely less than `best`."""
    k = int(place)
    share, after = place - k, min(k + 1, part.points - 1)
    time = part.time_s[k] + share * (part.time_s[after] - part.time_s[k])
    comfort = part.comfort[k] + share * (part.comfort[after] - part.comfort[k])
    control, cost = in_control(spare, legs), legs.haste_per_s * time
    if control * (0.5 + 0.5 * comfort) - cost <= best:
        return NEVER
    dx = part.x_m[k] + share * (part.x_m[after] - part.x_m[k]) - c.x_m
    dy = part.y_m[k] + share * (part.y_m[after] - part.y_m[k]) - c.y_m
    eased = time - c.wait_s - arrival(dx, dy, c, legs, settle)
    return control * (0.5 + 0.5 * quality_of(comfort, eased, legs)) - cost


@kernel
def choose_place(part, place, spare, c, legs, tables, rule):  # type: ignore[no-untyped-def]
    """The place among the points at which the ball is played, by the rule.

    `place`, where most time is left, if the rule asks for that or finds no point that is reached.
    """
    if rule == BALANCED:
        return best_reached(part, place, spare, c, legs, tables[0], tables[1])
    point = -1
    if rule == EARLIEST:
        point = first_reached(part, c, legs, tables[0])
    elif rule == NEAREST:
        point = nearest_reached(part, c, legs, tables[0])
    return float(point) if point >= 0 else place


@kernel
def meet_at_rest(parts, climbs, eases, grade, c, legs, tables):  # type: ignore[no-untyped-def]
    """Largest time to spare of a body at rest, and the place where it is."""
    part, climber = parts[0], climbs[0]
    climber.x_m, climber.y_m = c.x_m, c.y_m
    appraise(parts, climbs, eases, grade.size, c.wait_s, legs, tables, grade)
    place = float(climber.best_point)
    if climber.best_past_m > 0.0:
        place += climber.best_past_m / part.length_m[climber.best_point]
    return climber.best_s, place


@kernel
def meet_in_motion(parts, grade, c, legs, tables):  # type: ignore[no-untyped-def]
    """As `meet_at_rest`, for a body in motion."""
    spare, place = most_in_motion(parts[0], c, legs, tables[0])
    grade[0] = MISSED
    if spare >= 0.0:
        fill_fade(parts[1], c.wait_s, legs)
        grade[0] = SET if settles_in_motion(parts[1], c, legs, tables[1]) else STRETCHED
    return spare, place


@kernel
def meet_one(parts, climbs, eases, grade, c, b, guess_s, legs, tables, rule, out):  # type: ignore[no-untyped-def]
    """Meet one ball: fill the MEETING record `out`. A guess changes the reaction by `guess_s`."""
    part = parts[0]
    late, lost = react(b.vx_m_s, b.vy_m_s, legs)
    start_chase(b, max(late + guess_s, 0.0), legs, c)
    fill_fade(part, c.wait_s, legs)
    if c.vx_m_s == 0.0 and c.vy_m_s == 0.0:
        spare, place = meet_at_rest(parts, climbs, eases, grade, c, legs, tables)
    else:
        spare, place = meet_in_motion(parts, grade, c, legs, tables)
    if spare >= 0.0:
        place = choose_place(part, place, spare, c, legs, tables, rule)
    comfort = play_at(part, place, out)
    left = out.time_s - c.wait_s
    dx, dy = out.ball_x_m - c.x_m, out.ball_y_m - c.y_m
    eased = left - arrival(dx, dy, c, legs, tables[1])
    arrive_at_ball(left, c, eased, legs, out)
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = spare, eased, grade[0]
    out.quality, out.reply_chance = 0.0, 0.0
    if spare >= 0.0:
        in_hand = left - arrival(dx, dy, c, legs, tables[0])
        out.quality = quality_of(comfort, eased, legs)
        out.reply_chance = chance_of_reply(in_hand, stretch_of(out, legs), comfort, legs)
    out.split_delay_s = legs.split_gain_s * lost
    mx, my = out.body_x_m - b.x_m, out.body_y_m - b.y_m
    out.run_m = math.sqrt(mx * mx + my * my)


@kernel
def play_at(part, place, out):  # type: ignore[no-untyped-def]
    """Fill time and place of the ball at a place among the points; return the comfort there."""
    k = int(place)
    share = place - k
    after = k + 1 if share > 0.0 else k
    out.time_s = part.time_s[k] + share * (part.time_s[after] - part.time_s[k])
    out.ball_x_m = part.x_m[k] + share * (part.x_m[after] - part.x_m[k])
    out.ball_y_m = part.y_m[k] + share * (part.y_m[after] - part.y_m[k])
    out.ball_z_m = part.z_m[k] + share * (part.z_m[after] - part.z_m[k])
    return part.comfort[k] + share * (part.comfort[after] - part.comfort[k])


@kernel
def arrive_at_ball(time, c, eased, legs, out):  # type: ignore[no-untyped-def]
    """Place and velocity of the body at the meeting point after `time` of chasing.

    The body stops at comfortable reach where the time allows, else as near as the disc lets it;
    a stroke with no time to settle is played on the run.
    """
    faded = math.exp(-max(time, 0.0) / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    cx, cy = c.x_m + c.vx_m_s * drift, c.y_m + c.vy_m_s * drift
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
def write_nothing(out):  # type: ignore[no-untyped-def]
    """A MISSED record: no time to spare, zeros elsewhere."""
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = math.nan, 0.0, MISSED
    out.time_s, out.ball_x_m, out.ball_y_m, out.ball_z_m = 0.0, 0.0, 0.0, 0.0
    out.body_x_m, out.body_y_m, out.body_vx_m_s, out.body_vy_m_s = 0.0, 0.0, 0.0, 0.0
    out.quality, out.reply_chance, out.wing = 0.0, 0.0, 0
    out.run_m, out.split_delay_s = 0.0, 0.0


@kernel
def meet(  # type: ignore[no-untyped-def]
    balls, paths, bodies, guesses, legs, tables, rule, parts, climbs, eases, chasers, out
):
    """Meet ball i with body i; balls that did not land in leave a MISSED record of NaN times."""
    own, comfort, grade = legs[0], np.empty(PATH_POINTS), np.empty(1, np.int64)
    for i in range(balls.shape[0]):
        if balls[i].outcome == IN:
            read_path(paths[i], balls[i].points, own, comfort, parts[0])
            cut(paths[i], balls[i].points, comfort, COMFORT_FOR_SET, own, parts[1])
            weigh_pace(parts[0], balls[i], own)
            b, c, guess_s = bodies[i], chasers[0], guesses[i]
            meet_one(parts, climbs, eases, grade, c, b, guess_s, own, tables, rule, out[i])
        else:
            write_nothing(out[i])


def meetings(
    balls: np.ndarray,
    paths: np.ndarray,
    bodies: np.ndarray,
    legs: np.ndarray,
    times: np.ndarray,
    rule: int = BALANCED,
    guess_s: np.ndarray | None = None,
) -> np.ndarray:
    """MEETING records of balls (n,) with bodies (n,); `times` of Legs.times. See `meet`.

    `guess_s` are seconds that a guess adds to the reaction (sim.anticipation), none if not given.
    """
    out = np.empty(len(balls), MEETING)
    guesses = np.zeros(len(balls)) if guess_s is None else guess_s
    meet_into(balls, paths, bodies, guesses, legs, times, rule, out)
    return out


def meet_into(
    balls: np.ndarray,
    paths: np.ndarray,
    bodies: np.ndarray,
    guess_s: np.ndarray,
    legs: np.ndarray,
    times: np.ndarray,
    rule: int,
    out: np.ndarray,
) -> None:
    """`meetings` that fills given MEETING records (n,), from the first n of given paths."""
    meet(balls, paths, bodies, guess_s, legs, times, rule, *_meet_room(), out)


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


@lru_cache(maxsize=1)
def _meet_room() -> tuple[np.ndarray, ...]:
    """Room to work in for `meet`; nothing in it outlives a call."""
    return *_room(1), np.zeros(1, CHASER)


def _room(places: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Room to work in: the two parts of a path, and twice the climbs from that many places."""
    return np.zeros(2, PART), np.zeros(2 * places, CLIMB), np.zeros(2 * places, CLIMB)
