"""The array engine: many rallies at once, stroke by stroke.

All rallies of a batch are at the same stroke number, so the same side strikes in all of them; the
ones that have ended drop out. The event engine plays the same rallies one by one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from sim.contracts import ShotModel
from sim.exchange import (
    Game,
    Place,
    Reception,
    Recovery,
    body_of,
    contact_of,
    expect,
    opening,
    receive,
    recover_bodies,
    stroke_records,
    wishes,
)
from sim.records import (
    BALL,
    GOING,
    OPPONENT,
    PATH_POINTS,
    STROKE,
    STROKE_LIMIT,
    put,
    taken,
)
from sim.stroke import strike_into

AT_ONCE = 128  # balls whose paths stay in the processor's cache


def play(game: Game, place: Place, replicates: ArrayLike) -> np.ndarray:
    """Play rallies that begin with the opponent striking from `place`.

    The studied player waits at rest at the policy's spot. Returns STROKE records sorted by
    replicate and stroke; a rally of `game.stroke_limit` strokes is stopped (STROKE_LIMIT).
    """
    rallies = np.asarray(replicates, np.int64)
    return play_from(game, rallies, *opening(game, place, rallies), place.serve)


def play_from(
    game: Game,
    rallies: np.ndarray,
    contact: np.ndarray,
    hitter_body: np.ndarray,
    receiver: Recovery,
    serve: ShotModel | None = None,
) -> np.ndarray:
    """Play rallies from any strike of the opponent's on: STROKE records as from `play`.

    `contact` are the opponent's CONTACT records and `hitter_body` its BODY records (n,), in the
    opponent's frame; `receiver` is where the studied side got to. Replicates `rallies` (n,); a
    `serve` takes the place of the opponent's first stroke.
    """
    n = len(rallies)
    time, side = np.zeros(n), OPPONENT
    played = []
    for stroke in range(game.stroke_limit if n else 0):
        first = serve if stroke == 0 else None
        balls, met = strike_and_meet(game, side, contact, receiver, rallies, stroke, first)
        rows = stroke_records(rallies, stroke, side, time, contact, receiver, balls, met)
        going = rows["ending"] == GOING
        if stroke + 1 == game.stroke_limit:
            rows["ending"][going] = STROKE_LIMIT
            going[:] = False
        played.append(rows)
        kept = np.flatnonzero(going)
        if not len(kept):
            break
        meeting, balls, hitter_body = (taken(r, kept) for r in (met.meeting, balls, hitter_body))
        rallies, time = rallies[kept], time[kept] + meeting["time_s"]
        contact = contact_of(meeting)
        flown, own = meeting["time_s"], (hitter_body, contact)
        receiver = recover_bodies(game, side, *own, flown, balls, rallies, stroke)
        hitter_body = body_of(meeting)
        side = 1 - side
    return in_order(played)


def in_order(played: list[np.ndarray]) -> np.ndarray:
    """The strokes, given stroke number by stroke number, rally by rally."""
    if not played:
        return np.zeros(0, STROKE)
    order = np.argsort(np.concatenate([rows["replicate"] for rows in played]), kind="stable")
    place, out, first = np.empty_like(order), np.empty(len(order), STROKE), 0
    place[order] = np.arange(len(order))
    for rows in played:
        put(rows, place[first : first + len(rows)], out)
        first += len(rows)
    return out


def strike_and_meet(
    game: Game,
    hitter: int,
    contact: np.ndarray,
    at: Recovery,
    replicates: np.ndarray,
    stroke: int,
    serve: ShotModel | None = None,
) -> tuple[np.ndarray, Reception]:
    """BALL records and how they are met: as by `strike_balls` and `meet_balls`, a few at a time."""
    intents, errors, limits = wishes(game, hitter, contact, at.body, replicates, stroke, serve)
    world, balls = game.world_of(1 - hitter), np.empty(len(contact), BALL)
    out = expect(game, 1 - hitter, at, replicates, stroke)
    paths = np.empty((min(len(contact), AT_ONCE), PATH_POINTS, 5))
    for first in range(0, len(contact), AT_ONCE):
        few = slice(first, first + AT_ONCE)
        struck = contact[few], intents[few], errors[few], limits, world
        strike_into(*struck, False, balls[few], paths)
        receive(game, 1 - hitter, balls[few], paths, at.spots, out, few)
    return balls, out
