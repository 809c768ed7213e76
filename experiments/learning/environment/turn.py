"""Rallies of one contest that wait for one side to decide, taken one stroke further at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from experiments.learning.environment.contest import Contest
from experiments.study.stopped import end_to_end, some_of
from sim.contracts import Situation
from sim.exchange import Game, Place, at_leisure, opening_contact
from sim.records import STROKE_LIMIT, STUDIED, WON_BY_HITTER
from sim.turns import Pause, opened, paused, recovered, struck


@dataclass(frozen=True)
class Opening:
    """Rallies (n,) before the first stroke, all from one place: the studied side decides."""

    place: Place
    replicates: np.ndarray
    side: ClassVar[int] = STUDIED

    def __len__(self) -> int:
        return len(self.replicates)

    def seen(self, game: Game) -> Situation:
        """What the side that decides can see."""
        return at_leisure(game, opening_contact(self.place, game.opponent, len(self)))


@dataclass(frozen=True)
class Waiting:
    """Rallies that wait for a decision, and the row of each in a batch, (n,)."""

    rows: np.ndarray
    state: Opening | Pause

    def kept(self, mask: np.ndarray) -> Waiting:
        """Those of a mask over all rows of the batch."""
        at = np.flatnonzero(mask[self.rows])
        return (
            self if len(at) == len(self.rows) else Waiting(self.rows[at], some_of(self.state, at))
        )


@dataclass(frozen=True)
class Turned:
    """One stroke of rallies: those that go on, and of those that are over the rows, whether the
    given side won (1, 0, or 0.5 where the stroke limit stopped it), and whether it was stopped;
    the STROKE records of all."""

    waiting: Waiting
    rows: np.ndarray
    points: np.ndarray
    stopped: np.ndarray
    strokes: np.ndarray


def dealt(contest: Contest, rows: np.ndarray, replicates: np.ndarray) -> Iterator[Waiting]:
    """New rallies, by the place that they open from."""
    count = len(contest.places)
    for k, place in enumerate(contest.places):
        at = np.flatnonzero(replicates % count == k)
        if len(at):
            yield Waiting(rows[at], Opening(place, replicates[at]))


def turned(contest: Contest, waiting: Waiting, aims: np.ndarray | None = None) -> Turned:
    """The side that waits has decided (`aims` (n, 2 or 3), else its policy), and the other side
    strikes: the side that has to decide next is the one that struck."""
    game, state = contest.game, waiting.state
    if isinstance(state, Opening):
        spots = None if aims is None else aims[:, :2]
        strike = opened(game, state.place, state.replicates, spots)
        stroke = struck(game, strike, state.place.serve)
    else:
        strike = recovered(game, state, aims)
        stroke = struck(game, strike)
    over = np.flatnonzero(~stroke.going)
    ending = stroke.rows["ending"][over]
    stopped = ending == STROKE_LIMIT
    by_hitter = (ending[:, None] == WON_BY_HITTER).any(axis=1)
    won = by_hitter == (strike.hitter == contest.side)
    return Turned(
        Waiting(waiting.rows[stroke.going], paused(strike, stroke)),
        waiting.rows[over],
        np.where(stopped, 0.5, won),
        stopped,
        stroke.rows,
    )


def joined(parts: Iterable[Waiting]) -> list[Waiting]:
    """The same rallies in as few parts as can be: those in the middle of a rally become one, those
    that open from a place, too."""
    alike: dict[object, list[Waiting]] = {}
    for part in parts:
        if len(part.rows):
            state = part.state
            alike.setdefault(state.place if isinstance(state, Opening) else Pause, []).append(part)
    return [same[0] if len(same) == 1 else _one(same) for same in alike.values()]


def _one(parts: list[Waiting]) -> Waiting:
    """Parts that are alike, one after the other."""
    rows = np.concatenate([part.rows for part in parts])
    return Waiting(rows, end_to_end([part.state for part in parts]))
