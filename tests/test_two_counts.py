"""Two counts of their own balls: exact test and interval, against examples and enumerations."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.stats import binom, fisher_exact, hypergeom

from experiments.statistics.two_counts import Count, difference, p_value

ALARM = 0.05
ENDS = ("low", "high")
# Newcombe (1998, Stat. Med. 17, 873-890), table II, method 10, to four digits.
EXAMPLES = [
    ((56, 70), (48, 80), (0.0524, 0.3339)),
    ((9, 10), (3, 10), (0.1705, 0.8090)),
    ((6, 7), (2, 7), (0.0582, 0.8062)),
    ((5, 56), (0, 29), (-0.0381, 0.1926)),
    ((0, 10), (0, 20), (-0.1611, 0.2775)),
    ((0, 10), (0, 10), (-0.2775, 0.2775)),
    ((10, 10), (0, 20), (0.6791, 1.0)),
    ((10, 10), (0, 10), (0.6075, 1.0)),
]


@pytest.mark.parametrize(("first", "second", "ends"), EXAMPLES)
def test_the_interval_of_published_examples(
    first: tuple[int, int], second: tuple[int, int], ends: tuple[float, float]
) -> None:
    found = difference(Count(*first), Count(*second))
    assert (found.low, found.high) == pytest.approx(ends, abs=6e-5)
    other = difference(Count(*second), Count(*first))
    assert (other.low, other.high) == pytest.approx((-ends[1], -ends[0]), abs=6e-5)
    assert found.n == first[1] + second[1]


def test_the_p_value_is_no_fishers() -> None:
    """A vaccine, after Mehta and Senchaudhuri (2003, Conditional versus unconditional exact tests):
    7 of 15 against 12 of 15. Fisher's test is conditional and sees less."""
    found = p_value(Count(7, 15), Count(12, 15))
    assert found == pytest.approx(0.0682, abs=1e-4)
    assert found < fisher_exact([[7, 12], [8, 3]]).pvalue - 0.05


@pytest.mark.parametrize("balls", [(12, 9), (7, 7), (20, 5), (1, 8)])
def test_the_p_value_is_the_largest_over_all_chances(balls: tuple[int, int]) -> None:
    """Twice the smaller side, each summed over all tables on a grid of the chance that both share:
    with all tables that are as far apart, none lost by rounding."""
    first, second = balls
    a, b = np.arange(first + 1)[:, None], np.arange(second + 1)
    sides = (
        hypergeom.cdf(a, first + second, a + b, first),
        hypergeom.cdf(b, first + second, a + b, second),
    )
    chances = np.linspace(0.0, 1.0, 4001)
    of = [binom.pmf(np.arange(n + 1), n, chances[:, None]) for n in balls]
    together = of[0][:, :, None] * of[1][:, None, :]
    for i, j in itertools.product(range(first + 1), range(second + 1)):
        most = (together[:, s <= s[i, j] * (1 + 1e-9)].sum(axis=1).max() for s in sides)
        found = p_value(Count(i, first), Count(j, second))
        assert found == pytest.approx(min(1.0, 2 * min(most)), abs=1e-5)


def test_equal_shares_are_no_difference() -> None:
    assert p_value(Count(0, 10), Count(0, 3)) == p_value(Count(40, 40), Count(40, 40)) == 1.0
    assert p_value(Count(2, 4), Count(5, 10)) == 1.0
    found = difference(Count(2, 4), Count(5, 10))
    assert found.low < found.value == 0.0 < found.high


def test_the_interval_covers_at_its_level() -> None:
    """Exactly, over all outcomes: no chances below 88 %, and on average in 95 %."""
    first, second = 40, 25
    found = [[difference(Count(a, first), Count(b, second)) for b in range(26)] for a in range(41)]
    low, high = (np.array([[getattr(e, end) for e in row] for row in found]) for end in ENDS)
    covered = []
    for p, q in itertools.product(np.linspace(0.02, 0.98, 33), repeat=2):
        chance = np.outer(
            binom.pmf(np.arange(first + 1), first, p), binom.pmf(np.arange(second + 1), second, q)
        )
        covered.append(chance[(low <= p - q) & (p - q <= high)].sum())
    assert min(covered) > 0.88
    assert np.mean(covered) == pytest.approx(0.953, abs=0.006)


def test_simulated_counts_of_no_difference_seldom_show_one() -> None:
    rng = np.random.default_rng(3)
    balls, trials = 30, 400
    kept = rng.binomial(balls, 0.8, (trials, 2))
    shown = [p_value(Count(int(a), balls), Count(int(b), balls)) <= ALARM for a, b in kept]
    assert 0 < sum(shown) <= binom.ppf(0.999, trials, ALARM)
