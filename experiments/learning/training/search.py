"""The search for weights: an evolution strategy on the same points for all candidates of a round.

Covariance matrix adaptation (Hansen and Ostermeier 2001, Evol. Comput. 9, 159), by the package
`cma`. A round's points are new ones, so that no candidate can learn them by heart; what counts in
the end is the mean of the last distribution. A search is known by what was asked and by the values
of the rounds so far, so that it goes on where it was stopped.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Any

import numpy as np

from experiments.learning.training.goal import Goal
from experiments.study.executors import end_with_parent
from sim.errors import InputError, named
from strategies.learned.reading import MEANING
from strategies.recovery.learned import Weighted

STEPS_OF_A_RANGE = 12.0  # the first step is such a part of a weight's range
START = {"opponent": 0.3}  # a light shade, which loses little to anybody
USUAL = tuple(name for name in MEANING if name != "effort")


@dataclass(frozen=True)
class Plan:
    """A search: what for, which weights, how many rounds of how many candidates, by which seed."""

    goal: Goal
    weights: tuple[str, ...] = USUAL
    rounds: int = 60
    candidates: int = 12
    seed: int = 1
    start: tuple[tuple[str, float], ...] = ()  # weights to start from, if not the usual ones

    def __post_init__(self) -> None:
        if not 1 <= self.rounds <= 10_000:
            raise InputError(f"{self.rounds} rounds; give 1 to 10000")
        if not 4 <= self.candidates <= 1000:
            raise InputError(f"{self.candidates} candidates; give 4 to 1000")
        if len(set(self.weights)) != len(self.weights) or not self.weights:
            raise InputError("name each weight once, and at least one")
        for name in self.weights:
            named("weight", name, MEANING)

    @property
    def knobs(self) -> list[Knob]:
        """What is searched for."""
        start = START | dict(self.start)
        return [knob(name, start.get(name, 0.0)) for name in self.weights]


@dataclass(frozen=True)
class Round:
    """One round: what the candidates came to, (candidates,), and the mean weights after it."""

    values: tuple[float, ...]
    weights: dict[str, float]


@dataclass(frozen=True)
class Knob:
    """A number that is searched for: where it starts, its first step, its range."""

    name: str
    start: float
    step: float
    low: float
    high: float

    def at(self, steps: float) -> float:
        """The number so many steps from the start, inside the range."""
        return min(max(self.start + steps * self.step, self.low), self.high)


def knob(name: str, start: float) -> Knob:
    """The knob of a weight of a policy."""
    low, high = MEANING[name].low, MEANING[name].high
    return Knob(name, start, (high - low) / STEPS_OF_A_RANGE, low, high)


def evolution(knobs: Sequence[Knob], candidates: int, seed: int) -> Any:
    """The strategy at its start; coordinates are steps of each knob from its start.

    Raises:
        InputError: the package `cma` is not installed.
    """
    try:
        import cma
    except ImportError:
        raise InputError(
            "learning needs the package 'cma', which is not installed; install the optional extra:"
            " pip install 'rally-recovery[learn]'"
        ) from None
    rng = np.random.default_rng([seed, 0])
    options = {
        "popsize": candidates,
        "bounds": [
            [(k.low - k.start) / k.step for k in knobs],
            [(k.high - k.start) / k.step for k in knobs],
        ],
        "randn": lambda *shape: rng.standard_normal(shape),
        "seed": math.nan,  # the global generator is left alone
        "verbose": -9,
        "maxiter": math.inf,
        "tolfun": 0,
        "tolx": 0,
        "tolfunhist": 0,
        "tolstagnation": math.inf,
    }
    return cma.CMAEvolutionStrategy([0.0] * len(knobs), 1.0, options)


def numbers_at(knobs: Sequence[Knob], point: Sequence[float]) -> dict[str, float]:
    """The numbers of a point of the search, inside their ranges."""
    return {k.name: k.at(float(steps)) for k, steps in zip(knobs, point, strict=True)}


def judge(plan: Plan, number: int, point: Sequence[float]) -> float:
    """What a candidate of round `number` is worth."""
    policy = Weighted("candidate", numbers_at(plan.knobs, point))
    first = number * plan.goal.points
    return plan.goal.of(plan.goal.values(policy, plan.seed, first))


def search(
    plan: Plan,
    kept: Sequence[tuple[float, ...]],
    judged: Callable[[int, list[Any]], list[float]],
) -> Iterator[Round]:
    """The rounds of a search, those whose values are `kept` from before without judging anew."""
    strategy = evolution(plan.knobs, plan.candidates, plan.seed)
    for number in range(plan.rounds):
        points = strategy.ask()
        values = kept[number] if number < len(kept) else judged(number, points)
        strategy.tell(points, [-value for value in values])
        yield Round(tuple(values), numbers_at(plan.knobs, strategy.result.xfavorite))


@contextmanager
def bench(plan: Plan, workers: int) -> Iterator[Callable[[int, list[Any]], list[float]]]:
    """What judges the candidates of a round, in this process or in several; the same values."""
    if workers == 1:
        yield lambda number, points: [judge(plan, number, point) for point in points]
        return
    with ProcessPoolExecutor(workers, get_context("spawn"), end_with_parent) as pool:
        yield lambda number, points: list(pool.map(functools.partial(judge, plan, number), points))
