"""Two ways tried in pairs, each time kept or lost: exact test, interval, and chance to see it.

The test is McNemar's, exact: of the pairs in which one way alone kept the ball, the share of the
first way's is held against one half. Where a lot decided which way of each pair came first, that is
the very permutation test of the lot: if the way makes no difference, swapping the two within any
pair changes nothing, whatever drifts from pair to pair or differs between places. So it needs no
model of ball, feeder or tiredness, and pairs of several places (strata) add up.

The interval of the difference of shares is Fay and Lumbard's (2021, Stat. Med. 40, 1147-1159): it
melds the exact limits of the share of pairs that differ with those of the first way's share of
them, and leaves out zero if and only if the two-sided test rejects. That it covers at its level is
a conjecture with much enumeration behind it; tests enumerate it too.

The chance to see a difference is that of this test itself, summed over all outcomes that it can
have. Connor's formula (1987, Biometrics 43, 207-211) only says how far off a number is that is too
large to be of use.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from experiments.statistics.bisection import root_of
from experiments.statistics.estimates import LEVEL, Estimate, square
from sim.distributions import normal_quantile

NODES = 400  # of the integrals; 8000 move no end of an interval by more than 2e-5


@dataclass(frozen=True)
class Pairs:
    """Pairs by what was kept: both, the first way alone, the second way alone, neither."""

    both: int
    first: int
    second: int
    neither: int

    def __add__(self, other: Pairs) -> Pairs:
        return Pairs(
            self.both + other.both,
            self.first + other.first,
            self.second + other.second,
            self.neither + other.neither,
        )

    @property
    def count(self) -> int:
        return self.both + self.first + self.second + self.neither

    @property
    def differing(self) -> int:
        """The pairs that tell: those in which one way alone kept the ball."""
        return self.first + self.second

    @property
    def p_value(self) -> float:
        """Two-sided, of McNemar's exact test; 1 where no pair differs."""
        from scipy.stats import binomtest  # slow to import

        return float(binomtest(self.first, self.differing).pvalue) if self.differing else 1.0

    def difference(self, level: float = LEVEL) -> Estimate:
        """Share kept the first way less the second, with the interval that goes with the test.

        NaN without a pair.
        """
        n = self.count
        if n == 0:
            return Estimate(math.nan, math.nan, math.nan, math.nan, 0)
        value = (self.first - self.second) / n
        se = math.sqrt(max(self.differing - n * square(value), 0.0)) / n
        tail = 0.5 - level / 2
        low = _lower_end(self.first, self.differing, n, tail)
        high = -_lower_end(self.second, self.differing, n, tail)
        return Estimate(value, min(low, value), max(high, value), se, n)


def _lower_end(first: int, differing: int, n: int, tail: float) -> float:
    """The melded lower limit: the `tail` quantile of Q (2 T - 1).

    T is the lower confidence variable of the first way's share of the differing pairs, Q that of
    the share of pairs that differ: its lower one where T is above one half, else its upper one.
    """
    from scipy.stats import beta  # slow to import

    share = beta(first, differing - first + 1) if first else None
    below = float(share.cdf(0.5)) if share else 1.0
    middles = (np.arange(NODES) + 0.5) / NODES
    if share and below < tail:
        least = beta(differing, n - differing + 1)
        lean = 2.0 * share.ppf(below + (1.0 - below) * middles) - 1.0

        def surplus(w: float) -> float:
            return below + (1.0 - below) * float(least.cdf(w / lean).mean()) - tail

        return root_of(surplus, 0.0, 1.0)
    if differing == n:  # the upper confidence variable of the share that differs is 1
        return 2.0 * float(share.ppf(tail)) - 1.0 if share else -1.0
    lean = 1.0 - 2.0 * share.ppf(below * middles) if share else np.ones(NODES)
    most = beta(differing + 1, n - differing)

    def excess(w: float) -> float:
        return below * float(most.sf(-w / lean).mean()) - tail

    return root_of(excess, -1.0, 0.0)


@dataclass(frozen=True)
class Stratum:
    """Pairs of one kind: their share of all pairs, and the chances that one way alone keeps."""

    weight: float
    first: float
    second: float


def allotted(strata: Sequence[Stratum], pairs: int) -> list[int]:
    """How many of the pairs each stratum gets: by weight, remainders to the largest parts left."""
    whole = sum(s.weight for s in strata)
    due = [pairs * s.weight / whole for s in strata]
    counts = [math.floor(d) for d in due]
    left = sorted(range(len(due)), key=lambda i: (round(counts[i] - due[i], 9), i))
    for i in left[: pairs - sum(counts)]:
        counts[i] += 1
    return counts


def chances_to_see(
    strata: Sequence[Stratum], pairs: int, false_alarm: float
) -> tuple[float, float]:
    """The chances that the two-sided test at that rate says: the first way; the second way.

    Exact: every count of pairs that differ in either direction, by its chance in all strata
    together (a product of their generating functions, inverted by Fourier's transform).
    """
    from scipy.stats import binom  # slow to import

    counts = allotted(strata, pairs)
    sizes = [
        _most(sum(n * getattr(s, way) for s, n in zip(strata, counts, strict=True)), pairs) + 1
        for way in ("first", "second")
    ]
    one, other = (np.exp(-2j * np.pi * np.arange(size) / size) for size in sizes)
    transform = np.ones(sizes, complex)
    for s, count in zip(strata, counts, strict=True):
        both = s.first * (one[:, None] - 1.0) + s.second * (other[None, :] - 1.0)
        transform *= (1.0 + both) ** count
    chance = np.maximum(np.fft.ifft2(transform).real, 0.0)
    first, second = np.indices(sizes)
    # The fewest of so many differing pairs with which the test speaks.
    fewest = binom.isf(false_alarm / 2, np.arange(pairs + 1), 0.5) + 1
    fewest = fewest[np.minimum(first + second, pairs)]
    return float(chance[first >= fewest].sum()), float(chance[second >= fewest].sum())


def _most(mean: float, pairs: int) -> int:
    """A count of pairs that is exceeded with a chance below exp(-40), by Bernstein's bound."""
    third = 40.0 / 3.0
    return min(math.ceil(mean + third + math.sqrt(square(third) + 80.0 * mean)), pairs)


def chance_to_see(strata: Sequence[Stratum], pairs: int, false_alarm: float) -> float:
    """The chance that the test says the way that is better by these strata."""
    better = sum(s.weight * (s.first - s.second) for s in strata) >= 0.0
    return chances_to_see(strata, pairs, false_alarm)[0 if better else 1]


def pairs_needed(
    strata: Sequence[Stratum], power: float, false_alarm: float, step: int, most: int
) -> int | None:
    """The fewest pairs, a multiple of `step` and at most `most`, that see it with that chance.

    None if `most` do not. The chance grows with the pairs but for ripples of the test's own, so
    the number is looked for by halving.
    """
    low, high = 0, most // step
    if high == 0 or chance_to_see(strata, high * step, false_alarm) < power:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        enough = chance_to_see(strata, middle * step, false_alarm) >= power
        low, high = (low, middle) if enough else (middle, high)
    return high * step


def pairs_by_formula(strata: Sequence[Stratum], power: float, false_alarm: float) -> float:
    """About how many pairs see it, by Connor's formula; infinite where there is no difference."""
    whole = sum(s.weight for s in strata)
    apart = sum(s.weight * (s.first - s.second) for s in strata) / whole
    differ = sum(s.weight * (s.first + s.second) for s in strata) / whole
    if apart == 0.0:
        return math.inf
    alarm, seen = normal_quantile(1.0 - false_alarm), normal_quantile(2.0 * power - 1.0)
    return square((alarm * math.sqrt(differ) + seen * math.sqrt(differ - square(apart))) / apart)
