"""A rally played stroke by stroke, with what a picture needs and a stored stroke does not hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.exchange import (
    Game,
    Place,
    Recovery,
    body_of,
    contact_of,
    meet_balls,
    opening,
    recover_bodies,
    strike_balls,
    stroke_records,
)
from sim.records import GOING, OPPONENT, STROKE_LIMIT


@dataclass(frozen=True)
class Exchange:
    """One stroke, its arrays of length one: who strikes, the ball, how it is met.

    row: its STROKE record. hitter_body: BODY record in the hitter's frame. ball, path, at (where
    the receiver is and the spot it aimed at), meeting: in the receiver's frame.
    """

    hitter: int
    row: np.ndarray
    hitter_body: np.ndarray
    ball: np.ndarray
    path: np.ndarray
    at: Recovery
    meeting: np.ndarray


def play_exchanges(game: Game, place: Place, replicate: int) -> list[Exchange]:
    """The strokes of rally number `replicate`, to the bit those of `sim.event_engine.play_rally`.

    It begins with the opponent striking from `place`.
    """
    rally, now, hitter = np.array([replicate]), np.zeros(1), OPPONENT
    contact, body, at = opening(game, place, 1)
    played: list[Exchange] = []
    for stroke in range(game.stroke_limit):
        serve = place.serve if stroke == 0 else None
        balls, paths = strike_balls(game, hitter, contact, at.body, rally, stroke, serve)
        met = meet_balls(game, 1 - hitter, balls, paths, at, rally, stroke)
        row = stroke_records(rally, stroke, hitter, now, contact, at, balls, met)
        played.append(Exchange(hitter, row, body, balls, paths[0], at, met.meeting))
        if row["ending"][0] != GOING:
            return played
        now = now + met.meeting["time_s"]
        contact = contact_of(met.meeting)
        at = recover_bodies(game, hitter, body, contact, met.meeting["time_s"], balls)
        body, hitter = body_of(met.meeting), 1 - hitter
    played[-1].row["ending"] = STROKE_LIMIT
    return played
