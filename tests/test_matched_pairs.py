"""Matched pairs: the exact test, its interval and its power, against examples and enumerations."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.stats import binomtest, multinomial

from experiments.statistics.matched_pairs import (
    Pairs,
    Stratum,
    allotted,
    chance_to_see,
    chances_to_see,
    pairs_by_formula,
    pairs_needed,
)

ALARM = 0.05


@pytest.mark.parametrize(
    ("pairs", "p_value"),
    [
        # Armitage and Berry (1994, Statistical Methods in Medical Research, p. 127): two media for
        # tubercle bacilli; P as the manual of StatsDirect prints it for that example.
        (Pairs(20, 12, 2, 16), 0.0129),
        # Bentur et al. (2009, Pediatric Pulmonology 44, 845-850), airways before and after a stem
        # cell transplantation; the table as in the manual of R's exact2x2, P from memory of
        # Fagerland, Lydersen and Laake (2013, BMC Med. Res. Methodol. 13:91).
        (Pairs(1, 1, 7, 12), 0.0703),
    ],
)
def test_the_p_value_of_published_examples(pairs: Pairs, p_value: float) -> None:
    assert pairs.p_value == pytest.approx(p_value, abs=6e-5)


def test_it_is_the_permutation_test_of_the_lot() -> None:
    """Swapping cone and middle within each pair, in all ways: as large a sum, how often?"""
    kept = [(1, 0)] * 6 + [(0, 1)] * 2 + [(1, 1)] * 2 + [(0, 0)]
    apart = np.array([a - b for a, b in kept])
    swaps = np.array(list(itertools.product((1, -1), repeat=len(kept))))
    as_large = np.abs((swaps * apart).sum(axis=1)) >= abs(apart.sum())
    assert Pairs(2, 6, 2, 1).p_value == pytest.approx(as_large.mean(), rel=1e-12)


def all_tables(n: int) -> list[tuple[int, int]]:
    return [(i, j) for i in range(n + 1) for j in range(n + 1 - i)]


def test_the_interval_leaves_out_zero_where_the_test_speaks() -> None:
    for n in (1, 5, 14):
        for first, second in all_tables(n):
            pairs = Pairs(n - first - second, first, second, 0)
            apart = pairs.difference()
            assert -1.0 <= apart.low <= apart.value <= apart.high <= 1.0
            assert (apart.low > 0 or apart.high < 0) == (pairs.p_value <= ALARM), (first, second, n)


def test_the_interval_covers_in_all_outcomes() -> None:
    """Fay and Lumbard (2021) conjecture it: enumerated here over all tables of 12 pairs."""
    n, shares = 12, np.linspace(0.0, 1.0, 11)
    tables = all_tables(n)
    apart = [Pairs(n - i - j, i, j, 0).difference() for i, j in tables]
    ends = np.array([(a.low, a.high) for a in apart])
    counts = np.array([(i, j, n - i - j) for i, j in tables])
    for first, second in itertools.product(shares, shares):
        if first + second <= 1.0 + 1e-12:
            p = [first, second, max(1.0 - first - second, 0.0)]
            held = (ends[:, 0] - 1e-9 <= first - second) & (first - second <= ends[:, 1] + 1e-9)
            assert multinomial.pmf(counts, n, p)[held].sum() >= 0.95 - 1e-6, p


@pytest.mark.parametrize(("first", "second", "n"), [(7, 1, 21), (12, 2, 50), (3, 2, 5), (0, 4, 9)])
def test_the_interval_is_the_melded_one(first: int, second: int, n: int) -> None:
    """Fay and Lumbard's limits by drawing their confidence variables."""
    rng, draws, m = np.random.default_rng(1), 400_000, first + second

    def lower(x: int) -> float:
        share = rng.beta(x, m - x + 1, draws) if x else np.zeros(draws)
        least = rng.beta(m, n - m + 1, draws)
        most = rng.beta(m + 1, n - m, draws) if m < n else np.ones(draws)
        return float(np.quantile(np.where(share > 0.5, least, most) * (2 * share - 1), 0.025))

    apart = Pairs(n - m, first, second, 0).difference()
    assert apart.low == pytest.approx(lower(first), abs=0.004)
    assert apart.high == pytest.approx(-lower(second), abs=0.004)


def test_without_pairs_there_is_no_difference() -> None:
    assert math.isnan(Pairs(0, 0, 0, 0).difference().value)
    assert Pairs(4, 0, 0, 3).p_value == 1.0


def by_enumeration(strata: list[tuple[int, float, float]]) -> tuple[float, float]:
    """The chances to see either way, table by table of each stratum."""
    seen = [0.0, 0.0]
    for tables in itertools.product(*(all_tables(n) for n, _, _ in strata)):
        chance = math.prod(
            multinomial.pmf([i, j, n - i - j], n, [a, b, 1 - a - b])
            for (n, a, b), (i, j) in zip(strata, tables, strict=True)
        )
        first, second = (sum(column) for column in zip(*tables, strict=True))
        if first + second and binomtest(first, first + second).pvalue <= ALARM:
            seen[first < second] += chance
    return seen[0], seen[1]


def test_the_power_is_the_sum_over_all_outcomes() -> None:
    one = by_enumeration([(20, 0.4, 0.15)])
    assert chances_to_see([Stratum(1.0, 0.4, 0.15)], 20, ALARM) == pytest.approx(one, abs=1e-9)
    two = by_enumeration([(6, 0.7, 0.05), (4, 0.1, 0.3)])
    strata = [Stratum(0.6, 0.7, 0.05), Stratum(0.4, 0.1, 0.3)]
    assert chances_to_see(strata, 10, ALARM) == pytest.approx(two, abs=1e-9)


def test_the_formula_gives_the_published_numbers() -> None:
    """Connor (1987): 155 pairs where 0.45 differ at odds of 2; 23 with 0.45 and 0.05.

    Numbers as two public calculators of his formula print them (McNemar's test sample size
    calculator of Clinical Trials Tools; open-powersamplesize, McNemar's Z-test, two-sided).
    """
    assert math.ceil(pairs_by_formula([Stratum(1.0, 0.30, 0.15)], 0.8, ALARM)) == 155
    assert math.ceil(pairs_by_formula([Stratum(1.0, 0.05, 0.45)], 0.8, ALARM)) == 23
    assert math.isinf(pairs_by_formula([Stratum(1.0, 0.1, 0.1)], 0.8, ALARM))


def test_the_pairs_needed_are_the_fewest_whole_sets() -> None:
    strata = [Stratum(1.0, 0.30, 0.15)]
    need = pairs_needed(strata, 0.8, ALARM, 4, 400)
    assert need is not None and need % 4 == 0
    assert need > pairs_by_formula(strata, 0.8, ALARM)  # the exact test asks for a few more
    assert chance_to_see(strata, need, ALARM) >= 0.8 > chance_to_see(strata, need - 4, ALARM)
    assert pairs_needed(strata, 0.8, ALARM, 4, need - 4) is None
    worse = pairs_needed([Stratum(1.0, 0.15, 0.30)], 0.8, ALARM, 4, 400)
    assert worse == need  # where the second way is better, it is that which is seen


def test_pairs_are_allotted_by_weight() -> None:
    strata = [Stratum(w, 0.0, 0.0) for w in (0.5, 0.3, 0.2)]
    assert allotted(strata, 10) == [5, 3, 2]
    for pairs in range(40):
        counts = allotted(strata, pairs)
        assert sum(counts) == pairs
        assert all(abs(c - pairs * s.weight) < 1 for c, s in zip(counts, strata, strict=True))
