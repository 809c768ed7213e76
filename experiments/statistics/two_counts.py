"""Two counts of balls of their own, each so many kept of so many: exact test and interval.

The test is Boschloo's (1970, Stat. Neerl. 24, 1-9): Fisher's p value as the statistic of two
binomials, with that chance of keeping a ball, the same for both, at which a difference shows most
often; two-sided it is twice the smaller side. It is exact for balls that go in no pairs, each by
luck of its own; what drifts from one count to the other it does not know. (SciPy's Barnard test
compares scores without allowing for rounding, so it leaves out tables that are just as far apart.)

The interval of the difference of shares is Newcombe's (1998, Stat. Med. 17, 873-890, his method
10): each share's interval of Wilson (1927, J. Am. Stat. Assoc. 22, 209-212), squared and added. It
covers at its level on average, less where nearly all or none are kept; and it is no inversion of
the test, so near the edge the two may disagree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from experiments.statistics.estimates import LEVEL, Estimate, square


@dataclass(frozen=True)
class Count:
    """So many kept of so many balls, of one at least."""

    kept: int
    balls: int

    @property
    def share(self) -> float:
        return self.kept / self.balls

    @property
    def variance(self) -> float:
        """Of the share."""
        return self.share * (1.0 - self.share) / self.balls

    def ends(self, level: float = LEVEL) -> tuple[float, float]:
        """Wilson's interval of the share."""
        from scipy.stats import binomtest  # slow to import

        own = binomtest(self.kept, self.balls).proportion_ci(level, method="wilson")
        return float(own.low), float(own.high)


def p_value(first: Count, second: Count) -> float:
    """Two-sided, of Boschloo's exact test. With 500 balls each it takes about two seconds."""
    from scipy.stats import boschloo_exact  # slow to import

    both = (first, second)
    table = [[c.kept for c in both], [c.balls - c.kept for c in both]]
    return float(boschloo_exact(table).pvalue)


def difference(first: Count, second: Count, level: float = LEVEL) -> Estimate:
    """The first share less the second, with Newcombe's interval; `n` is the balls of both."""
    (low, high), (other_low, other_high) = first.ends(level), second.ends(level)
    value = first.share - second.share
    below = math.sqrt(square(first.share - low) + square(other_high - second.share))
    above = math.sqrt(square(high - first.share) + square(second.share - other_low))
    se = math.sqrt(first.variance + second.variance)
    return Estimate(value, value - below, value + above, se, first.balls + second.balls)
