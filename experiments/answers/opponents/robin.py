"""Round robin: every policy against every opponent in whole rallies."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.answers.opponents.field import Field
from experiments.statistics.estimates import Estimate, mean_difference, mean_of, paired, share
from experiments.statistics.tally import Tally, replicate_table
from sim.array_engine import play


@dataclass(frozen=True)
class Meeting:
    """One policy against one opponent over all places, with equal weights.

    in_time: of 100 balls that landed in, those reached in time. points: won of 100. points_more:
    won more than by the first policy of the field, in rallies on the same random numbers.
    """

    policy: str
    opponent: str
    in_time: Estimate
    points: Estimate
    points_more: Estimate


def robin_of(field: Field, done: Callable[[], object]) -> list[Meeting]:
    """All meetings; `done` is called after every one.

    The rallies of one opponent and place have the same random numbers whatever the policy.
    """
    out: list[Meeting] = []
    for hitter in field.opponents:
        first: list[np.ndarray] = []
        for policy in field.policies:
            game, numbers = field.game(policy, hitter), np.arange(field.rallies)
            tables = [
                replicate_table(play(game, place, numbers), numbers, points=True)
                for place in field.places
            ]
            first = first or tables
            tallies = [Tally.of(*pair) for pair in zip(tables, first, strict=True)]
            out.append(_meeting(policy.name, hitter.name, tallies))
            done()
    return out


def _meeting(policy: str, opponent: str, tallies: list[Tally]) -> Meeting:
    missed = mean_of([share(t, "missed", "balls") for t in tallies], is_share=True)
    in_time = Estimate(1 - missed.value, 1 - missed.high, 1 - missed.low, missed.se, missed.n)
    points = mean_of([share(t, "points", "one") for t in tallies], is_share=True)
    more = mean_difference([paired(t, "points", "one") for t in tallies])
    return Meeting(policy, opponent, *(e.scaled(100) for e in (in_time, points, more)))
