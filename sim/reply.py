"""The chance that a ball which is reached comes back off the racket under control.

Reached, returned and returned well are three things: *reached* is a plain count of arrivals; the
chance here says how often a reached ball is returned at all; the quality of the meeting says how
fast, deep and exact the reply is. The chance grows smoothly from nothing for a ball that is just
touched. It replaces a cliff at no time to spare; its form and values are assumed.
"""

from __future__ import annotations

import math

from sim.compiled import kernel
from sim.records import FOREHAND


@kernel
def stretch_of(meeting, legs):  # type: ignore[no-untyped-def]
    """How far the arm has to stretch: 0 at comfortable reach or nearer, 1 at full reach."""
    full = legs.forehand_reach_m if meeting.wing == FOREHAND else legs.backhand_reach_m
    dx, dy = meeting.ball_x_m - meeting.body_x_m, meeting.ball_y_m - meeting.body_y_m
    beyond = math.sqrt(dx * dx + dy * dy) - legs.comfortable_reach_m
    return max(0.0, min(1.0, beyond / max(full - legs.comfortable_reach_m, 1e-9)))


@kernel
def in_control(spare_s, legs):  # type: ignore[no-untyped-def]
    """Chance of a return as far as time goes: 1 - exp(-time to spare / control time)."""
    if legs.control_time_s <= 0.0:
        return 1.0
    return 1.0 - math.exp(-max(spare_s, 0.0) / legs.control_time_s)


@kernel
def chance_of_reply(spare_s, stretch, comfort, legs):  # type: ignore[no-untyped-def]
    """Chance of a return: as far as time goes, less for stretch and discomfort.

    `spare_s` is the time to spare with full reach at the point of play, not the largest on the
    path; `comfort` that of the height, the rise and the pace of the ball there.
    """
    by_reach = 1.0 - legs.control_reach_loss * stretch * stretch
    return in_control(spare_s, legs) * by_reach * (1.0 - legs.control_height_loss * (1.0 - comfort))
