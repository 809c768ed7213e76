"""What a filled sheet says: pairs by what was kept, and whether the order of the lot was kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from experiments.answers.trial.foretold import LOST, REACHED
from experiments.answers.trial.reading import Filled, Played
from experiments.answers.trial.sheet import CONE, MIDDLE, cone_comes_first
from experiments.statistics.estimates import Estimate
from experiments.statistics.matched_pairs import Pairs
from sim.errors import InputError

PER_100 = 100.0
NONE = Pairs(0, 0, 0, 0)


@dataclass(frozen=True)
class Found:
    """What came of the trial: pairs by outcome (`reached`, `returned`) and, of what counts, by
    place; the cone is the first way.

    turned: pairs that were not in the order of the lot. halves: pairs of which one ball alone has
    a result.
    """

    sheet: Filled
    by_outcome: dict[str, Pairs]
    by_place: dict[int, Pairs]
    turned: tuple[int, ...]
    halves: int

    @property
    def pairs(self) -> Pairs:
        """By what counts."""
        return self.by_outcome[self.sheet.counts]

    @property
    def more(self) -> Estimate:
        """Kept more in 100 from the cone, with the interval that goes with the test."""
        return self.pairs.difference(1.0 - self.sheet.false_alarm).scaled(PER_100)

    @property
    def holds_foretold(self) -> bool:
        """Whether the interval holds what the model foretold."""
        more = self.more
        return more.low <= self.sheet.foretold_per_100 <= more.high

    @property
    def is_seen(self) -> bool:
        """Whether the test tells cone and middle apart."""
        return self.pairs.p_value <= self.sheet.false_alarm


def judge(sheet: Filled) -> Found:
    """The analysis of a sheet.

    Raises:
        InputError: not one pair has both its results.
    """
    pairs: dict[int, list[Played]] = defaultdict(list)
    for ball in sheet.balls:
        pairs[ball.pair].append(ball)
    by_outcome = dict.fromkeys(LOST, NONE)
    by_place: dict[int, Pairs] = {}
    halves, turned = 0, []
    first = dict(zip(pairs, cone_comes_first(sheet.seed, np.array(list(pairs))), strict=True))
    for number, balls in pairs.items():
        known = [b for b in balls if b.kept(sheet.counts) is not None]
        halves += len(known) == 1
        for counts in LOST:
            if (one := _pair(balls, counts)) is not None:
                by_outcome[counts] += one
                if counts == sheet.counts:
                    place = balls[0].place
                    by_place[place] = by_place.get(place, NONE) + one
        if len(known) == 2 and (min(known, key=lambda b: b.ball).stand == CONE) != first[number]:
            turned.append(number)
    if not by_place:
        raise InputError(
            f"the sheet {sheet.name} has no pair with both results in the column"
            f" {'reached' if sheet.counts == REACHED else 'returned_in'}; type 1 or 0 for each ball"
        )
    return Found(sheet, by_outcome, dict(sorted(by_place.items())), tuple(sorted(turned)), halves)


def _pair(balls: Sequence[Played], counts: str) -> Pairs | None:
    """One pair by what was kept; None where a result is not known."""
    kept = {b.stand: b.kept(counts) for b in balls}
    cone, middle = kept.get(CONE), kept.get(MIDDLE)
    if cone is None or middle is None:
        return None
    return Pairs(*map(int, (cone and middle, cone > middle, middle > cone, not (cone or middle))))
