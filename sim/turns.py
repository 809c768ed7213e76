"""A rally taken turn by turn: it can be stopped before each decision, and gone on with.

Turns follow each other: rallies stand before a strike (`Strike`); the ball is struck and met
(`struck`), which ends some of them; in the others the side that has struck has to decide where to
recover to (`Pause`), and once that is known (`recovered`) the other side strikes. The engines are
loops over these two steps, and so is whoever decides from outside. The rallies of a batch are at
stroke numbers of their own; the side that strikes is the same in all of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.contracts import ShotModel, Situation
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
    situation,
    stroke_records,
    wishes,
)
from sim.records import BALL, GOING, OPPONENT, PATH_POINTS, STROKE_LIMIT, taken
from sim.stroke import strike_into

AT_ONCE = 128  # balls whose paths stay in the processor's cache


@dataclass(frozen=True)
class Strike:
    """Rallies of which the next ball is about to be struck, by side `hitter`.

    replicates, stroke: (n,), which rally, and the number of its stroke that comes. time_s: (n,),
    when it is struck. contact, body: the hitter's CONTACT and BODY records (n,), in its own frame.
    receiver: where the other side got to.
    """

    hitter: int
    replicates: np.ndarray
    stroke: np.ndarray
    time_s: np.ndarray
    contact: np.ndarray
    body: np.ndarray
    receiver: Recovery

    def __len__(self) -> int:
        return len(self.replicates)


@dataclass(frozen=True)
class Pause:
    """Rallies that go on, stopped before side `side`, which has struck, decides where to recover.

    replicates, stroke: (n,), which rally, and the number of its stroke that comes. strike_s: (n,),
    when that is struck; flown_s: (n,), how long after the own strike. body: own BODY records (n,)
    at the own strike; ball: own BALL records, in the other side's frame. contact, other: CONTACT
    and BODY records of the other side when it strikes, in its own frame.
    """

    side: int
    replicates: np.ndarray
    stroke: np.ndarray
    strike_s: np.ndarray
    flown_s: np.ndarray
    body: np.ndarray
    ball: np.ndarray
    contact: np.ndarray
    other: np.ndarray

    def __len__(self) -> int:
        return len(self.replicates)

    def seen(self, game: Game) -> Situation:
        """What the side that decides can see."""
        return situation(game, self.side, self.body, self.contact, self.flown_s, self.ball)


@dataclass(frozen=True)
class Struck:
    """One stroke of each rally: its STROKE records, the BALL records, and how they were met."""

    rows: np.ndarray
    balls: np.ndarray
    met: Reception

    @property
    def going(self) -> np.ndarray:
        """Which rallies go on, (n,)."""
        return self.rows["ending"] == GOING


def opened(
    game: Game, place: Place, replicates: np.ndarray, spots: np.ndarray | None = None
) -> Strike:
    """Rallies that begin with the opponent striking from `place`, the studied side waiting at its
    policy's spot, or at `spots` (n, 2)."""
    nothing = np.zeros(len(replicates), np.int64)
    contact, body, receiver = opening(game, place, replicates, spots)
    return Strike(OPPONENT, replicates, nothing, np.zeros(len(nothing)), contact, body, receiver)


def struck(
    game: Game,
    before: Strike,
    serve: ShotModel | None = None,
    paths: np.ndarray | None = None,
) -> Struck:
    """Strike the ball of each rally and meet it, a few at a time; a `serve` takes the place of the
    hitter's own shots. A rally of `game.stroke_limit` strokes is stopped.

    `paths`, (n, PATH_POINTS, 5), is filled with the paths of the balls where these are wanted.
    """
    hitter, at, address = before.hitter, before.receiver, (before.replicates, before.stroke)
    contact = before.contact
    intents, errors, limits = wishes(game, hitter, contact, at.body, *address, serve)
    world, balls = game.world_of(1 - hitter), np.empty(len(before), BALL)
    met = expect(game, 1 - hitter, at, *address)
    passing = np.empty((min(len(before), AT_ONCE), PATH_POINTS, 5))
    for first in range(0, len(before), AT_ONCE):
        few = slice(first, first + AT_ONCE)
        what = contact[few], intents[few], errors[few], limits, world
        flown = passing if paths is None else paths[few]
        strike_into(*what, paths is not None, balls[few], flown)
        receive(game, 1 - hitter, balls[few], flown, at.spots, met, few)
    rows = stroke_records(*address, hitter, before.time_s, contact, at, balls, met)
    last = (rows["ending"] == GOING) & (before.stroke + 1 == game.stroke_limit)
    rows["ending"][last] = STROKE_LIMIT
    return Struck(rows, balls, met)


def paused(before: Strike, stroke: Struck) -> Pause:
    """The rallies that go on after these strokes, the hitter about to decide where to recover."""
    kept = np.flatnonzero(stroke.going)
    meeting, balls, body = (
        taken(records, kept) for records in (stroke.met.meeting, stroke.balls, before.body)
    )
    flown_s = meeting["time_s"]
    return Pause(
        side=before.hitter,
        replicates=before.replicates[kept],
        stroke=before.stroke[kept] + 1,
        strike_s=before.time_s[kept] + flown_s,
        flown_s=flown_s,
        body=body,
        ball=balls,
        contact=contact_of(meeting),
        other=body_of(meeting),
    )


def recovered(game: Game, pause: Pause, aims: np.ndarray | None = None) -> Strike:
    """The side that decides has recovered, and the other is about to strike.

    To its policy's spots, or as `aims` (n, 2 or 3) say: what a policy returns.
    """
    address = pause.replicates, pause.stroke - 1
    own = pause.body, pause.contact, pause.flown_s, pause.ball
    receiver = recover_bodies(game, pause.side, *own, *address, aims)
    return Strike(
        hitter=1 - pause.side,
        replicates=pause.replicates,
        stroke=pause.stroke,
        time_s=pause.strike_s,
        contact=pause.contact,
        body=pause.other,
        receiver=receiver,
    )
