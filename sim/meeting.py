"""Meeting and grading: where a receiver can meet a ball, with how much time, and how well.

A ball is a path after its first bounce; a receiver is a body with legs. The time to spare is the
largest, over the playable part of the path, of the ball's time less the earliest arrival of the
reachable disc plus full reach. Between two samples the path is taken as straight.
"""

from __future__ import annotations

import math
import threading

import numpy as np

from sim.arithmetic import exp, log
from sim.chase import most_in_motion, settles_in_motion
from sim.climb import CLIMB, NEVER, climb, settles
from sim.compiled import kernel
from sim.movement import CHASER, arrival
from sim.playable import (
    COMFORT_FOR_SET,
    PART,
    cut,
    draw_circles,
    fill_fade,
    lay,
    read_path,
    weigh_pace,
    weigh_time,
)
from sim.records import IN, MEETING, MISSED, PATH_POINTS, SET, STRETCHED, WORLD
from sim.reply import (
    BALANCED,
    EARLIEST,
    MOST_TIME,
    NEAREST,
    RULES,
    approach,
    chance_of_reply,
    choose_place,
    drift_in,
    play_at,
    quality_of,
    stretch_for,
    wing_of,
)
from sim.volley import may_volley, read_flight

__all__ = [
    "BALANCED",
    "EARLIEST",
    "MOST_TIME",
    "NEAREST",
    "RULES",
    "appraisals",
    "meet_into",
    "meetings",
]

NO_WORLD = np.zeros(0, WORLD)
NO_WORLD.setflags(write=False)


@kernel
def react(vx, vy, legs):  # type: ignore[no-untyped-def]
    """Reaction time and the share of the split step lost at the velocity left at the strike."""
    v2 = vx * vx + vy * vy
    lost = v2 / (v2 + legs.split_half_speed_m_s * legs.split_half_speed_m_s)
    return legs.reaction_s + legs.split_gain_s * lost, lost


@kernel
def appraise(parts, climbs, places, wait, legs, tables, grade):  # type: ignore[no-untyped-def]
    """Appraise one ball for bodies at rest at the first `places` climbs, which keep the times."""
    lay(parts[0])
    lay(parts[1])
    climb(parts[0], climbs, places, wait, legs, tables[0])
    draw_circles(parts[1], wait, tables[1])
    for j in range(places):
        c = climbs[j]
        grade[j] = MISSED
        if c.best_s >= 0.0:
            grade[j] = SET if settles(parts[1], c.x_m, c.y_m) else STRETCHED


@kernel
def appraise_slow(parts, climbs, places, c, wait, legs, tables, grade):  # type: ignore[no-untyped-def]
    """`appraise` for legs with slow sides, by the search for a body in motion; `c` is its room."""
    fill_fade(parts[0], wait, legs)
    fill_fade(parts[1], wait, legs)
    c.vx_m_s, c.vy_m_s, c.wait_s = 0.0, 0.0, wait
    c.nested_s, c.nested_drift_s = 0.0, 0.0
    for j in range(places):
        c.x_m, c.y_m = climbs[j].x_m, climbs[j].y_m
        climbs[j].best_s, _ = most_in_motion(parts[0], c, legs, tables[0])
        grade[j] = MISSED
        if climbs[j].best_s >= 0.0:
            grade[j] = SET if settles_in_motion(parts[1], c, legs, tables[1]) else STRETCHED


@kernel
def start_chase(b, wait, legs, c):  # type: ignore[no-untyped-def]
    """Fill the CHASER `c`: a body when its reaction ends, the velocity faded as exp(-t/tau)."""
    faded = exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1.0 - faded)
    c.x_m, c.y_m = b.x_m + b.vx_m_s * drift, b.y_m + b.vy_m_s * drift
    c.vx_m_s, c.vy_m_s, c.wait_s = b.vx_m_s * faded, b.vy_m_s * faded, wait
    speed = math.sqrt(c.vx_m_s * c.vx_m_s + c.vy_m_s * c.vy_m_s)
    c.nested_s = legs.tau_s * log(1.0 + speed / legs.top_speed_m_s)
    c.nested_drift_s = legs.tau_s * speed / (legs.top_speed_m_s + speed)


@kernel
def appraise_all(  # type: ignore[no-untyped-def]
    balls, paths, x, y, legs, tables, parts, climbs, chasers, comfort, spare, grade
):
    """Grade every ball for every body at rest into spare[i, j] and grade[i, j].

    The places `x`, `y` have shape (1, places), the same for all balls, or (balls, places). A ball
    that did not land in has NaN and MISSED. `parts` and `climbs` are room to work in.
    """
    own, places = legs[0], x.shape[1]
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
        wait = own.reaction_s
        if tables[0].slow:
            appraise_slow(parts, climbs, places, chasers[0], wait, own, tables, grade[i])
        else:
            appraise(parts, climbs, places, wait, own, tables, grade[i])
        for j in range(places):
            spare[i, j] = climbs[j].best_s


@kernel
def meet_at_rest(parts, climbs, grade, c, legs, tables, rule):  # type: ignore[no-untyped-def]
    """Largest time to spare of a body at rest, and what `choose_place` finds by the rule."""
    part, climber = parts[0], climbs[0]
    climber.x_m, climber.y_m = c.x_m, c.y_m
    appraise(parts, climbs, grade.size, c.wait_s, legs, tables, grade)
    place, spare = float(climber.best_point), climber.best_s
    if climber.best_past_m > 0.0:
        place += climber.best_past_m / part.length_m[climber.best_point]
    settled, in_hand = NEVER, NEVER
    if spare >= 0.0:
        fill_fade(part, c.wait_s, legs)
        place, settled, in_hand = choose_place(part, place, spare, c, legs, tables, rule)
    return spare, place, settled, in_hand


@kernel
def meet_in_motion(parts, path, points, comfort, grade, c, legs, tables, rule):  # type: ignore[no-untyped-def]
    """As `meet_at_rest`, for a body in motion or slow sides; the comfortable part is cut only if
    need be."""
    part = parts[0]
    fill_fade(part, c.wait_s, legs)
    spare, place = most_in_motion(part, c, legs, tables[0])
    settled, in_hand = NEVER, NEVER
    grade[0] = MISSED
    if spare >= 0.0:
        place, settled, in_hand = choose_place(part, place, spare, c, legs, tables, rule)
        grade[0] = SET
        if settled < 0.0 or part.comfort[int(place)] < COMFORT_FOR_SET:
            cut(path, points, comfort, COMFORT_FOR_SET, legs, parts[1])
            fill_fade(parts[1], c.wait_s, legs)
            if not settles_in_motion(parts[1], c, legs, tables[1]):
                grade[0] = STRETCHED
    return spare, place, settled, in_hand


@kernel
def meet_part(parts, path, points, comfort, climbs, grade, c, legs, tables, rule, out):  # type: ignore[no-untyped-def]
    """Meet a ball on the first of `parts`, cut from `path`: fill the MEETING record `out`."""
    if c.vx_m_s == 0.0 and c.vy_m_s == 0.0 and not tables[0].slow:
        cut(path, points, comfort, COMFORT_FOR_SET, legs, parts[1])
        spare, place, eased, in_hand = meet_at_rest(parts, climbs, grade, c, legs, tables, rule)
    else:
        spare, place, eased, in_hand = meet_in_motion(
            parts, path, points, comfort, grade, c, legs, tables, rule
        )
    ease, kept = play_at(parts[0], place, out)
    left = out.time_s - c.wait_s
    dx, dy = out.ball_x_m - c.x_m, out.ball_y_m - c.y_m
    if eased == NEVER:
        eased = left - arrival(dx, dy, c, legs, tables[1])
    out.stretch, out.volley = arrive_at_ball(left, dx, dy, c, eased, legs, out), 0
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = spare, eased, grade[0]
    out.quality, out.reply_chance = 0.0, 0.0
    if spare >= 0.0:
        if in_hand == NEVER:
            in_hand = left - arrival(dx, dy, c, legs, tables[0])
        out.quality = quality_of(ease, eased, legs)
        out.reply_chance = kept * chance_of_reply(in_hand, out.stretch, ease, legs)


@kernel
def reply_of(meeting):  # type: ignore[no-untyped-def]
    """What a reply is worth, waiting not counted: see `best_reached`."""
    return meeting.reply_chance * (0.5 + 0.5 * meeting.quality)


@kernel
def meet_in_the_air(  # type: ignore[no-untyped-def]
    ball, parts, flight, comfort, climbs, grade, c, legs, w, tables, out
):
    """Meet a ball before its bounce, where the reply is worth most: fill the MEETING `out`.

    No chance of a reply where it cannot be done.
    """
    first, points = read_flight(ball, legs, w, flight, comfort, parts[0])
    out.reply_chance = 0.0
    if parts[0].points > 0:
        weigh_time(parts[0], ball, legs)
        path = flight[first:]
        meet_part(parts, path, points, comfort, climbs, grade, c, legs, tables, BALANCED, out)
        out.volley = 1


@kernel
def take_better(out, i, air, legs):  # type: ignore[no-untyped-def]
    """Put into `out[i]`, a ball met after its bounce, what is better in the air.

    The reply that is worth more, and the better ones of both times to spare and grades. Time that
    is saved counts as far as the ball comes back: nobody volleys without hope what can be let
    bounce.
    """
    spare, in_air, grade = out[i].time_to_spare_s, air.time_to_spare_s, out[i].grade
    if air.reply_chance <= 0.0:
        return
    saved = legs.haste_per_s * (out[i].time_s - air.time_s)
    if spare < 0.0 or reply_of(air) + saved * air.reply_chance > reply_of(out[i]):
        out[i] = air
    out[i].time_to_spare_s, out[i].grade = max(spare, in_air), max(grade, air.grade)


@kernel
def arrive_at_ball(time, dx, dy, c, eased, legs, out):  # type: ignore[no-untyped-def]
    """Place and velocity of the body at the meeting point after `time` of chasing; the stretch.

    The body stops at comfortable reach where the time allows, else as near as the disc lets it;
    a stroke with no time to settle is played on the run.
    """
    drift = drift_in(time, legs)
    run, left, ux, uy = approach(time, drift, dx, dy, c, legs)
    hurry = 1.0 / (1.0 + exp((eased - legs.ease_centre_s) / legs.ease_width_s))
    fastest = legs.top_speed_m_s * drift / legs.tau_s
    speed = hurry * min(fastest, math.sqrt(2.0 * legs.braking_m_s2 * run))
    out.body_x_m = c.x_m + c.vx_m_s * drift + ux * run
    out.body_y_m = c.y_m + c.vy_m_s * drift + uy * run
    out.body_vx_m_s, out.body_vy_m_s = ux * speed, uy * speed
    out.wing = wing_of(ux, legs)
    return stretch_for(left, ux, legs)


@kernel
def write_nothing(out):  # type: ignore[no-untyped-def]
    """A MISSED record: no time to spare, zeros elsewhere."""
    out.time_to_spare_s, out.set_time_to_spare_s, out.grade = math.nan, 0.0, MISSED
    out.time_s, out.ball_x_m, out.ball_y_m, out.ball_z_m = 0.0, 0.0, 0.0, 0.0
    out.body_x_m, out.body_y_m, out.body_vx_m_s, out.body_vy_m_s = 0.0, 0.0, 0.0, 0.0
    out.quality, out.reply_chance, out.wing = 0.0, 0.0, 0
    out.run_m, out.split_delay_s = 0.0, 0.0
    out.stretch, out.rise_m_s, out.volley = 0.0, 0.0, 0


@kernel
def meet(  # type: ignore[no-untyped-def]
    balls,
    paths,
    bodies,
    guesses,
    legs,
    tables,
    rule,
    world,
    parts,
    climbs,
    chasers,
    comfort,
    grade,
    flight,
    air,
    out,
):
    """Meet ball i with body i; balls that did not land in leave a MISSED record of NaN times.

    A guess changes the reaction. Without a world (length 0) no ball is met before its bounce.
    `parts` to `air` are room to work in.
    """
    own = legs[0]
    for i in range(balls.shape[0]):
        if balls[i].outcome != IN:
            write_nothing(out[i])
            continue
        ball, b, c, points = balls[i], bodies[i], chasers[0], balls[i].points
        read_path(paths[i], points, own, comfort, parts[0])
        weigh_pace(parts[0], ball.bounce_vx_m_s, ball.bounce_vy_m_s, own)
        weigh_time(parts[0], ball, own)
        late, lost = react(b.vx_m_s, b.vy_m_s, own)
        start_chase(b, max(late + guesses[i], 0.0), own, c)
        meet_part(parts, paths[i], points, comfort, climbs, grade, c, own, tables, rule, out[i])
        if world.size > 0 and may_volley(ball, c, own, tables[0]):
            meet_in_the_air(
                ball,
                parts[2:],
                flight,
                comfort,
                climbs,
                grade,
                c,
                legs[1],
                world[0],
                tables,
                air[0],
            )
            take_better(out, i, air[0], own)
        out[i].split_delay_s = own.split_gain_s * lost
        mx, my = out[i].body_x_m - b.x_m, out[i].body_y_m - b.y_m
        out[i].run_m = math.sqrt(mx * mx + my * my)


def meetings(
    balls: np.ndarray,
    paths: np.ndarray,
    bodies: np.ndarray,
    legs: np.ndarray,
    times: np.ndarray,
    rule: int = BALANCED,
    guess_s: np.ndarray | None = None,
    world: np.ndarray | None = None,
) -> np.ndarray:
    """MEETING records of balls (n,) with bodies (n,); `times` of Legs.times. See `meet`.

    `guess_s` are seconds that a guess adds to the reaction (sim.anticipation), none if not given.
    In a `world`, a WORLD record in the receiver's frame, balls are met before the bounce too.
    """
    out = np.empty(len(balls), MEETING)
    guesses = np.zeros(len(balls)) if guess_s is None else guess_s
    world = NO_WORLD if world is None else world
    meet_into(balls, paths, bodies, guesses, legs, times, rule, world, out)
    return out


def meet_into(
    balls: np.ndarray,
    paths: np.ndarray,
    bodies: np.ndarray,
    guess_s: np.ndarray,
    legs: np.ndarray,
    times: np.ndarray,
    rule: int,
    world: np.ndarray,
    out: np.ndarray,
) -> None:
    """`meetings` that fills given MEETING records (n,), from the first n of given paths.

    `world` is a WORLD record of length one, or NO_WORLD.
    """
    meet(balls, paths, bodies, guess_s, legs, times, rule, world, *_MEET_ROOM.arrays, out)


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
    appraise_all(balls, paths, x, y, legs, times, *appraisal_room(x.shape[1]), spare, grade)
    return spare, grade


def appraisal_room(places: int) -> tuple[np.ndarray, ...]:
    """Room to work in: four parts of a path, twice the climbs from that many places, a chaser, the
    comfort of a path's samples.

    The first two parts are of balls after their bounce, whose place loses no replies.
    """
    parts = np.zeros(4, PART)
    parts["kept"] = 1.0
    return parts, np.zeros(2 * places, CLIMB), np.zeros(1, CHASER), np.zeros(PATH_POINTS)


class _MeetRoom(threading.local):
    """Room to work in for `meet`, one a thread; nothing in it outlives a call."""

    def __init__(self) -> None:
        grade, flight, air = np.zeros(1, np.int64), np.zeros((PATH_POINTS, 5)), np.zeros(1, MEETING)
        self.arrays = *appraisal_room(1), grade, flight, air


_MEET_ROOM = _MeetRoom()
