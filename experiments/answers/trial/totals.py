"""Two totals that were counted without a sheet: balls kept from the middle, and from the cone.

Such balls go in no pairs, and no lot drew their order: they are compared as two counts of balls of
their own, and the words say what that leaves open.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from experiments.answers.trial.foretold import LOST
from experiments.answers.trial.result import PER_100
from experiments.answers.trial.sheet import CONE, MIDDLE
from experiments.statistics import two_counts
from experiments.statistics.estimates import LEVEL, Estimate
from experiments.statistics.two_counts import Count
from sim.errors import LONGEST_NAME, InputError, named

MOST_BALLS = 500  # from one place; the exact test takes two seconds then, and ever longer
EXAMPLE = "--totals 31/40,35/40"
ORDER = "the middle first, then the cone"
A_TOTAL = re.compile(r"\s*([0-9]{1,9})\s*/\s*([0-9]{1,9})\s*")


@dataclass(frozen=True, repr=False)
class Totals:
    """What was counted from both places; `counts` is what a ball was judged by.

    Raises:
        InputError: a ball is judged by something else.
    """

    middle: Count
    cone: Count
    counts: str = next(iter(LOST))

    def __post_init__(self) -> None:
        named("what counts", self.counts, LOST)

    @cached_property
    def p_value(self) -> float:
        return two_counts.p_value(self.cone, self.middle)

    @cached_property
    def more(self) -> Estimate:
        """Kept more in 100 from the cone."""
        return two_counts.difference(self.cone, self.middle, LEVEL).scaled(PER_100)

    @property
    def is_below_alarm(self) -> bool:
        """Whether the test alone tells both apart."""
        return self.p_value <= 1.0 - LEVEL + 1e-12

    @property
    def is_outside_zero(self) -> bool:
        """Whether the interval alone does."""
        return self.more.low > 0.0 or self.more.high < 0.0

    @property
    def is_seen(self) -> bool:
        """Whether both tell cone and middle apart."""
        return self.is_below_alarm and self.is_outside_zero


def totals_of(text: str, counts: str) -> Totals:
    """The totals in a text such as `31/40,35/40`, the middle first.

    Raises:
        InputError: not two totals of whole numbers, or more kept than there were balls.
    """
    parts = text.split(",")
    if len(parts) != 2:
        raise InputError(
            f"--totals is {_short(text)}; give two totals by comma, {ORDER}, each so many kept of"
            f" so many balls: {EXAMPLE}"
        )
    middle, cone = (_count(*pair) for pair in zip((MIDDLE, CONE), parts, strict=True))
    return Totals(middle, cone, counts)


def _count(stand: str, text: str) -> Count:
    where = f"--totals says {_short(text.strip())} for the {stand}"
    if (found := A_TOTAL.fullmatch(text)) is None:
        raise InputError(
            f"{where}; give whole numbers, balls kept of balls fed, {ORDER}: {EXAMPLE}"
        )
    kept, balls = map(int, found.groups())
    if not 1 <= balls <= MOST_BALLS:
        raise InputError(f"{where}: {balls} balls; allowed: 1 to {MOST_BALLS} from each place")
    if kept > balls:
        raise InputError(
            f"{where}: more kept than the {balls} balls; give first the balls kept, then those fed:"
            f" {EXAMPLE}"
        )
    return Count(kept, balls)


def _short(text: str) -> str:
    return repr(text if len(text) <= LONGEST_NAME else f"{text[:LONGEST_NAME]}...")
