"""After each own stroke: where to recover to, how far one gets in time, and what is missed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.answers.stroke.strokes import OWN_STROKES, OwnStroke, StrokeQuestion, own_stroke
from experiments.balls.best import Best, joined, top_of
from experiments.balls.places import LOOK_BALLS, around_x_m, refined
from experiments.balls.spots import are_on_the_line
from experiments.balls.struck import NOTHING_TO_REACH, chunks
from experiments.statistics.estimates import INDEX, Estimate, paired, ratio, share
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.settings import faced, repeated
from sim.contracts import RecoveryPolicy, Situation
from sim.errors import InputError
from sim.exchange import Recovery, body_beside, recover_bodies, strike_balls, with_policy
from sim.movement import recovered
from sim.over_arrays import length_of
from sim.records import OPPONENT, STUDIED

THERE_M, TIME_STEP_S, LONGEST_S = 0.1, 0.01, 8.0
BEST = "best"
AT_THE_NET = (
    "from a contact so near the net you stay at the net, wherever a policy would have you recover"
    " to; give a contact farther from it"
)


@dataclass(frozen=True)
class Aimed:
    """Recover toward one lateral place on the waiting line, whatever the opponent does."""

    x_m: float
    name: str = BEST

    def spots(self, seen: Situation) -> np.ndarray:
        return seen.spots_at(np.full(len(seen), self.x_m))


@dataclass(frozen=True, eq=False)
class Recovered:
    """One policy after one own stroke: where it goes, how far it gets, and what is lost.

    way_m: from the end of the own stroke to the spot; reached_m: where the opponent's strike finds
    the player, at `speed_left_m_s`; needs_s: from the own contact until no more than THERE_M of the
    way would be left. table: replicate rows in the columns of a tally.
    """

    name: str
    spot_m: tuple[float, float]
    reached_m: tuple[float, float]
    way_m: float
    speed_left_m_s: float
    needs_s: float
    table: np.ndarray

    @property
    def short_m(self) -> float:
        """What of the way is left when the opponent strikes."""
        return float(length_of(*np.subtract(self.spot_m, self.reached_m)))

    @property
    def share_of_way(self) -> float:
        """How much of the way is done, 0 to 1; 1 where there is no way to go."""
        return 1.0 - min(self.short_m / self.way_m, 1.0) if self.way_m > 0 else 1.0

    def lost(self, column: str = "missed") -> Estimate:
        """Balls of 100 that land in: `missed` or `not_returned`."""
        return share(Tally.of(self.table, self.table), column, "balls").scaled(100.0)

    @property
    def time_to_spare_s(self) -> float:
        """Mean time to spare over balls that land in."""
        return ratio(Tally.of(self.table, self.table), "spare_s", "balls").value


def difference(a: Recovered, b: Recovered, column: str = "missed") -> Estimate:
    """Balls in 100 that `a` loses more than `b`, on the same chance."""
    return paired(Tally.of(a.table, b.table), column, "balls").scaled(100.0)


@dataclass(frozen=True, eq=False)
class AfterStroke:
    """What follows one own stroke; `policies` ends with the best aim. Both empty of a winner.

    best: the best lateral aim given the time, by balls that do not come back (its share is of those
    that do); no aim that is compared is better, for they are among those it is chosen from.
    aims_x_m, aims_lost: the curve of those that do not come back, from few balls.
    in_per_100: of the opponent's balls, how many land in.
    """

    stroke: OwnStroke
    start_m: tuple[float, float]
    policies: tuple[Recovered, ...]
    best: Best | None
    aims_x_m: np.ndarray
    aims_lost: np.ndarray
    in_per_100: float

    @cached_property
    def by_name(self) -> dict[str, Recovered]:
        return {p.name: p for p in self.policies}


def after_strokes(
    question: StrokeQuestion, done: Callable[[], object] = lambda: None
) -> list[AfterStroke]:
    """All four strokes; `done` is called after each.

    Raises:
        InputError: a stroke cannot be played from there, or not one ball of the opponent lands in.
    """
    strokes = [own_stroke(question, name) for name in OWN_STROKES]  # all, before any long work
    out = []
    for stroke in strokes:
        out.append(after(question, stroke))
        done()
    return out


def after(question: StrokeQuestion, stroke: OwnStroke) -> AfterStroke:
    """What follows one own stroke.

    The best aim is looked for on balls of its own, that follow those on which it is judged among
    its neighbours and the policies.
    """
    start = body_beside(stroke.contact, question.scene.player)
    start_m = float(start["x_m"][0]), float(start["y_m"][0])
    if stroke.meets is None:
        nothing = np.zeros(0)
        return AfterStroke(stroke, start_m, (), None, nothing, nothing, 0.0)
    x, kept = curve_of(question, stroke)
    near = [Aimed(float(v)) for v in around_x_m(float(x[top_of(x, kept)]))]
    tried = [*question.policies, *near]
    runs, compared = tables(question, stroke, tried, 0, question.scene.balls)
    spots = np.concatenate([run.spots for run in runs])
    on_line = np.flatnonzero(are_on_the_line(spots, question.scene.line_m))
    if len(on_line) == 0:
        raise InputError(AT_THE_NET)
    aims = spots[on_line, 0]
    best = joined(x, kept, aims, 1.0 - np.array([_rate(compared[k]) for k in on_line]))
    chosen = int(on_line[np.abs(aims - best.top_x_m).argmin()])
    named = [*((policy.name, k) for k, policy in enumerate(question.policies)), (BEST, chosen)]
    found = tuple(
        _recovered(name, start_m, runs[k], time_needed_s(question, stroke, runs[k]), compared[k])
        for name, k in named
    )
    in_per_100 = 100.0 * float(compared[0][:, INDEX["balls"]].mean())
    return AfterStroke(stroke, start_m, found, best, x, 1.0 - kept, in_per_100)


def curve_of(question: StrokeQuestion, stroke: OwnStroke) -> tuple[np.ndarray, np.ndarray]:
    """Lateral aims, ascending, and the share of balls that come back, from few balls."""
    first, balls = question.scene.balls, min(LOOK_BALLS, question.scene.balls)

    def kept_at(x_m: np.ndarray) -> np.ndarray:
        aims = [Aimed(float(v)) for v in x_m]
        found = tables(question, stroke, aims, first, balls)[1]
        return 1.0 - np.array([_rate(table) for table in found])

    return refined(kept_at)


def _rate(table: np.ndarray) -> float:
    sums = table.sum(axis=0)
    if sums[INDEX["balls"]] == 0:
        raise InputError(NOTHING_TO_REACH)
    return float(sums[INDEX["not_returned"]] / sums[INDEX["balls"]])


def tables(
    question: StrokeQuestion,
    stroke: OwnStroke,
    policies: Sequence[RecoveryPolicy | Aimed],
    first: int,
    balls: int,
) -> tuple[list[Recovery], list[np.ndarray]]:
    """Recoveries of length one, and replicate tables of `balls` balls from `first` on, by policy.

    A hitter who does not look at the receiver plays the same balls to all policies.
    """
    runs = [recovery_to(question, stroke, policy) for policy in policies]
    parts: list[list[np.ndarray]] = [[] for _ in runs]
    game, contact = question.game, stroke.meets
    assert contact is not None
    for replicates in chunks(first, balls):
        contacts, shared = np.repeat(contact, len(replicates)), None
        if not question.scene.looks:
            anyone = np.repeat(runs[0].body, len(replicates))
            shared = strike_balls(game, OPPONENT, contacts, anyone, replicates, 0)
        for run, part in zip(runs, parts, strict=True):
            receiver = repeated(run, len(replicates))
            strokes = faced(game, contacts, receiver, replicates, shared)
            part.append(replicate_table(strokes, replicates, points=False))
    return runs, [np.concatenate(part) for part in parts]


def recovery_to(
    question: StrokeQuestion, stroke: OwnStroke, policy: RecoveryPolicy | Aimed
) -> Recovery:
    """How far a policy gets between the own stroke and the opponent's, length one."""
    game = with_policy(question.game, policy)
    body, time = body_beside(stroke.contact, question.scene.player), np.array([stroke.time_s])
    assert stroke.meets is not None
    return recover_bodies(game, STUDIED, body, stroke.meets, time, stroke.ball)


def time_needed_s(question: StrokeQuestion, stroke: OwnStroke, run: Recovery) -> float:
    """The least time from the own contact in which a recovery, at its effort, gets within THERE_M
    of its spot.

    To TIME_STEP_S; inf where LONGEST_S would not do.
    """
    times = np.arange(0.0, LONGEST_S, TIME_STEP_S)
    bodies = np.repeat(body_beside(stroke.contact, question.scene.player), len(times))
    same, spot = repeated(run, len(times)), run.spots[0]
    legs = question.scene.player.legs.numbers
    reached, _ = recovered(bodies, same.spots, times, legs, effort=same.effort)
    left = length_of(reached["x_m"] - spot[0], reached["y_m"] - spot[1])
    there = np.flatnonzero(left <= THERE_M)
    return float(times[there[0]]) if len(there) else float("inf")


def _recovered(
    name: str, start_m: tuple[float, float], run: Recovery, needs_s: float, table: np.ndarray
) -> Recovered:
    spot, body = run.spots[0], run.body[0]
    return Recovered(
        name,
        (float(spot[0]), float(spot[1])),
        (float(body["x_m"]), float(body["y_m"])),
        float(length_of(*np.subtract(spot, start_m))),
        float(length_of(body["vx_m_s"], body["vy_m_s"])),
        needs_s,
        table,
    )
