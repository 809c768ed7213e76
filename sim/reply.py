"""Where a ball that is reached is played, by a rule, how good the reply is, and if it comes back.

Reached, returned and returned well are three things: *reached* is a plain count of arrivals; the
chance here says how often a reached ball is returned at all; the quality says how fast, deep and
exact the reply is. The chance grows smoothly from nothing for a ball that is just touched. Its form
and values are assumed.
"""

from __future__ import annotations

import math

from sim.arithmetic import exp, log
from sim.chase import gain_by, is_met
from sim.climb import NEVER
from sim.compiled import kernel
from sim.movement import arrival, arrival_near
from sim.records import BACKHAND, FOREHAND

EARLIEST, NEAREST, MOST_TIME, BALANCED = 0, 1, 2, 3
# With so many control times to spare, a ball counts as surely in control until it may be the best.
SURE = 3.0
RULES = ("earliest", "nearest", "most-time", "balanced")


@kernel
def point_at(part, place):  # type: ignore[no-untyped-def]
    """Time, place (x, y, z), comfort and share of replies kept at a place among the points."""
    k = int(place)
    share = place - k
    after = k + 1 if share > 0.0 else k
    return (
        part.time_s[k] + share * (part.time_s[after] - part.time_s[k]),
        part.x_m[k] + share * (part.x_m[after] - part.x_m[k]),
        part.y_m[k] + share * (part.y_m[after] - part.y_m[k]),
        part.z_m[k] + share * (part.z_m[after] - part.z_m[k]),
        part.comfort[k] + share * (part.comfort[after] - part.comfort[k]),
        part.kept[k] + share * (part.kept[after] - part.kept[k]),
    )


@kernel
def quality_of(comfort, set_spare, legs):  # type: ignore[no-untyped-def]
    """Quality of a reply from 0 to 1: comfort of height times a smooth share of time to spare."""
    late = (set_spare - legs.ease_centre_s) / legs.ease_width_s
    return comfort / (1.0 + exp(-late))


@kernel
def spare_for(quality, comfort, legs):  # type: ignore[no-untyped-def]
    """The time to spare for a settled stroke that gives that quality, less than `comfort`.

    The inverse of `quality_of`; any will do for a quality that is not above 0.
    """
    if quality <= 0.0:
        return NEVER
    return legs.ease_centre_s + legs.ease_width_s * log(quality / (comfort - quality))


@kernel
def is_reached(part, k, c, legs, table):  # type: ignore[no-untyped-def]
    """Whether the body is in time for point `k`."""
    return gain_by(part, k, 0.0, 1.0, c, legs, table) >= 0.0


@kernel
def first_reached(part, c, legs, arrive):  # type: ignore[no-untyped-def]
    """The earliest point that is reached; -1: none is reached."""
    for k in range(part.points):
        if is_reached(part, k, c, legs, arrive):
            return k
    return -1


@kernel
def nearest_reached(part, c, legs, arrive):  # type: ignore[no-untyped-def]
    """The point that is reached and nearest to the body; -1: none is reached."""
    nearest, chosen = math.inf, -1
    for k in range(part.points):
        dx, dy = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m
        away2 = dx * dx + dy * dy
        if away2 < nearest and is_reached(part, k, c, legs, arrive):
            nearest, chosen = away2, k
    return chosen


@kernel
def best_reached(part, place, spare, c, legs, arrive, settle):  # type: ignore[no-untyped-def]
    """The place with the best reply, waiting counted, how settled, and the time in hand there.

    See `choose_place`.

    It is one of the points, or `place`, where most time is left: `spare`. A reply is worth its
    chance times 0.5 + 0.5 quality: a poor one is worth half of the best one. The most promising
    point comes first; then most others are worse even if settled with `spare`, sure to be in
    control or not stretched.
    """
    first, hoped, most = 0, NEVER, 0.5 * quality_of(1.0, spare, legs)
    for k in range(part.points):
        hope = most * part.comfort[k] - part.haste_per_s * part.time_s[k]
        first = k if hope > hoped else first
        hoped = max(hope, hoped)
    best, chosen, eased, settled, hand = NEVER, place, 0.0, NEVER, NEVER
    for turn in range(-1, part.points):
        k = first if turn < 0 else turn
        comfort, cost = part.comfort[k], part.haste_per_s * part.time_s[k]
        easy = by_height(comfort, legs) * part.kept[k]
        share = (0.5 + most * comfort) * easy
        if share - cost <= best:
            continue
        in_hand = gain_by(part, k, 0.0, 1.0, c, legs, arrive)
        if in_hand <= 0.0:
            continue
        left = part.time_s[k] - c.wait_s
        dx, dy = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m
        chance, tight = easy, in_hand < SURE * legs.control_time_s
        if tight:
            in_hand = left - arrival_near(left - in_hand, dx, dy, c, legs, arrive)
            chance *= in_control(in_hand, legs)
        if chance * (0.5 + most * comfort) - cost <= max(best, -cost):
            continue
        asked = spare_for(2.0 * (best + cost) / chance - 1.0, comfort, legs)
        if asked > NEVER and not is_met(left - asked, dx, dy, c, legs, settle):
            continue
        eased = left - arrival_near(left - max(asked, eased), dx, dy, c, legs, settle)
        worth = 0.5 + 0.5 * quality_of(comfort, eased, legs)
        if chance * worth - cost <= best:
            continue
        if not tight:
            in_hand = left - arrival_near(left - in_hand, dx, dy, c, legs, arrive)
        stretch = stretch_at(left, legs.tau_s * (1.0 - part.fade[k]), dx, dy, c, legs)
        chance = part.kept[k] * chance_of_reply(in_hand, stretch, comfort, legs)
        if chance * worth - cost > best:
            best, chosen, settled, hand = chance * worth - cost, float(k), eased, in_hand
    worth, eased, in_hand = most_time_worth(part, place, spare, best, c, legs, arrive, settle)
    return (place, eased, in_hand) if worth > best else (chosen, settled, hand)


@kernel
def most_time_worth(part, place, spare, best, c, legs, arrive, settle):  # type: ignore[no-untyped-def]
    """What `best_reached` weighs, at the place with most time, how settled, and the time in hand.

    NEVER for all if it is surely not worth more than `best`.
    """
    time, x, y, _, comfort, kept = point_at(part, place)
    cost, easy = part.haste_per_s * time, by_height(comfort, legs) * kept
    if in_control(spare, legs) * (0.5 + 0.5 * comfort) * easy - cost <= best:
        return NEVER, NEVER, NEVER
    left, dx, dy = time - c.wait_s, x - c.x_m, y - c.y_m
    in_hand = left - arrival(dx, dy, c, legs, arrive)
    stretch = stretch_at(left, drift_in(left, legs), dx, dy, c, legs)
    chance = kept * chance_of_reply(in_hand, stretch, comfort, legs)
    eased = left - arrival(dx, dy, c, legs, settle)
    return chance * (0.5 + 0.5 * quality_of(comfort, eased, legs)) - cost, eased, in_hand


@kernel
def choose_place(part, place, spare, c, legs, tables, rule):  # type: ignore[no-untyped-def]
    """The place among the points at which the ball is played, by the rule, how settled, and the
    time in hand.

    `place`, where most time is left (`spare`), if the rule asks for that or finds no point that is
    reached. The times to spare there, for a settled stroke and with full reach, are NEVER where
    they were not needed to choose.
    """
    if rule == BALANCED:
        return best_reached(part, place, spare, c, legs, tables[0], tables[1])
    point = -1
    if rule == EARLIEST:
        point = first_reached(part, c, legs, tables[0])
    elif rule == NEAREST:
        point = nearest_reached(part, c, legs, tables[0])
    return (float(point) if point >= 0 else place), NEVER, NEVER


@kernel
def play_at(part, place, out):  # type: ignore[no-untyped-def]
    """Fill time, place and rise of the ball at a place among the points.

    Returns the comfort there and the share of replies kept.

    The rise is that of the straight way on from there.
    """
    out.time_s, out.ball_x_m, out.ball_y_m, out.ball_z_m, comfort, kept = point_at(part, place)
    k = max(min(int(place), part.points - 2), 0)
    out.rise_m_s = 0.0
    if part.points > 1:
        out.rise_m_s = (part.z_m[k + 1] - part.z_m[k]) / (part.time_s[k + 1] - part.time_s[k])
    return comfort, kept


@kernel
def drift_in(time, legs):  # type: ignore[no-untyped-def]
    """How far a velocity of 1 m/s carries a body in `time`."""
    return legs.tau_s * (1.0 - exp(-max(time, 0.0) / legs.tau_s))


@kernel
def approach(time, drift, dx, dy, c, legs):  # type: ignore[no-untyped-def]
    """How a body goes to a ball (dx, dy) from its start in `time`: (run, left, ux, uy).

    The drift is that of 1 m/s of its velocity; from there it runs in the direction (ux, uy) until
    the ball is at comfortable reach, as far as the time allows, and `left` away.
    """
    rx, ry = dx - c.vx_m_s * drift, dy - c.vy_m_s * drift
    distance = math.sqrt(rx * rx + ry * ry)
    farthest = legs.top_speed_m_s * (max(time, 0.0) - drift)
    run = max(0.0, min(distance - legs.comfortable_reach_m, farthest))
    ux = rx / distance if distance > 0.0 else 0.0
    uy = ry / distance if distance > 0.0 else 0.0
    return run, distance - run, ux, uy


@kernel
def wing_of(ux, legs):  # type: ignore[no-untyped-def]
    """The wing that plays a ball in the direction whose part to the right is `ux`."""
    return FOREHAND if ux * legs.hand >= 0.0 else BACKHAND


@kernel
def stretch_for(left, ux, legs):  # type: ignore[no-untyped-def]
    """How far the arm has to stretch: 0 at comfortable reach or nearer, 1 at full reach.

    For a ball `left` metres away after the run, whose direction has the part `ux` to the right.
    """
    full = legs.forehand_reach_m if wing_of(ux, legs) == FOREHAND else legs.backhand_reach_m
    beyond = left - legs.comfortable_reach_m
    return max(0.0, min(1.0, beyond / max(full - legs.comfortable_reach_m, 1e-9)))


@kernel
def stretch_at(time, drift, dx, dy, c, legs):  # type: ignore[no-untyped-def]
    """How far the arm has to stretch for a ball (dx, dy) from the start, played after `time`."""
    _, left, ux, _ = approach(time, drift, dx, dy, c, legs)
    return stretch_for(left, ux, legs)


@kernel
def in_control(spare_s, legs):  # type: ignore[no-untyped-def]
    """Chance of a return as far as time goes: 1 - exp(-time to spare / control time).

    Nothing for a ball that is not reached; with no control time, all that are reached come back.
    """
    if spare_s < 0.0:
        return 0.0
    if legs.control_time_s <= 0.0:
        return 1.0
    return 1.0 - exp(-spare_s / legs.control_time_s)


@kernel
def by_height(comfort, legs):  # type: ignore[no-untyped-def]
    """The share of replies that a height of this comfort leaves."""
    return 1.0 - legs.control_height_loss * (1.0 - comfort)


@kernel
def chance_of_reply(spare_s, stretch, comfort, legs):  # type: ignore[no-untyped-def]
    """Chance of a return: as far as time goes, less for stretch and discomfort.

    `spare_s` is the time to spare with full reach at the point of play, not the largest on the
    path; `comfort` that of the height, the rise and the pace of the ball there.
    """
    by_reach = 1.0 - legs.control_reach_loss * stretch * stretch
    return in_control(spare_s, legs) * by_reach * by_height(comfort, legs)
