"""Two policies for every place that the opponent may strike from: who misses fewer of the balls."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.answers.spot.question import CHUNK, SpotQuestion, placed_situation, spot_of
from experiments.balls.struck import groups_of, struck_at, table_of
from experiments.statistics.comparison import verdict
from experiments.statistics.estimates import INDEX, Estimate, paired, ratio
from experiments.statistics.tally import Tally
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Place
from sim.records import MISSED

FARTHEST_X_M, NEAREST_Y_M, FARTHEST_Y_M = 5.0, 4.0, 15.0
FINEST_M, COARSEST_M = 0.1, 2.0
WORDS = {
    "wins": "fewer missed",
    "as good": "as good",
    "loses": "more missed",
    "not decided": "not decided",
}


@dataclass(frozen=True)
class Contrast:
    """A policy beside another for one contact place, of 100 balls that land in.

    fewer: balls missed fewer with the policy than with the other, on the same balls, with its 95 %
    interval. verdict: a key of WORDS.
    """

    x_m: float
    y_m: float
    spot_m: tuple[float, float]
    other_spot_m: tuple[float, float]
    missed_per_100: float
    other_missed_per_100: float
    fewer: Estimate

    @property
    def verdict(self) -> str:
        return verdict(self.fewer.low, self.fewer.high)


@dataclass(frozen=True)
class ContactMap:
    """Contrasts over a grid of contact places, row by row; None where no ball landed in.

    `question` asks about any one place; only its other parts hold for all.
    """

    question: SpotQuestion
    policy: str
    other: str
    x_m: np.ndarray
    y_m: np.ndarray
    found: tuple[Contrast | None, ...]

    def values(self, of: Callable[[Contrast], float]) -> np.ndarray:
        """A number of each contrast, (rows of y, columns of x); NaN where there is none."""
        flat = [np.nan if c is None else of(c) for c in self.found]
        return np.array(flat, float).reshape(len(self.y_m), len(self.x_m))

    def are(self, word: str) -> np.ndarray:
        """Which places have that verdict, (rows of y, columns of x)."""
        flat = [c is not None and c.verdict == word for c in self.found]
        return np.array(flat, bool).reshape(len(self.y_m), len(self.x_m))


def contact_grid(step_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Lateral places and distances from the net of the contacts, a step apart.

    Raises:
        InputError: a step out of range.
    """
    if not FINEST_M <= step_m <= COARSEST_M:
        raise InputError(f"step is {step_m:g} m; allowed: {FINEST_M:g} to {COARSEST_M:g}")
    slack = 1e-9
    side = int(FARTHEST_X_M / step_m + slack)
    deep = int((FARTHEST_Y_M - NEAREST_Y_M) / step_m + slack)
    return step_m * np.arange(-side, side + 1), NEAREST_Y_M + step_m * np.arange(deep + 1)


def contact_map(
    question: SpotQuestion,
    policy: RecoveryPolicy,
    other: RecoveryPolicy,
    step_m: float,
    done: Callable[[], object] = lambda: None,
) -> ContactMap:
    """The map of a question, whose place gives the height of the ball alone.

    All places use the same random numbers, so that neighbours differ by place and not by luck.
    `done` is called after each place.

    Raises:
        InputError: one policy twice, a step out of range, or a policy gives no usable spot.
    """
    if policy == other:
        raise InputError(f"both policies are {policy.name!r}; name two different ones")
    x_m, y_m = contact_grid(step_m)
    found = []
    for y in y_m:
        for x in x_m:
            place = Place("opponent's contact", float(x), float(y), question.place.z_m)
            asked = dataclasses.replace(question, place=place)
            found.append(contrast(asked, policy, other))
            done()
    return ContactMap(question, policy.name, other.name, x_m, y_m, tuple(found))


def contrast(
    question: SpotQuestion, policy: RecoveryPolicy, other: RecoveryPolicy
) -> Contrast | None:
    """Two policies at the place of a question; None if no ball lands in from there."""
    seen = placed_situation(question)
    spots = np.array([spot_of(policy, seen), spot_of(other, seen)])
    tally: Tally | None = None
    for first in range(0, question.balls, CHUNK):
        replicates = np.arange(first, min(first + CHUNK, question.balls))
        part = Tally.of(*tables(question, spots, replicates))
        tally = part if tally is None else tally + part
    assert tally is not None
    landed = min(tally.own[0, INDEX["balls"]], tally.reference[0, INDEX["balls"]])
    if landed == 0:
        return None
    swapped = Tally(tally.reference, tally.cross.T, tally.own)
    fewer = paired(swapped, "missed", "balls").scaled(100.0)
    own, its = (100.0 * ratio(t, "missed", "balls").value for t in (tally, swapped))
    a, b = ((float(x), float(y)) for x, y in spots)
    return Contrast(question.place.x_m, question.place.y_m, a, b, own, its, fewer)


def tables(
    question: SpotQuestion, spots: np.ndarray, replicates: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """For each of two spots (2, 2) a row a ball with the columns of experiments.statistics.tally.

    A hitter who sees the receiver plays to each spot, with the same random numbers.
    """
    out = []
    for group in groups_of(spots, question.hitter.sees_receiver):
        struck = struck_at(question.game, question.place, group[0], replicates)
        grade = struck.appraised(group, question.player.legs)[1]
        missed = np.zeros((len(replicates), len(group)))
        missed[struck.landed] = grade == MISSED
        out += [table_of(struck.landed, *pair) for pair in zip(missed.T, group, strict=True)]
    return out[0], out[1]
