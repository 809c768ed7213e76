"""Boundaries for repeated looks against published values and a general library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from experiments.statistics.group_sequential import (
    boundary,
    doubled,
    level_each_look,
    looks_within,
    stays_inside,
)


@pytest.mark.parametrize(
    ("looks", "constant"), [(1, 1.960), (2, 2.178), (3, 2.289), (4, 2.361), (5, 2.413)]
)
def test_equal_steps_give_pococks_constants(looks: int, constant: float) -> None:
    """Outside value: Pocock (1977), table 1, two-sided 5 %, equal groups; from memory."""
    sizes = tuple(range(1, looks + 1))
    assert boundary(sizes, 0.95) == pytest.approx(constant, abs=6e-4)


@pytest.mark.parametrize("looks", [2, 3, 4])
@pytest.mark.parametrize("c", [1.5, 2.3, 3.0])
def test_the_chance_is_that_of_the_joint_normal(looks: int, c: float) -> None:
    """Outside value: scipy.stats.multivariate_normal, correlation sqrt(n_i / n_j)."""
    n = np.array(doubled(looks), float)
    correlation = np.sqrt(np.minimum.outer(n, n) / np.maximum.outer(n, n))
    theirs = stats.multivariate_normal(cov=correlation, abseps=1e-5, maxpts=100_000).cdf(
        np.full(looks, c), lower_limit=np.full(looks, -c)
    )
    assert stays_inside(doubled(looks), c) == pytest.approx(theirs, abs=2e-5)


def test_the_constant_lies_between_one_look_and_bonferronis() -> None:
    before = boundary((1,), 0.95)
    assert before == pytest.approx(stats.norm.ppf(0.975))
    for looks in range(2, 11):
        here = boundary(doubled(looks), 0.95)
        assert before < here < stats.norm.ppf(1 - 0.025 / looks)
        before = here


def test_levels_of_each_look() -> None:
    assert level_each_look(1, 0.95) == 0.95
    c = boundary(doubled(7), 0.95)
    assert level_each_look(7, 0.95) == pytest.approx(2 * stats.norm.cdf(c) - 1, rel=1e-12)


@pytest.mark.parametrize(
    ("first", "most", "looks"), [(10, 10, 1), (10, 19, 1), (10, 20, 2), (500, 32_000, 7)]
)
def test_looks_within_a_cap(first: int, most: int, looks: int) -> None:
    assert looks_within(first, most) == looks
    assert first * 2 ** (looks - 1) <= most < first * 2**looks
