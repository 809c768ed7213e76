"""Rallies of one contest that wait for one side to decide, taken one stroke further at a time."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from experiments.learning.environment.contest import Contest
from sim.contracts import Situation
from sim.exchange import Game, Place, at_leisure, opening_contact
from sim.records import STROKE_LIMIT, STUDIED, WON_BY_HITTER, taken
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
        return self if len(at) == len(self.rows) else Waiting(self.rows[at], _some(self.state, at))


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
    won = np.isin(ending, WON_BY_HITTER) == (strike.hitter == contest.side)
    return Turned(
        Waiting(waiting.rows[stroke.going], paused(strike, stroke)),
        waiting.rows[over],
        np.where(stopped, 0.5, won),
        stopped,
        stroke.rows,
    )


def joined(parts: Sequence[Waiting]) -> list[Waiting]:
    """The same rallies in as few parts as can be: those in the middle of a rally become one, those
    that open from a place, too."""
    out: list[Waiting] = []
    for part in parts:
        if not len(part.rows):
            continue
        for k, known in enumerate(out):
            if _alike(known.state, part.state):
                rows = np.concatenate([known.rows, part.rows])
                out[k] = Waiting(rows, _both(known.state, part.state))
                break
        else:
            out.append(part)
    return out


def _alike(a: Opening | Pause, b: Opening | Pause) -> bool:
    if isinstance(a, Opening) and isinstance(b, Opening):
        return a.place == b.place
    return type(a) is type(b)


def _both(a: Any, b: Any) -> Any:
    """Rallies of the one and then of the other."""
    rest = vars(b)
    return dataclasses.replace(
        a, **{name: np.concatenate([v, rest[name]]) for name, v in _arrays(a).items()}
    )


def _some(state: Any, at: np.ndarray) -> Any:
    """Some of the rallies."""
    return dataclasses.replace(state, **{name: taken(v, at) for name, v in _arrays(state).items()})


def _arrays(state: Any) -> dict[str, Any]:
    """What there is of each rally."""
    return {name: value for name, value in vars(state).items() if isinstance(value, np.ndarray)}
