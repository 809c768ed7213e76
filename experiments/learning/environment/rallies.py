"""Many rallies at once, row by row, each stopped before a decision of the player: the one core that
the single, the batched and the two-sided environment share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.learning.environment.contest import Contest, Settings, contests_of
from experiments.learning.environment.done import DONE, actions_of_aims, aims_of_actions
from experiments.learning.environment.seen import fields, observed
from experiments.learning.environment.turn import Turned, Waiting, dealt, joined, turned
from experiments.study.served import turned_strokes
from sim.chance import checked_seed, fresh_seed
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.records import OPPONENT, STROKE


@dataclass(frozen=True)
class Step:
    """What a step of n rallies brought, (n,): which are over, which of them were stopped by the
    stroke limit, and the points won: 1, 0, or 0.5 where stopped; 0 while a rally goes on."""

    over: np.ndarray
    stopped: np.ndarray
    points: np.ndarray


class Rallies:
    """Row i of n plays the replicates i, i + n, i + 2 n, ... of one root seed. In which of several
    worlds, and to which court a serve goes, follows from the replicate: a batch of any size plays
    the same rallies.

    A point that the player serves and that is over before the player decides anything is left out:
    its row goes on to its next replicate.

    Raises:
        InputError: a setting that cannot be.
    """

    def __init__(self, settings: Settings, count: int, keeps_strokes: bool = False) -> None:
        if count < 1:
            raise InputError(f"the number of rallies at once is {count}; give 1 or more")
        self.settings, self.count = settings, count
        self.unseeded = contests_of(settings)
        self.court = np.zeros(count, np.int64)
        self.strokes: list[np.ndarray] | None = [] if keeps_strokes else None
        self.observations = np.zeros((count, len(fields(settings.bisector))))
        self.begin(fresh_seed() if settings.seed is None else settings.seed)

    def begin(self, seed: int) -> None:
        """Take another root seed, and begin at the first replicates again once dealt.

        Raises:
            InputError: no such seed.
        """
        self.seed = checked_seed(seed)
        self.contests = tuple(contest.with_seed(seed) for contest in self.unseeded)
        self.replicates = np.arange(self.count) - self.count
        self.waiting: list[list[Waiting]] = [[] for _ in self.contests]
        if self.strokes is not None:
            self.strokes = []

    def deal(self, which: np.ndarray) -> None:
        """Begin the next rally in the rows of a mask (n,); whatever went on there ends."""
        if not which.any():
            return
        begun: list[list[Waiting]] = [[w.kept(~which) for w in parts] for parts in self.waiting]
        rows = np.flatnonzero(which)
        while len(rows):
            rows = self._next(rows, begun)
        self.waiting = [joined(parts) for parts in begun]

    def _next(self, rows: np.ndarray, begun: list[list[Waiting]]) -> np.ndarray:
        """Take the next rallies of these rows as far as the player's first decision; returns the
        rows of those that were over before."""
        self.replicates[rows] += self.count
        self.court[rows] = self._court_of(self.replicates[rows])
        over = [np.empty(0, np.int64)]
        for k, contest in enumerate(self.contests):
            here = rows[self.court[rows] == k]
            for waiting in dealt(contest, here, self.replicates[here]):
                if contest.side == OPPONENT:
                    turn = self._turned(contest, waiting)
                    over.append(turn.rows)
                    waiting = turn.waiting
                self._observe(contest, waiting)
                begun[k].append(waiting)
        return np.concatenate(over)

    def _court_of(self, replicates: np.ndarray) -> np.ndarray:
        """In which contest replicates are played: by turns, each contest from all its places."""
        return replicates // len(self.contests[0].places) % len(self.contests)

    def step(self, actions: np.ndarray) -> Step:
        """The player recovers as the actions (n, 3) say, the opponent strikes and recovers by its
        policy, the player strikes. Rows whose rally is over stand still.

        Raises:
            InputError: actions of another shape or that are not finite.
        """
        aims = aims_of_actions(actions)
        out = Step(*(np.zeros(self.count, kind) for kind in (bool, bool, float)))
        for k, contest in enumerate(self.contests):
            answered = [self._turned(contest, w, aims[w.rows]) for w in self.waiting[k]]
            waiting = joined([turn.waiting for turn in answered])
            back = [self._turned(contest, w) for w in waiting]
            for turn in (*answered, *back):
                out.over[turn.rows] = True
                out.stopped[turn.rows] = turn.stopped
                out.points[turn.rows] = turn.points
            self.waiting[k] = joined([turn.waiting for turn in back])
            for w in self.waiting[k]:
                self._observe(contest, w)
        return out

    def _turned(self, contest: Contest, waiting: Waiting, aims: np.ndarray | None = None) -> Turned:
        turn = turned(contest, waiting, aims)
        if self.strokes is not None:
            self.strokes.append(turn.strokes)
        return turn

    def _observe(self, contest: Contest, waiting: Waiting) -> None:
        seen = waiting.state.seen(contest.game)
        self.observations[waiting.rows] = observed(seen, self.settings.bisector)

    def under_way(self) -> np.ndarray:
        """Which rows have a rally under way, (n,)."""
        out = np.zeros(self.count, bool)
        for parts in self.waiting:
            for w in parts:
                out[w.rows] = True
        return out

    def address(self) -> dict[str, np.ndarray]:
        """What replays the rally of each row, (n,): root seed, replicate, world (-1: none)."""
        worlds = [-1 if c.world is None else c.world for c in self.contests]
        return {
            "seed": np.full(self.count, self.seed),
            "replicate": self.replicates.copy(),
            "world": np.array(worlds)[self.court],
        }

    def actions_of(self, policy: RecoveryPolicy) -> np.ndarray:
        """The actions (n, 3) by which a recovery policy plays on; 0 where a rally is over."""
        out = np.zeros((self.count, len(DONE)))
        for contest, parts in zip(self.contests, self.waiting, strict=True):
            for w in parts:
                out[w.rows] = actions_of_aims(policy.spots(w.state.seen(contest.game)))
        return out

    def kept_strokes(self) -> np.ndarray:
        """The STROKE records of all strokes so far, rally by rally, in the player's frame; of
        rallies under way as far as they are.

        Raises:
            InputError: they were not kept.
        """
        if self.strokes is None:
            raise InputError("strokes were not kept; make the environment with keeps_strokes=True")
        rows = np.concatenate([np.empty(0, STROKE), *self.strokes])
        rows = rows[np.lexsort((rows["stroke"], rows["replicate"]))]
        return turned_strokes(rows) if self.contests[0].side == OPPONENT else rows
