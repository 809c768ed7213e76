"""What a chart advises for one contact place, and how far that moves with the luck of the chart.

The balls of each direction are struck once; any belief is then a mixture of the four. So the best
place can be worked out anew for every resample of the chart, at the cost of a weighted mean.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from experiments.answers.spot.question import SpotQuestion, SpotResult, find_spot
from experiments.balls.best import Best, best_of
from experiments.balls.places import line_x_m
from sim.belief import DIRECTIONS, Belief, SeenBelief
from sim.chance import EXECUTION, SHOT, normals, uniforms
from sim.contracts import ShotSituation, bodies_at, turned
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import Game, opening_contact
from sim.meeting import appraisals
from sim.records import IN, MISSED
from sim.stroke import ERROR_DRAWS, strike
from strategies.directions import hand_of
from strategies.shots.aim import DEVIATES
from strategies.shots.charted import Charted

RESAMPLE, BELIEVED = 103, 104  # purposes of chance beside those of sim.chance
RESAMPLES, FEWEST_RESAMPLES, MOST_RESAMPLES = 400, 20, 10_000
TAILS = (2.5, 97.5)


@dataclass(frozen=True)
class ChartQuestion(SpotQuestion):
    """A SpotQuestion about the hitter of a chart; the player believes what the chart says."""

    resamples: int = RESAMPLES

    def __post_init__(self) -> None:
        super().__post_init__()
        if not FEWEST_RESAMPLES <= self.resamples <= MOST_RESAMPLES:
            raise InputError(
                f"resamples is {self.resamples}; allowed: {FEWEST_RESAMPLES} to {MOST_RESAMPLES}"
            )

    @property
    def charted(self) -> Charted:
        assert isinstance(self.hitter, Charted)
        return self.hitter

    @cached_property
    def belief(self) -> SeenBelief:
        return self.charted.belief_about(self.opponent)

    @property
    def game(self) -> Game:
        game = super().game
        return replace(game, studied=replace(game.studied, belief=self.belief))

    @cached_property
    def contact(self) -> np.ndarray:
        """The opponent's contact in the own frame, a CONTACT record of length one."""
        return opening_contact(self.place, self.game.opponent, 1)


@dataclass(frozen=True)
class DirectionCurves:
    """By direction: share of balls that land in (4,), and in and in time by place (4, places)."""

    x_m: np.ndarray
    lands: np.ndarray
    in_time: np.ndarray

    def share_in_time(self, shares: np.ndarray) -> np.ndarray:
        """Of the balls that land in, the share reached in time from each place, (places,)."""
        return np.asarray(shares @ self.in_time / (shares @ self.lands))

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
    is believed, (resamples,). near: strokes that count there, added up.
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

    @property
    def interval_m(self) -> tuple[float, float]:
        """Where 95 of 100 resampled best places lie."""
        return _tails(self.resampled_x_m)

    @property
    def believed_interval_m(self) -> tuple[float, float]:
        """Where the best place lies with 95 of 100 by what is believed."""
        return _tails(self.believed_x_m)


def _tails(values: np.ndarray) -> tuple[float, float]:
    low, high = np.percentile(values, TAILS)
    return float(low), float(high)


def advise(question: ChartQuestion) -> ChartAdvice:
    """The advice of a chart for one contact place.

    Raises:
        InputError: no ball landed in, or a policy gives no usable spot.
    """
    model, hand = question.charted, hand_of(question.opponent)
    curves = direction_curves(question)
    counts = question.belief.counts(question.contact, hand)[0]
    habit = np.array(model.blank.shares_at(question.contact, hand)[0])
    shares = direction_shares(question, question.belief)
    near, best = float(counts.sum()), curves.best(shares)
    found = find_spot(question)
    return ChartAdvice(
        spot=replace(found, curve_share_in_time=curves.share_in_time(shares), best=best),
        shares=shares,
        habit_shares=habit,
        lean=float(question.belief.lean(question.contact, hand)[0]),
        near=near,
        habit_best=curves.best(habit),
        chart_best=curves.best(counts / near) if near > 0.5 else None,
        resampled_x_m=resampled_best(question, curves),
        believed_x_m=believed_best(question, curves, shares * (model.prior_strokes + near)),
    )


def direction_shares(question: ChartQuestion, belief: Belief) -> np.ndarray:
    """Shares of the directions at the place asked for, (4,)."""
    return np.array(belief.shares_at(question.contact, hand_of(question.opponent))[0])


def resampled_best(question: ChartQuestion, curves: DirectionCurves) -> np.ndarray:
    """Best places for charts drawn from this one, stroke by stroke with replacement."""
    fit = question.charted.fit(question.opponent)
    n = len(fit.contacts)
    out = np.empty(question.resamples)
    for b in range(question.resamples):
        drawn = uniforms(question.seed, np.array([b]), RESAMPLE, 0, n)[0]
        times = np.bincount((drawn * n).astype(int), minlength=n)
        out[b] = curves.best(direction_shares(question, fit.belief(times))).x_m
    return out


def believed_best(
    question: ChartQuestion, curves: DirectionCurves, strokes: np.ndarray
) -> np.ndarray:
    """Best places for shares drawn from a Dirichlet distribution of so many strokes, (4,).

    It holds what a resample cannot: that the habit which the belief leans on may be wrong, too.
    """
    from scipy.special import gammaincinv  # slow to import

    rows = np.arange(question.resamples)
    drawn = uniforms(question.seed, rows, BELIEVED, 0, len(DIRECTIONS))
    parts = np.maximum(gammaincinv(np.maximum(strokes, 1e-3), drawn), 1e-12)
    return np.array([curves.best(part / part.sum()).x_m for part in parts])


def direction_curves(question: ChartQuestion) -> DirectionCurves:
    """Strike the balls of each direction and see which places reach them.

    Raises:
        InputError: not one ball of a direction landed in.
    """
    x = line_x_m(coarse=False)
    each = max(question.balls // len(DIRECTIONS), 1)
    lands, in_time = np.empty(len(DIRECTIONS)), np.empty((len(DIRECTIONS), len(x)))
    legs, y = question.player.legs, np.full(len(x), -(HALF_LENGTH_M + question.depth_m))
    for k in range(len(DIRECTIONS)):
        balls, paths = direction_balls(question, k, each)
        landed = balls["outcome"] == IN
        _, grade = appraisals(balls[landed], paths[landed], x, y, legs.numbers, legs.times)
        lands[k] = landed.mean()
        in_time[k] = (grade != MISSED).sum(axis=0) / each
    if not (lands > 0).all():
        raise InputError("not one ball of a direction landed in; ask for more balls")
    return DirectionCurves(x, lands, in_time)


def direction_balls(
    question: ChartQuestion, direction: int, count: int
) -> tuple[np.ndarray, np.ndarray]:
    """BALL records (count,) and paths of the charted hitter's balls in one direction."""
    game, model, hitter = question.game, question.charted, question.opponent
    contact = np.repeat(question.contact, count)
    seen = ShotSituation(
        hitter,
        question.player,
        game.world.numbers,
        contact,
        turned(bodies_at(np.zeros(count), np.full(count, -13.0))),
    )
    rows = np.arange(count)
    deviates = normals(uniforms(question.seed, rows, SHOT, 0, model.draws)[:, DEVIATES])
    errors = uniforms(question.seed, rows, EXECUTION, 0, ERROR_DRAWS)
    intents = model.paced(seen, model.aimed(seen, np.full(count, direction), deviates))
    return strike(contact, intents, errors, hitter.hitter.numbers, game.world.numbers)
