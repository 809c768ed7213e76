"""How many fed balls a trial on court needs, to see what the model foretells of a cone.

Balls come in pairs from the same place to the same side, one with the player at the middle and one
with the player at the cone, which first by lot; a ball is kept (reached, or returned in) or lost.
What the pairs will be judged by is the exact test of `statistics.matched_pairs`, and the power is
that of this test.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from experiments.answers.handout.answer import feeding_places, number_of
from experiments.answers.trial.foretold import LOST, Feed, foretell
from experiments.answers.trial.practice import Practice
from experiments.output.in_a_line import InALine
from experiments.scene.scene import Scene
from experiments.statistics.bisection import root_of
from experiments.statistics.comparison import level_together
from experiments.statistics.estimates import Difference, mean_difference
from experiments.statistics.matched_pairs import (
    Stratum,
    chance_to_see,
    pairs_by_formula,
    pairs_needed,
)
from sim.contracts import RecoveryPolicy
from sim.errors import InputError, named

PLACES = 5
POWER, FALSE_ALARM = 0.8, 0.05
LEAST_POWER, MOST_POWER = 0.5, 0.99
LEAST_ALARM, MOST_ALARM = 0.001, 0.2


@dataclass(frozen=True)
class TrialQuestion:
    """A scene, the policy at whose spot the cone is, what counts, and what is asked of the trial.

    counts: reached or returned. numbers: of the places to feed from (of handout.feeding_places,
    from 1); none stands for the scene's own and its mirror image. power: the chance to see the
    foretold difference; false_alarm: that of seeing one where there is none.

    Raises:
        InputError: a number out of range.
    """

    scene: Scene
    policy: RecoveryPolicy
    practice: Practice
    counts: str = next(iter(LOST))
    numbers: tuple[int, ...] = ()
    power: float = POWER
    false_alarm: float = FALSE_ALARM

    def __post_init__(self) -> None:
        named("what counts", self.counts, LOST)
        for what, value, low, high in (
            ("power", self.power, LEAST_POWER, MOST_POWER),
            ("false alarm", self.false_alarm, LEAST_ALARM, MOST_ALARM),
        ):
            if not low <= value <= high:
                raise InputError(f"{what} is {value:g}; allowed: {low:g} to {high:g}")
        for number in self.numbers:
            if not 1 <= number <= PLACES:
                raise InputError(
                    f"place {number} is none to feed from; allowed: 1 (left) to {PLACES} (right)"
                )

    @property
    def chosen(self) -> tuple[int, ...]:
        """The numbers of the places to feed from, ascending."""
        if self.numbers:
            return tuple(sorted(set(self.numbers)))
        asked = number_of(self.scene.place, feeding_places(self.scene.place)) + 1
        return tuple(sorted({asked, PLACES + 1 - asked}))


@dataclass(frozen=True, repr=False)
class Trial(InALine):
    """What is foretold of all places, and what a trial with the chosen ones comes to.

    Places whose cone is the middle compare nothing and are left out of `feeds`.
    """

    question: TrialQuestion
    places: tuple[Feed, ...]

    @cached_property
    def feeds(self) -> tuple[Feed, ...]:
        """The chosen places."""
        return tuple(f for f in self.places if f.number in self.question.chosen and f.compares)

    @property
    def most_pairs(self) -> int:
        return self.question.practice.most_balls // 2

    @cached_property
    def fewer(self) -> Difference:
        """Lost fewer in 100 from the cones than from the middle, all chosen places alike."""
        return mean_difference([f.fewer for f in self.feeds])

    @cached_property
    def needed(self) -> int | None:
        """The pairs that see the foretold difference; None if the most do not."""
        return self.pairs_for(self.feeds)

    @cached_property
    def needed_at_ends(self) -> tuple[int | None, int | None]:
        """The same if the difference is what the far and the near end of its interval says."""
        value = self.fewer.value
        ends = sorted((self.fewer.low / value, self.fewer.high / value)) if value else (0.0, 0.0)
        far, near = ends[1], ends[0]
        return self.pairs_for(self.feeds, far), self.pairs_for(self.feeds, near)

    @property
    def pairs(self) -> int:
        """The pairs of the sheet: those needed, else the most."""
        return self.most_pairs if self.needed is None else self.needed

    @cached_property
    def power(self) -> float:
        """The chance to see the foretold difference with the sheet's pairs."""
        return self.chance(self.feeds, self.pairs)

    @cached_property
    def visible(self) -> float | None:
        """The smallest difference in 100 that the most pairs see with the power asked for.

        The middle's balls are as foretold; None if not even a cone that saves them all is seen.
        """

        def short(saved: float) -> float:
            strata = [
                replace(s, lost_cone=(1.0 - saved) * s.lost_middle).stratum()
                for f in self.feeds
                for s in f.sides
            ]
            asked = self.question
            return chance_to_see(strata, self.most_pairs, asked.false_alarm) - asked.power

        if short(1.0) < 0.0:
            return None
        middle = sum(f.lost_middle.value for f in self.feeds) / len(self.feeds)
        return middle * root_of(short, 0.0, 1.0)

    def pairs_for(self, feeds: Sequence[Feed], times: float = 1.0) -> int | None:
        """The pairs that see the difference there, in whole sets; None if the most do not."""
        asked = self.question
        step, most = asked.practice.pairs_a_set, self.most_pairs
        if not feeds or times <= 0.0:
            return None
        return pairs_needed(strata_of(feeds, times), asked.power, asked.false_alarm, step, most)

    def chance(self, feeds: Sequence[Feed], pairs: int) -> float:
        """The chance to see the foretold difference with so many pairs at some places."""
        return chance_to_see(strata_of(feeds), pairs, self.question.false_alarm)

    def about(self, feeds: Sequence[Feed]) -> float:
        """About how many pairs see it, by formula; infinite where there is nothing to see."""
        return pairs_by_formula(strata_of(feeds), self.question.power, self.question.false_alarm)


def strata_of(feeds: Sequence[Feed], times: float = 1.0) -> list[Stratum]:
    """The strata of some places, each place with the same share of the pairs."""
    return [s.stratum(times) for feed in feeds for s in feed.sides]


def plan_trial(question: TrialQuestion, done: Callable[[], object] = lambda: None) -> Trial:
    """Foretell all places; `done` is called after each of the PLACES.

    Raises:
        InputError: the policy has no spot on the waiting line, or no ball landed in.
    """
    scene, places = question.scene, []
    for i, place in enumerate(feeding_places(scene.place)):
        level = level_together(PLACES)
        places.append(foretell(scene.at(place), question.policy, question.counts, i + 1, level))
        done()
    return Trial(question, tuple(places))
