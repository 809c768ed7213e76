"""What a chart advises for one contact place, and how far that moves with the luck of the chart.

The balls of each direction are struck once; any belief is then a mixture of the four. So the best
place can be worked out anew for every resample of the chart, at the cost of a weighted mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from experiments.answers.spot.answer import SpotResult, find_spot
from experiments.balls.best import Best, best_of
from experiments.balls.places import line_x_m
from experiments.balls.spots import on_the_line
from experiments.balls.struck import counted
from experiments.scene.scene import Scene, require_count
from experiments.statistics.resampled import resamples_of, tails_of
from sim.belief import DIRECTIONS, Belief, SeenBelief
from sim.chance import uniforms
from sim.contracts import RecoveryPolicy, ShotSituation
from sim.distributions import gamma_quantile_of
from sim.errors import InputError
from sim.exchange import opening_contact
from sim.over_arrays import product
from strategies.charts.reading import Chart
from strategies.directions import hand_of
from strategies.shots.charted import Charted

RESAMPLE, BELIEVED = 103, 104  # purposes of chance beside those of sim.chance
RESAMPLES, FEWEST_RESAMPLES, MOST_RESAMPLES = 400, 20, 10_000


@dataclass(frozen=True)
class ChartQuestion:
    """A scene whose hitter is that of a chart; the player believes what the chart says.

    Raises:
        InputError: a number of resamples out of range.
    """

    scene: Scene
    policies: Sequence[RecoveryPolicy]
    resamples: int = RESAMPLES

    def __post_init__(self) -> None:
        require_count("resamples", self.resamples, FEWEST_RESAMPLES, MOST_RESAMPLES)

    @property
    def charted(self) -> Charted:
        assert isinstance(self.scene.hitter, Charted)
        return self.scene.hitter

    @property
    def belief(self) -> SeenBelief:
        return self.charted.belief_about(self.scene.opponent)

    @property
    def at(self) -> tuple[np.ndarray, float]:
        """The opponent's contact in the own frame, a CONTACT record of length one, and the hand."""
        contact = opening_contact(self.scene.place, self.scene.game.opponent, 1)
        return contact, hand_of(self.scene.opponent)


@dataclass(frozen=True)
class OneWay:
    """The hitter of a chart with every ball in one direction, by the chance of the usual ones."""

    charted: Charted
    direction: int
    sees_receiver: ClassVar[bool] = False

    @property
    def name(self) -> str:
        return f"{self.charted.name}, {DIRECTIONS[self.direction]}"

    @property
    def draws(self) -> int:
        return self.charted.draws

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        """What is meant, at the pace that the chart shows."""
        directions = np.full(len(chance), self.direction)
        return self.charted.paced(seen, self.charted.towards(seen, directions, chance))


@dataclass(frozen=True)
class DirectionCurves:
    """By direction: share of balls that land in (4,), and in and in time by place (4, places)."""

    x_m: np.ndarray
    lands: np.ndarray
    in_time: np.ndarray

    def share_in_time(self, shares: np.ndarray) -> np.ndarray:
        """Of the balls that land in, the share reached in time from each place, (places,)."""
        reached = product(shares, self.in_time) / product(shares, self.lands)
        return np.minimum(reached, 1.0)  # of all balls reached rounding makes a little more

    def best(self, shares: np.ndarray) -> Best:
        """The best place when the directions have these shares."""
        return best_of(self.x_m, self.share_in_time(shares))


@dataclass(frozen=True)
class ChartAdvice:
    """The best place for the chart, and where it would be with other weights and other luck.

    shares: of the directions at the place asked for, by the belief; `habit_shares` by the habit
    alone. lean: the weight of the habit there, 0 to 1. habit_best: the best place for that habit;
    chart_best: for the chart alone, None where no stroke counts there. resampled_x_m: best places
    for resamples of the strokes, (resamples,). believed_x_m: best places for shares drawn from what
    is believed, (resamples,). near: strokes that count there, added up. counts: how much each
    stroke that tells of the directions counts there, from 0 to 1, in the order of the chart.
    """

    spot: SpotResult
    shares: np.ndarray
    habit_shares: np.ndarray
    lean: float
    near: float
    habit_best: Best
    chart_best: Best | None
    resampled_x_m: np.ndarray
    believed_x_m: np.ndarray
    counts: np.ndarray
    chart: Chart

    @property
    def interval_m(self) -> tuple[float, float]:
        """Where 95 of 100 resampled best places lie."""
        return tails_of(self.resampled_x_m)

    @property
    def believed_interval_m(self) -> tuple[float, float]:
        """Where the best place lies with 95 of 100 by what is believed."""
        return tails_of(self.believed_x_m)


def advise(question: ChartQuestion) -> ChartAdvice:
    """The advice of a chart for one contact place.

    Raises:
        InputError: no ball landed in, or a policy gives no usable spot.
    """
    model, belief, at = question.charted, question.belief, question.at
    curves = direction_curves(question)
    counts = belief.counts(*at)[0]
    habit = np.array(model.blank.shares_at(*at)[0])
    shares = direction_shares(question, belief)
    near, best = float(counts.sum()), curves.best(shares)
    found = find_spot(replace(question.scene, belief=belief), question.policies)
    return ChartAdvice(
        spot=replace(found, curve_share_in_time=curves.share_in_time(shares), best=best),
        shares=shares,
        habit_shares=habit,
        lean=float(belief.lean(*at)[0]),
        near=near,
        habit_best=curves.best(habit),
        chart_best=curves.best(counts / near) if near > 0.5 else None,
        resampled_x_m=resampled_best(question, curves),
        believed_x_m=believed_best(question, curves, shares * (model.prior_strokes + near)),
        counts=belief.nearness(*at)[0],
        chart=model.strokes,
    )


def direction_shares(question: ChartQuestion, belief: Belief) -> np.ndarray:
    """Shares of the directions at the place asked for, (4,)."""
    return np.array(belief.shares_at(*question.at)[0])


def resampled_best(question: ChartQuestion, curves: DirectionCurves) -> np.ndarray:
    """Best places for charts drawn from this one, stroke by stroke with replacement."""
    fit, seed = question.charted.fit(question.scene.opponent), question.scene.seed
    n, out = len(fit.contacts), np.empty(question.resamples)
    for b, drawn in enumerate(resamples_of(n, question.resamples, seed, RESAMPLE)):
        belief = fit.belief(np.bincount(drawn, minlength=n))
        out[b] = curves.best(direction_shares(question, belief)).x_m
    return out


def believed_best(
    question: ChartQuestion, curves: DirectionCurves, strokes: np.ndarray
) -> np.ndarray:
    """Best places for shares drawn from a Dirichlet distribution of so many strokes, (4,).

    It holds what a resample cannot: that the habit which the belief leans on may be wrong, too.
    """
    rows = np.arange(question.resamples)
    drawn = uniforms(question.scene.seed, rows, BELIEVED, 0, len(DIRECTIONS))
    parts = np.maximum(gamma_quantile_of(np.maximum(strokes, 1e-3), drawn), 1e-12)
    return np.array([curves.best(part / part.sum()).x_m for part in parts])


def direction_curves(question: ChartQuestion) -> DirectionCurves:
    """Strike the balls of each direction and see which places reach them.

    Raises:
        InputError: not one ball of a direction landed in.
    """
    scene, x = question.scene, line_x_m(coarse=False)
    each = max(scene.balls // len(DIRECTIONS), 1)
    lands, in_time = np.empty(len(DIRECTIONS)), np.empty((len(DIRECTIONS), len(x)))
    for k in range(len(DIRECTIONS)):
        one_way = replace(scene, hitter=OneWay(question.charted, k))
        found = counted(one_way, on_the_line(x, scene.line_m), each)
        lands[k] = found.balls_in[0] / each
        in_time[k] = (found.landed - found.missed).sum(axis=0) / each
    if not (lands > 0).all():
        raise InputError("not one ball of a direction landed in; ask for more balls")
    return DirectionCurves(x, lands, in_time)
