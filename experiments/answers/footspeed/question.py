"""Footspeed: the question, and its answer as numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.answers.footspeed.places import (
    MEASURES,
    TAILS,
    BestPlace,
    best_place,
    rate_of,
    resample_weights,
)
from experiments.answers.footspeed.sweep import (
    MOST_BALLS,
    Sums,
    balls_of,
    chunks_of,
    line_of,
    sweep,
)
from experiments.answers.footspeed.varied import (
    TOP_SPEED,
    Varied,
    legs_with,
    own_value,
    values_of,
)
from experiments.answers.spot.question import SpotQuestion, on_the_line, placed_situation, spot_of
from experiments.balls.loss import Judged
from experiments.balls.places import around_x_m
from experiments.balls.struck import table_of
from experiments.statistics.estimates import Estimate, binomial_share, paired, share
from experiments.statistics.tally import Tally
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.legs import Legs

FEWEST_BALLS = 1000
MIDDLE = 0
STANDS = ("middle", "bisector", "best")
HALF_M_S = 0.5


@dataclass(frozen=True)
class FootspeedQuestion:
    """A scene (its policies are the middle and the bisector) and what of the legs is varied.

    Raises:
        InputError: too few or too many balls.
    """

    scene: SpotQuestion
    what: Varied

    def __post_init__(self) -> None:
        if not FEWEST_BALLS <= self.scene.balls <= MOST_BALLS:
            raise InputError(
                f"balls is {self.scene.balls}; allowed: {FEWEST_BALLS} to {MOST_BALLS}"
            )

    @property
    def balls(self) -> int:
        """Balls struck to look for the best places; as many again to judge places on."""
        return balls_of(self.scene.balls)


@dataclass(frozen=True, eq=False)
class AtLegs:
    """Where some legs should stand, and the balls lost from there and from the named places.

    best: by measure ("missed", "not_returned"). places_x_m: the middle, the bisector, then the
    neighbours of both best places. sums: at these, on balls of their own, on which the best of them
    is judged.
    """

    value: float
    legs: Legs
    best: dict[str, BestPlace]
    places_x_m: np.ndarray
    sums: Sums
    line_m: float

    @cached_property
    def judged(self) -> dict[str, Judged]:
        """The places by measure."""
        places = on_the_line(self.places_x_m, self.line_m)
        any_place = np.ones(len(places), bool)
        return {
            m: Judged(places, self.sums.landed, getattr(self.sums, m), any_place) for m in MEASURES
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
        one = self._worths(measure, None)
        low, high = np.percentile(self._worths(measure, self.weights), TAILS, method="nearest")
        return float(one[0]), float(low), float(high)

    def _worths(self, measure: str, weights: np.ndarray | None) -> np.ndarray:
        """The same for the balls as they are, (1,), or for each resample."""
        faster = [row for row in self.rows if row.value >= self.today.value - 1e-9]
        columns = [
            np.atleast_1d(rate_of(row.sums.at(MIDDLE), measure, weights)[..., 0]) for row in faster
        ]
        middle = np.minimum.accumulate(np.stack(columns, axis=1), axis=1)
        place = self.today.place("best", measure)
        target = np.atleast_1d(rate_of(self.today.sums.at(place), measure, weights)[..., 0])
        more = np.array([row.value for row in faster]) - self.today.value
        return np.array([_reached(more, m, t) for m, t in zip(middle, target, strict=True)])


def _reached(more: np.ndarray, rate: np.ndarray, target: float) -> float:
    """The least `more` at which a falling rate comes down to the target; inf if it never does."""
    if rate[-1] > target:
        return float("inf")
    return float(np.interp(-target, -rate, more)) if rate[0] > target else 0.0


def footspeed_of(question: FootspeedQuestion, done: Callable[[], object]) -> Footspeed:
    """Answer a question; `done` is called `steps_of` times.

    Raises:
        InputError: not one ball landed in.
    """
    scene, what = question.scene, question.what
    values = values_of(what, scene.player)
    legs = [legs_with(what, scene.player, float(value)) for value in values]
    x, weights = line_of(scene), resample_weights(scene.seed)
    searched = sweep(scene, legs, [x] * len(legs), 0, done)
    bests = [{m: best_place(x, sums, m, weights) for m in MEASURES} for sums in searched]
    places = [
        np.concatenate([named_spots(scene), *(around_x_m(b[m].top_x_m) for m in MEASURES)])
        for b in bests
    ]
    compared = sweep(scene, legs, places, question.balls, done)
    line_m = HALF_LENGTH_M + scene.depth_m
    rows = [
        AtLegs(float(values[k]), legs[k], bests[k], places[k], compared[k], line_m)
        for k in range(len(values))
    ]
    return Footspeed(question, tuple(rows), weights)


def steps_of(questions: Sequence[FootspeedQuestion]) -> int:
    """How often `done` is called for these questions."""
    return 2 * chunks_of() * len(questions)


def named_spots(scene: SpotQuestion) -> list[float]:
    """Lateral places of the scene's policies: the middle and the bisector, whatever the legs."""
    seen = placed_situation(scene)
    return [float(spot_of(policy, seen)[0]) for policy in scene.policies]
