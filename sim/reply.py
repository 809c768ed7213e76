"""Where a ball that is reached is played, by a rule, and how good the reply is."""

from __future__ import annotations

import math

from sim.chase import gain_by, is_met
from sim.climb import NEVER
from sim.compiled import kernel
from sim.movement import arrival_near

EARLIEST, NEAREST, MOST_TIME, BALANCED = 0, 1, 2, 3
RULES = ("earliest", "nearest", "most-time", "balanced")
WAIT_COST_PER_S = 0.25


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
def best_reached(part, spare, c, legs, arrive, settle):  # type: ignore[no-untyped-def]
    """The one of every second point at which quality less waiting is best, and how settled.

    (-1 if none is reached; the time to spare for a settled stroke there.)

    The most promising point comes first; then most others are worse even if settled with `spare`,
    the most time to spare that there is.
    """
    first, hoped, most = 0, NEVER, quality_of(1.0, spare, legs)
    for k in range(0, part.points, 2):
        hope = most * part.comfort[k] - WAIT_COST_PER_S * part.time_s[k]
        first = k if hope > hoped else first
        hoped = max(hope, hoped)
    best, chosen, eased, settled = NEVER, -1, 0.0, NEVER
    for turn in range(-2, part.points, 2):
        k = first if turn < 0 else turn
        cost = WAIT_COST_PER_S * part.time_s[k]
        if most * part.comfort[k] - cost <= best:
            continue
        left = part.time_s[k] - c.wait_s
        dx, dy = part.x_m[k] - c.x_m, part.y_m[k] - c.y_m
        asked = spare_for(best + cost, part.comfort[k], legs)
        if asked > NEVER and not is_met(left - asked, dx, dy, c, legs, settle):
            continue
        if not is_reached(part, k, c, legs, arrive):
            continue
        eased = left - arrival_near(left - max(asked, eased), dx, dy, c, legs, settle)
        score = quality_of(part.comfort[k], eased, legs) - cost
        if score > best:
            best, chosen, settled = score, k, eased
    return chosen, settled


@kernel
def choose_point(part, spare, c, legs, tables, rule):  # type: ignore[no-untyped-def]
    """The point of the playable part at which the ball is played, by the rule, and how settled.

    -1 where the rule asks for most time, or finds no point that is reached. The time to spare for
    a settled stroke is NEVER where it was not needed to choose.
    """
    if rule == EARLIEST:
        return first_reached(part, c, legs, tables[0]), NEVER
    if rule == NEAREST:
        return nearest_reached(part, c, legs, tables[0]), NEVER
    if rule == BALANCED:
        return best_reached(part, spare, c, legs, tables[0], tables[1])
    return -1, NEVER


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
