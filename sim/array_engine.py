"""The array engine: many rallies at once, stroke by stroke.

All rallies of a batch are at the same stroke number, so the same side strikes in all of them; the
ones that have ended drop out. The event engine plays the same rallies one by one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from sim.contracts import ShotModel
from sim.exchange import Game, Place, Recovery
from sim.records import OPPONENT, STROKE, put
from sim.turns import Strike, opened, paused, recovered, struck


def play(game: Game, place: Place, replicates: ArrayLike) -> np.ndarray:
    """Play rallies that begin with the opponent striking from `place`.

    The studied player waits at rest at the policy's spot. Returns STROKE records sorted by
    replicate and stroke; a rally of `game.stroke_limit` strokes is stopped (STROKE_LIMIT).
    """
    return played(game, opened(game, place, np.asarray(replicates, np.int64)), place.serve)


def play_from(
    game: Game,
    rallies: np.ndarray,
    contact: np.ndarray,
    hitter_body: np.ndarray,
    receiver: Recovery,
) -> np.ndarray:
    """Play rallies from any strike of the opponent's on: STROKE records as from `play`.

    `contact` are the opponent's CONTACT records and `hitter_body` its BODY records (n,), in the
    opponent's frame; `receiver` is where the studied side got to. Replicates `rallies` (n,).
    """
    n = len(rallies)
    when = np.zeros(n, np.int64), np.zeros(n)
    return played(game, Strike(OPPONENT, rallies, *when, contact, hitter_body, receiver))


def played(game: Game, strike: Strike, serve: ShotModel | None = None) -> np.ndarray:
    """The rallies from this strike on, as from `play`; a `serve` takes the place of its shots."""
    rows = []
    while len(strike):
        stroke = struck(game, strike, serve)
        rows.append(stroke.rows)
        strike, serve = recovered(game, paused(strike, stroke)), None
    return in_order(rows)


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
