"""Footspeed: the question, and its answer as numbers.

The same balls are met with many legs, from every place on the waiting line. Only against a hitter
who looks at the receiver does each place get balls of its own, on the same random numbers. The best
place for some legs comes with intervals, and with how far off costs one ball in a hundred.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.answers.footspeed.varied import TOP_SPEED, Varied, legs_with, own_value, values_of
from experiments.balls.best import best_of, tolerance
from experiments.balls.loss import Judged
from experiments.balls.places import around_x_m, line_x_m
from experiments.balls.spots import on_the_line, placed_situation, spots_of
from experiments.balls.struck import Counts, counted, table_of
from experiments.scene.scene import Scene, require_count
from experiments.statistics.estimates import Estimate, binomial_share, paired, share
from experiments.statistics.resampled import tails_of
from experiments.statistics.tally import Tally
from sim.chance import checked_seed
from sim.legs import Legs
from sim.over_arrays import interpolated, product
from strategies.recovery.bisector import Bisector
from strategies.recovery.middle import Middle

BATCHES = 200  # of balls: the units of resampling and of pairing, so that memory stays small
RESAMPLES = 400
PURPOSE = 105  # of chance, beside those of sim.chance and of the charts
COST = 0.01  # one ball in a hundred
MEASURES = ("missed", "not_returned")
FEWEST_BALLS, MOST_BALLS = 1000, 200_000
MIDDLE = 0
STANDS = ("middle", "bisector", "best")
HALF_M_S = 0.5


@dataclass(frozen=True)
class BestPlace:
    """The best lateral place by one measure, the tolerance around it, and 95 % intervals.

    x_m: the centre of the plateau, low_m to high_m, within half a ball in 100 of the best, which is
    at top_x_m. left_m, right_m: how far off x_m costs one ball in 100 more than at the best; inf
    where no place that was looked at costs so much. The intervals come from resampled balls: in 120
    repeats of 8000 balls, for two levels and both measures, they held the values of 200,000 balls
    in 90 to 97 of 100.
    """

    x_m: float
    low_m: float
    high_m: float
    top_x_m: float
    left_m: float
    right_m: float
    x_interval_m: tuple[float, float]
    left_interval_m: tuple[float, float]
    right_interval_m: tuple[float, float]


def resample_weights(seed: int) -> np.ndarray:
    """How often each batch of balls is drawn, with replacement: (RESAMPLES, BATCHES)."""
    rng = np.random.default_rng([checked_seed(seed), PURPOSE])
    return rng.multinomial(BATCHES, np.full(BATCHES, 1 / BATCHES), size=RESAMPLES).astype(float)


def rates_of(counts: Counts, measure: str, weights: np.ndarray) -> np.ndarray:
    """Share lost of the balls that landed in, by place, for each row of weights: (rows, k)."""
    top, bottom = (product(weights, values) for values in (getattr(counts, measure), counts.landed))
    return np.asarray(top / np.maximum(bottom, 1.0))


def best_place(x_m: np.ndarray, counts: Counts, measure: str, weights: np.ndarray) -> BestPlace:
    """The best place by balls in BATCHES batches that were met from the places `x_m`."""
    kept = 1.0 - counts.rate(measure)
    resampled = [_of_curve(x_m, 1.0 - r) for r in rates_of(counts, measure, weights)]
    intervals = (tails_of(column, some_infinite=True) for column in np.array(resampled).T)
    best, (_, left, right) = best_of(x_m, kept), _of_curve(x_m, kept)
    return BestPlace(best.x_m, best.low_m, best.high_m, best.top_x_m, left, right, *intervals)


def _of_curve(x_m: np.ndarray, kept: np.ndarray) -> tuple[float, float, float]:
    return best_of(x_m, kept).x_m, *tolerance(x_m, kept, COST)


@dataclass(frozen=True)
class FootspeedQuestion:
    """A scene, and what of the player's legs is varied.

    Raises:
        InputError: too few or too many balls.
    """

    scene: Scene
    what: Varied

    def __post_init__(self) -> None:
        require_count("balls", self.scene.balls, FEWEST_BALLS, MOST_BALLS)

    @property
    def balls(self) -> int:
        """Balls struck to look for the best places, whole batches; as many again to judge them."""
        return BATCHES * -(-self.scene.balls // BATCHES)

    @property
    def x_m(self) -> np.ndarray:
        """The lateral places that are searched; fewer against a hitter who looks."""
        return line_x_m(coarse=self.scene.looks)

    def met(self, legs: Legs, x_m: np.ndarray, first: int = 0) -> Counts:
        """The balls from `first` on, met with those legs from places on the line: by batch.

        Raises:
            InputError: from some place there is nothing to reach.
        """
        player = dataclasses.replace(self.scene.player, legs=legs)
        scene = dataclasses.replace(self.scene, player=player)
        places = on_the_line(x_m, scene.line_m)
        return counted(scene, places, self.balls, first, self.balls // BATCHES).require_balls()


@dataclass(frozen=True, eq=False)
class AtLegs:
    """Where some legs should stand, and the balls lost from there and from the named places.

    best: by measure ("missed", "not_returned"). places: (k, 2), the middle, the bisector, then the
    neighbours of both best places. counts: at these, on balls of their own, on which the best of
    them is judged.
    """

    value: float
    legs: Legs
    best: dict[str, BestPlace]
    places: np.ndarray
    counts: Counts

    @cached_property
    def judged(self) -> dict[str, Judged]:
        """The places by measure."""
        found, any_place = self.counts, np.ones(len(self.places), bool)
        return {
            m: Judged(self.places, found.landed, getattr(found, m), any_place) for m in MEASURES
        }

    def place(self, stand: str, measure: str) -> int:
        """The column of a named place; the best one is that of the measure."""
        return self.judged[measure].best if stand == "best" else STANDS.index(stand)

    def table(self, stand: str, measure: str) -> np.ndarray:
        """Sums by batch in the columns of a tally."""
        k = self.place(stand, measure)
        judged = self.judged[measure]
        return table_of(judged.landed[:, k], judged.lost[:, k], judged.places[k], self.value)

    def lost(self, stand: str, measure: str = "missed") -> Estimate:
        """Balls lost of 100 that land in, from a named place."""
        table = self.table(stand, measure)
        found = share(Tally.of(table, table), "missed", "balls")
        if found.se == 0.0:  # batches are only how balls are added up: each ball is its own unit
            found = binomial_share(found.value, found.n)
        return found.scaled(100.0)

    def loss(self, stand: str, measure: str = "missed") -> Estimate:
        """How many balls in 100 more are lost from a named place than from the best one."""
        return self.judged[measure].loss(self.place(stand, measure))


def difference(
    a: AtLegs, a_stand: str, b: AtLegs, b_stand: str, measure: str = "missed"
) -> Estimate:
    """Balls in 100 that `a` loses from there more than `b` does, on the same balls."""
    tally = Tally.of(a.table(a_stand, measure), b.table(b_stand, measure))
    return paired(tally, "missed", "balls").scaled(100.0)


@dataclass(frozen=True)
class Footspeed:
    """The answer to a FootspeedQuestion: one AtLegs a value, ascending."""

    question: FootspeedQuestion
    rows: tuple[AtLegs, ...]
    weights: np.ndarray

    @cached_property
    def today(self) -> AtLegs:
        """The player's own legs."""
        found = self.near(own_value(self.question.what, self.question.scene.player))
        assert found is not None
        return found

    def near(self, value: float) -> AtLegs | None:
        """The legs with that value, if it was tried."""
        return next((row for row in self.rows if abs(row.value - value) < 1e-9), None)

    def shifted(self, by: float) -> AtLegs | None:
        """The legs with that much more of what is varied, if tried."""
        return self.near(self.today.value + by)

    def worth(self, measure: str = "missed") -> tuple[float, float, float]:
        """How much more top speed would save from the middle what the best place saves today.

        (estimate, low, high) in m/s; inf where even the fastest legs tried do not save so much.

        Raises:
            ValueError: the top speed is not what is varied.
        """
        if self.question.what is not TOP_SPEED:
            raise ValueError("only speed has a worth in m/s")
        (one,) = self._worths(measure, np.ones((1, BATCHES)))
        return float(one), *tails_of(self._worths(measure, self.weights), some_infinite=True)

    def _worths(self, measure: str, weights: np.ndarray) -> np.ndarray:
        """The same for each row of weights of the batches, (rows,)."""
        faster = [row for row in self.rows if row.value >= self.today.value - 1e-9]
        columns = [rates_of(row.counts.at([MIDDLE]), measure, weights)[:, 0] for row in faster]
        middle = np.minimum.accumulate(np.stack(columns, axis=1), axis=1)
        best = self.today.counts.at([self.today.place("best", measure)])
        target = rates_of(best, measure, weights)[:, 0]
        more = np.array([row.value for row in faster]) - self.today.value
        return np.array([_reached(more, m, t) for m, t in zip(middle, target, strict=True)])


def _reached(more: np.ndarray, rate: np.ndarray, target: float) -> float:
    """The least `more` at which a falling rate comes down to the target; inf if it never does."""
    if rate[-1] > target:
        return float("inf")
    return float(interpolated(-target, -rate, more)) if rate[0] > target else 0.0


def footspeed_of(
    question: FootspeedQuestion, done: Callable[[], object] = lambda: None
) -> Footspeed:
    """Answer a question; `done` is called after each legs, see `steps_of`.

    Raises:
        InputError: not one ball landed in.
    """
    scene, what = question.scene, question.what
    named = spots_of((Middle(), Bisector()), placed_situation(scene))
    weights, rows = resample_weights(scene.seed), []
    for value in values_of(what, scene.player).tolist():
        legs = legs_with(what, scene.player, value)
        searched = question.met(legs, question.x_m)
        best = {m: best_place(question.x_m, searched, m, weights) for m in MEASURES}
        x = np.concatenate([named[:, 0], *(around_x_m(best[m].top_x_m) for m in MEASURES)])
        places = on_the_line(x, scene.line_m)
        compared = question.met(legs, x, first=question.balls)
        rows.append(AtLegs(value, legs, best, places, compared))
        done()
    return Footspeed(question, tuple(rows), weights)


def steps_of(questions: Sequence[FootspeedQuestion]) -> int:
    """How often `done` is called for these questions."""
    return sum(len(values_of(q.what, q.scene.player)) for q in questions)
