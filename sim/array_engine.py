"""The array engine: many rallies at once, stroke by stroke.

All rallies of a batch are at the same stroke number, so the same side strikes in all of them; the
ones that have ended drop out. The event engine plays the same rallies one by one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from sim.exchange import (
    Game,
    Place,
    body_of,
    contact_of,
    meet_balls,
    opening,
    recover_bodies,
    strike_balls,
    stroke_records,
)
from sim.records import GOING, OPPONENT, STROKE, STROKE_LIMIT


def play(game: Game, place: Place, replicates: ArrayLike) -> np.ndarray:
    """Play rallies that begin with the opponent striking from `place`.

    The studied player waits at rest at the policy's spot. Returns STROKE records sorted by
    replicate and stroke; a rally of `game.stroke_limit` strokes is stopped (STROKE_LIMIT).
    """
    rallies = np.asarray(replicates, np.int64)
    n = len(rallies)
    contact, hitter_body, receiver = opening(game, place, n)
    time, side = np.zeros(n), OPPONENT
    played = []
    for stroke in range(game.stroke_limit):
        serve = place.serve if stroke == 0 else None
        balls, paths = strike_balls(game, side, contact, receiver.body, rallies, stroke, serve)
        met = meet_balls(game, 1 - side, balls, paths, receiver, rallies, stroke)
        rows = stroke_records(rallies, stroke, side, time, contact, receiver, balls, met)
        meeting = met.meeting
        going = rows["ending"] == GOING
        if stroke + 1 == game.stroke_limit:
            rows["ending"][going] = STROKE_LIMIT
            going[:] = False
        played.append(rows)
        if not going.any():
            break
        meeting, rallies, balls = meeting[going], rallies[going], balls[going]
        contact = contact_of(meeting)
        receiver = recover_bodies(game, side, hitter_body[going], contact, meeting["time_s"], balls)
        hitter_body = body_of(meeting)
        time = time[going] + meeting["time_s"]
        side = 1 - side
    strokes = np.concatenate(played) if played else np.zeros(0, STROKE)
    return strokes[np.lexsort((strokes["stroke"], strokes["replicate"]))]
