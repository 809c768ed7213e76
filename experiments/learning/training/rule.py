"""A learned policy in words: the shortest rule that loses little to it.

A rule has one number (metres away from the opponent for each metre off the centre), two (and how
much farther back) or three (and in, when the opponent is weak at the ball). Each is searched for as
the whole policy was, from the shorter one on, rounded to what can be said, and judged beside it on
points held out.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.learning.training.answer import HELD_OUT
from experiments.learning.training.goal import Goal
from experiments.learning.training.search import Plan, bench, search
from experiments.statistics.comparison import LEVEL, shared
from experiments.statistics.estimates import Difference, paired
from experiments.statistics.tally import Tally
from sim.errors import InputError
from strategies.learned.reading import Learning
from strategies.recovery.learned import Weighted

RULES = (("opponent",), ("opponent", "back"), ("opponent", "back", "back_weak"))
ROUNDED = {"opponent": 0.05, "back": 0.25, "back_weak": 0.5}  # what a coach can say
WITHIN = 0.5  # points in 100 that a rule may lose
CANDIDATES = 8


@dataclass(frozen=True)
class Rule:
    """One rule, and what it loses to the learned policy against each hitter: points in 100."""

    weights: dict[str, float]
    loss: dict[str, Difference]


@dataclass(frozen=True)
class Distilled:
    """The rules of one learned policy, shortest first."""

    learning: Learning
    goal: Goal
    rules: tuple[Rule, ...]
    won: dict[str, float]  # points in 100 that the learned policy wins against each hitter
    rounds: int
    points: int
    seed: int

    @property
    def shortest(self) -> Rule:
        """The shortest rule within WITHIN of the best, else the one that loses least.

        By the goal: the mean over hitters, or where that was maximised, the least.
        """
        near = [rule for rule in self.rules if self.lost(rule) <= WITHIN]
        return near[0] if near else min(self.rules, key=self.lost)

    def lost(self, rule: Rule) -> float:
        """What a rule loses by the goal, in 100."""
        whole = np.array([self.won[hitter] for hitter in self.goal.hitters])
        loss = np.array([100.0 * rule.loss[hitter].value for hitter in self.goal.hitters])
        return self.goal.of(whole) - self.goal.of(whole - loss)


def goal_of(learning: Learning, points: int) -> Goal:
    """What a learned policy was trained for, as its file says.

    Raises:
        InputError: the file does not say.
    """
    found = learning.found
    try:
        return Goal(
            found["level"],
            tuple(found["hitters"]),
            found["maximised"] == "the least points won",
            found["surface"],
            found["hand"],
            found["opponent_hand"],
            found["worlds"],
            points,
        )
    except (KeyError, TypeError):
        raise InputError(
            f"{learning.title!r} does not say how it was found (table `found`); take a file that"
            " `rally-recovery learn` wrote"
        ) from None


def distilled(
    learning: Learning,
    rounds: int,
    points: int,
    held_out: int,
    seed: int,
    workers: int,
    done: Callable[[], object] = lambda: None,
) -> Distilled:
    """Search for the rules of a learned policy and judge them; `done` is called each round and for
    each judged rule."""
    goal = goal_of(learning, points)
    whole = Weighted("learned", learning.weights)
    level = shared(LEVEL, len(RULES) * len(goal.hitters))
    tables = {h: goal.table(whole, h, seed, HELD_OUT, held_out) for h in goal.hitters}
    done()
    rules, found = [], dict[str, float]()
    for names in RULES:
        plan = Plan(goal, names, rounds, CANDIDATES, seed, tuple(found.items()))
        found = rule_weights(plan, workers, done)
        weights = {name: said(name, value) for name, value in found.items()}
        policy = Weighted("rule", weights)
        loss = {}
        for hitter in goal.hitters:
            table = goal.table(policy, hitter, seed, HELD_OUT, held_out)
            more = paired(Tally.of(table, tables[hitter]), "points", "one", level)
            loss[hitter] = dataclasses.replace(
                more, value=-more.value, low=-more.high, high=-more.low
            )
        rules.append(Rule(weights, loss))
        done()
    won = {hitter: 100.0 * float(table[:, 6].mean()) for hitter, table in tables.items()}
    return Distilled(learning, goal, tuple(rules), won, rounds, held_out, seed)


def rule_weights(plan: Plan, workers: int, done: Callable[[], object]) -> dict[str, float]:
    """The weights of a rule that a search finds."""
    weights: dict[str, float] = {}
    with bench(plan, workers) as judged:
        for one in search(plan, [], judged):
            weights = one.weights
            done()
    return weights


def said(name: str, value: float) -> float:
    """A weight rounded to what can be said."""
    return round(ROUNDED[name] * round(value / ROUNDED[name]), 2) + 0.0
