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
SIDEWAYS = ("opponent", "opponent_near", "opponent_weak", "opponent_backhand", "toward_backhand")
USUAL = tuple(name for name in MEANING if name != "effort")
LARGEST_SEED = 2**32 - 1


@dataclass(frozen=True)
class Plan:
    """A search: what for, which weights, how many rounds of how many candidates, by which seed."""

    goal: Goal
    weights: tuple[str, ...] = USUAL
    rounds: int = 60
    candidates: int = 12
    seed: int = 1

    def __post_init__(self) -> None:
        if not 1 <= self.rounds <= 10_000:
            raise InputError(f"{self.rounds} rounds; give 1 to 10000")
        if not 4 <= self.candidates <= 1000:
            raise InputError(f"{self.candidates} candidates; give 4 to 1000")
        if len(set(self.weights)) != len(self.weights) or not self.weights:
            raise InputError("name each weight once, and at least one")
        for name in self.weights:
            named("weight", name, MEANING)


@dataclass(frozen=True)
class Round:
    """One round: what the candidates came to, (candidates,), and the mean weights after it."""

    values: tuple[float, ...]
    weights: dict[str, float]


def evolution(plan: Plan) -> Any:
    """The strategy at its start; coordinates are steps of each weight from its start.

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
    rng = np.random.default_rng([plan.seed, 0])
    low, high = zip(*(_bounds(name) for name in plan.weights), strict=True)
    options = {
        "popsize": plan.candidates,
        "bounds": [list(low), list(high)],
        "randn": lambda *shape: rng.standard_normal(shape),
        "seed": math.nan,  # the global generator is left alone
        "verbose": -9,
        "maxiter": math.inf,
        "tolfun": 0,
        "tolx": 0,
        "tolfunhist": 0,
        "tolstagnation": math.inf,
    }
    return cma.CMAEvolutionStrategy([0.0] * len(plan.weights), 1.0, options)


def step_of(name: str) -> float:
    """One step of a weight, in its own unit."""
    return (MEANING[name].high - MEANING[name].low) / STEPS_OF_A_RANGE


def _bounds(name: str) -> tuple[float, float]:
    start, step = START.get(name, 0.0), step_of(name)
    return (MEANING[name].low - start) / step, (MEANING[name].high - start) / step


def weights_at(plan: Plan, point: Sequence[float]) -> dict[str, float]:
    """The weights of a point of the search, inside their ranges."""
    out = {}
    for name, steps in zip(plan.weights, point, strict=True):
        value = START.get(name, 0.0) + float(steps) * step_of(name)
        out[name] = min(max(value, MEANING[name].low), MEANING[name].high)
    return out


def judge(plan: Plan, number: int, point: Sequence[float]) -> float:
    """What a candidate of round `number` is worth."""
    policy = Weighted("candidate", weights_at(plan, point))
    first = number * plan.goal.points
    return plan.goal.of(plan.goal.values(policy, plan.seed, first))


def search(
    plan: Plan,
    kept: Sequence[tuple[float, ...]],
    judged: Callable[[int, list[Any]], list[float]],
) -> Iterator[Round]:
    """The rounds of a search, those whose values are `kept` from before without judging anew."""
    strategy = evolution(plan)
    for number in range(plan.rounds):
        points = strategy.ask()
        values = kept[number] if number < len(kept) else judged(number, points)
        strategy.tell(points, [-value for value in values])
        yield Round(tuple(values), weights_at(plan, strategy.result.xfavorite))


@contextmanager
def bench(plan: Plan, workers: int) -> Iterator[Callable[[int, list[Any]], list[float]]]:
    """What judges the candidates of a round, in this process or in several; the same values."""
    if workers == 1:
        yield lambda number, points: [judge(plan, number, point) for point in points]
        return
    with ProcessPoolExecutor(workers, get_context("spawn"), end_with_parent) as pool:
        yield lambda number, points: list(pool.map(functools.partial(judge, plan, number), points))
