"""After an approach: where to stand at the net, by balls reached, returned and points won."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.answers.net.approach import NetQuestion, approach, passing
from experiments.answers.net.turning import Turning, turning_of
from experiments.answers.stroke.strokes import OwnStroke
from experiments.balls.best import PLATEAU
from experiments.balls.loss import Judged
from experiments.balls.struck import NOTHING_TO_REACH, chunks
from experiments.statistics.estimates import Estimate, binomial_share
from experiments.statistics.tally import points_won
from experiments.study.settings import faced, repeated
from sim.array_engine import play_from
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import Game, Recovery, at_rest, body_beside
from sim.kinds import LOB, PASSING_SHOT
from sim.movement import recovered
from sim.net_place import halfway_x_m
from sim.players import changed_parts
from sim.records import IN, MISSED

X_M = np.arange(-3.0, 3.01, 0.5)
LINE, ANGLE, CENTRE, OTHER = "line", "middle of the angle", "centre", "other side"
NAMED = (LINE, ANGLE, CENTRE, OTHER)
MEASURES = ("missed", "not_returned", "points")
PLATEAU_PER_100 = 100.0 * PLATEAU


@dataclass(frozen=True, eq=False)
class Met:
    """The same balls met from several aims (k, 2), by ball: (units, k) each.

    landed, passed, lobbed: balls in, passing shots in, lobs in. missed, missed_pass, missed_lob: of
    these not reached; not_returned: missed, or by the chance of the reply. points: lost, 0 to 1.
    """

    aims: np.ndarray
    landed: np.ndarray
    passed: np.ndarray
    lobbed: np.ndarray
    missed: np.ndarray
    missed_pass: np.ndarray
    missed_lob: np.ndarray
    not_returned: np.ndarray
    points: np.ndarray

    def judged(self, measure: str, among: np.ndarray, by: int = 0) -> Judged:
        """The aims by a measure; the best is one of the columns `among`, of equal ones that in the
        middle across (`by` 0) or along the court (1)."""
        bottom = np.ones_like(self.landed) if measure == "points" else self.landed
        line = np.isin(np.arange(len(self.aims)), among)
        places = self.aims if by == 0 else self.aims[:, ::-1]
        return Judged(places, bottom, getattr(self, measure), line)

    def lost_per_100(self, measure: str, aim: int, of: str = "landed") -> Estimate:
        """Lost of 100, of the balls `of` that kind, or of all points; NaN where there is none."""
        top = getattr(self, measure)[:, aim]
        bottom = np.ones(len(top)) if measure == "points" else getattr(self, of)[:, aim]
        if bottom.sum() == 0:
            return Estimate(math.nan, math.nan, math.nan, math.nan, 0)
        return binomial_share(float(top.sum() / bottom.sum()), int(bottom.sum())).scaled(100.0)

    def kept_per_100(self, measure: str, aim: int) -> Estimate:
        """What is not lost of 100."""
        lost = self.lost_per_100(measure, aim).scaled(0.01)
        return lost.complement.scaled(100.0)


@dataclass(frozen=True, eq=False)
class Chosen:
    """The best of some aims by a measure: its column, and those that lose to it no more than half
    a ball or point in 100 for sure (the choice counts in their intervals)."""

    judged: Judged
    as_good: np.ndarray

    @property
    def column(self) -> int:
        return self.judged.best


def chosen(judged: Judged) -> Chosen:
    """The best, and what cannot be told from it."""
    columns = np.flatnonzero(judged.line)
    near = [judged.loss(int(k)).low <= PLATEAU_PER_100 for k in columns]
    return Chosen(judged, columns[near])


@dataclass(frozen=True, eq=False)
class AtTheNet:
    """One way of passing: all aims, run to and stood at, and where the baseline rule turns round.

    distances_m: of the grid from the net; own_m: the player's own. reached_m: (k, 2), where the
    opponent's strike finds the player on the way to each aim. met: on the run; stood: as if already
    there (its points are all 0). The aims are the grid, distance by distance, then the named
    places.
    """

    hitter: str
    distances_m: tuple[float, ...]
    own_m: float
    reached_m: np.ndarray
    met: Met
    stood: Met
    turning: tuple[Turning, ...]

    @property
    def grid(self) -> int:
        """How many aims the grid has."""
        return len(X_M) * len(self.distances_m)

    def named(self, name: str) -> int:
        """The column of a named place."""
        return self.grid + NAMED.index(name)

    def kept(self, measure: str, there: bool = False) -> np.ndarray:
        """The share kept over the grid: (distances, lateral places)."""
        met = self.stood if there else self.met
        rate = met.judged(measure, np.arange(self.grid)).rate[: self.grid]
        return np.asarray(1.0 - rate.reshape(len(self.distances_m), len(X_M)))

    @cached_property
    def _across(self) -> dict[str, Chosen]:
        first = self.distances_m.index(self.own_m) * len(X_M)
        row = np.arange(first, first + len(X_M))
        return {m: chosen(self.met.judged(m, row)) for m in MEASURES}

    def across(self, measure: str) -> Chosen:
        """The best lateral place at the player's own distance from the net."""
        return self._across[measure]

    @cached_property
    def by_distance(self) -> np.ndarray:
        """The columns at each distance, as far across as the best for points at the own one."""
        across = self.across("points").column % len(X_M)
        return across + len(X_M) * np.arange(len(self.distances_m))

    def close(self, measure: str) -> Chosen:
        """The best distance from the net, as far across as is best at the own one."""
        return chosen(self.met.judged(measure, self.by_distance, by=1))

    def loss(self, measure: str, name: str) -> Estimate:
        """What a named place loses to the best lateral place at its distance, in 100."""
        return self.across(measure).judged.loss(self.named(name))


@dataclass(frozen=True, eq=False)
class NetAnswer:
    """The approach, how it is met, and what is best at the net against each way of passing."""

    question: NetQuestion
    stroke: OwnStroke
    start_m: tuple[float, float]
    passes: dict[str, AtTheNet]

    @property
    def side(self) -> float:
        """1.0 where the opponent's ball is to your right, -1.0 to your left."""
        return math.copysign(1.0, self.stroke.meets_m[0])


def named_aims(question: NetQuestion, stroke: OwnStroke) -> np.ndarray:
    """The line, the middle of the angle, the centre and the other side, (4, 2), at the own distance
    from the net: in front of a ball straight down the line, halfway between the passing lanes, and
    as far on the other side."""
    x, y, _ = stroke.meets_m
    d = question.own_m
    middle = float(halfway_x_m(x, y, d))
    line = x + (math.copysign(_LINE_X_M, x) - x) * (y + d) / (y + HALF_LENGTH_M)
    return np.array([[v, -d] for v in (line, middle, 0.0, -middle)])


_LINE_X_M = 3.8  # a ball down the line lands so far from the centre, well inside the sideline


def grid_aims(question: NetQuestion) -> np.ndarray:
    """The grid (k, 2), distance by distance."""
    return np.array([[x, -d] for d in question.distances_m for x in X_M])


def steps_of(question: NetQuestion) -> int:
    """How often `done` is called for a question."""
    return len(passing(question.scene.hitter)) * (len(grid_aims(question)) + len(NAMED))


def net_answer(question: NetQuestion, done: Callable[[], object] = lambda: None) -> NetAnswer:
    """Answer a question; `done` is called after each aim.

    Raises:
        InputError: the approach cannot be played, is not reached, or no ball lands in.
    """
    stroke = approach(question)
    start = body_beside(stroke.contact, question.scene.player)
    aims = np.vstack([grid_aims(question), named_aims(question, stroke)])
    runs = [_run(question, stroke, start, aim) for aim in aims]
    balls, passes = question.scene.balls, {}
    for name, hitter in passing(question.scene.hitter).items():
        game = question.game
        game = dataclasses.replace(game, opponent=dataclasses.replace(game.opponent, shots=hitter))
        columns = []
        for aim, run in zip(aims, runs, strict=True):
            columns.append(
                (
                    _played(game, stroke, run, aim, balls),
                    _stood(game, stroke, aim, balls),
                )
            )
            done()
        met = _joined(aims, [run for run, _ in columns])
        rest = [np.vstack([there, np.zeros(balls)]) for _, there in columns]
        reached = np.array([[r.body["x_m"][0], r.body["y_m"][0]] for r in runs])
        turning = turning_of(game, balls, stroke)
        stood, where = _joined(aims, rest), (question.distances_m, question.own_m)
        passes[name] = AtTheNet(hitter.name, *where, reached, met, stood, turning)
    return NetAnswer(question, stroke, (float(start["x_m"][0]), float(start["y_m"][0])), passes)


def _run(question: NetQuestion, stroke: OwnStroke, start: np.ndarray, aim: np.ndarray) -> Recovery:
    legs, time = question.scene.player.legs, np.array([stroke.time_s])
    reached, run = recovered(start, aim[None], time, legs.numbers)
    return Recovery(reached, aim[None], run, np.zeros(1))


def _played(
    game: Game, stroke: OwnStroke, run: Recovery, aim: np.ndarray, balls: int
) -> np.ndarray:
    """Each ball met on the run and played on, by a player who keeps the aim's distance from the
    net: (8, units), in the order of Met."""
    studied = game.studied
    player = changed_parts(studied.player, {"legs": {"net_distance_m": -float(aim[1])}})
    game = dataclasses.replace(game, studied=dataclasses.replace(studied, player=player))
    parts = []
    assert stroke.meets is not None and stroke.opponent is not None
    for replicates in chunks(0, balls):
        n = len(replicates)
        contact, body = np.repeat(stroke.meets, n), np.repeat(stroke.opponent, n)
        rows = play_from(game, replicates, contact, body, repeated(run, n))
        won = points_won(rows, np.searchsorted(replicates, rows["replicate"]), n)
        parts.append(np.vstack([_counts(rows[rows["stroke"] == 0]), 1.0 - won]))
    return np.concatenate(parts, axis=1)


def _stood(game: Game, stroke: OwnStroke, aim: np.ndarray, balls: int) -> np.ndarray:
    """Each ball met by a player who stands there: (7, units), in the order of Met."""
    assert stroke.meets is not None
    parts = []
    for replicates in chunks(0, balls):
        n = len(replicates)
        at = at_rest(np.repeat(aim[None], n, axis=0))
        parts.append(_counts(faced(game, np.repeat(stroke.meets, n), at, replicates, None)))
    return np.concatenate(parts, axis=1)


def _counts(rows: np.ndarray) -> np.ndarray:
    """The first seven of Met for first strokes, (7, n)."""
    landed, missed = rows["outcome"] == IN, rows["grade"] == MISSED
    kinds = [landed & (rows["kind"] == kind) for kind in (PASSING_SHOT, LOB)]
    returned = np.where(landed, rows["reply_chance"], 1.0)
    lost = [landed & missed, *(kind & missed for kind in kinds)]
    return np.vstack([landed, *kinds, *lost, 1.0 - returned]).astype(float)


def _joined(aims: np.ndarray, columns: Sequence[np.ndarray]) -> Met:
    found = np.stack(columns, axis=2)
    if not found[0].sum(axis=0).all():
        raise InputError(NOTHING_TO_REACH)
    return Met(aims, *found)
