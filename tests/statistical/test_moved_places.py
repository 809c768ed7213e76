"""How often the intervals of a best place, and of how far it moves, hold them.

Rallies are made up: of each the shades share most of the chance, at both points of the design. The
curves are parabolas, so the middle of the plateau is the top, which is known. Meant for 95 of 100;
asked for is what that reaches all but once in 10,000 times.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from experiments.evidence.best_place.curves import best_on
from experiments.statistics.estimates import LEVEL

FALSE_ALARM, REPEATS, BATCHES = 1e-4, 120, 100
PLACES_M = 3.115 * np.arange(7) / 10
FIRST_M, SECOND_M = 0.95, 1.15


def won(top_m: float, falls: float, latent: np.ndarray) -> np.ndarray:
    """Rallies won by batch and place: those whose latent value is below the place's quantile."""
    chance = 0.52 - falls * (PLACES_M - top_m) ** 2
    return (latent < stats.norm.ppf(chance)).reshape(BATCHES, -1, len(PLACES_M)).sum(axis=1)


def latent_values(rng: np.random.Generator, rallies: int, shared: float = 0.7) -> np.ndarray:
    """Normal values (rallies, places), whose places have a share of the variance in common."""
    common, own = rng.normal(size=(rallies, 1)), rng.normal(size=(rallies, len(PLACES_M)))
    return math.sqrt(shared) * common + math.sqrt(1.0 - shared) * own


@pytest.mark.parametrize(("rallies", "falls"), [(2000, 0.04), (8000, 0.03), (8000, 0.08)])
def test_intervals_hold_the_best_place_and_its_move(rallies: int, falls: float) -> None:
    held, of = np.zeros(2), np.full((BATCHES, len(PLACES_M)), rallies / BATCHES)
    for seed in range(REPEATS):
        latent = latent_values(np.random.default_rng([seed, rallies]), rallies)
        one, other = (
            best_on(PLACES_M, won(m, falls, latent), of, seed) for m in (FIRST_M, SECOND_M)
        )
        low, high = one.interval_m
        _, moved_low, moved_high = other.moved_m(one)
        held += (low <= FIRST_M <= high, moved_low <= SECOND_M - FIRST_M <= moved_high)
    assert (held >= stats.binom(REPEATS, LEVEL).ppf(FALSE_ALARM)).all(), held / REPEATS


def test_the_interval_is_that_of_fieller_where_the_curve_is_a_parabola() -> None:
    """Places so near each other that all weigh alike: one parabola by least squares, whose top
    -b / 2c is a ratio of estimates. Its interval: all tops at which the slope b + 2 c x is within
    1.96 standard errors of 0 (Fieller 1954, J. R. Stat. Soc. B 16, 175-185; from memory)."""
    places, sd, per_batch, tops = np.arange(0.0, 0.61, 0.1), 0.02, 1.0, []
    terms = np.vander(places, 3)[:, ::-1]
    solve = np.linalg.pinv(terms)
    for seed in range(20):
        rng = np.random.default_rng(seed)
        kept = 0.9 - 0.5 * (places - 0.3) ** 2 + rng.normal(0.0, sd, (BATCHES, len(places)))
        found = best_on(places, kept, np.full(kept.shape, per_batch), seed)
        _, b, c = solve @ kept.mean(axis=0)
        spread = solve @ np.cov(kept.T) @ solve.T / BATCHES
        q2 = stats.norm.ppf(0.975) ** 2
        square = 4.0 * (c * c - q2 * spread[2, 2])
        linear = 4.0 * (b * c - q2 * spread[1, 2])
        level = b * b - q2 * spread[1, 1]
        exact = np.sort(np.roots([square, linear, level]))
        assert found.best_m == pytest.approx(-b / (2.0 * c), abs=0.05 * (exact[1] - exact[0]))
        tops.append((np.array(found.interval_m) - exact) / (exact[1] - exact[0]))
    assert np.abs(np.mean(tops, axis=0)).max() < 0.03
    assert np.abs(tops).max() < 0.25
