"""The stated ranges of a measured player hold the truth as often as they say.

Players are drawn from what is believed of a level, run the tests in the model and are timed with
the stated errors; 90 in 100 of the ranges should hold the player's own value.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from experiments.answers.player.timed_runs import (
    MODEL_ERROR_S,
    PLANT_S,
    SHARE,
    STEP_M,
    TIMINGS,
    averaged,
    braked_time_s,
    braking_belief,
    fit_shuttles,
    fit_sprints,
    prior_of,
    range_of,
    running_time_s,
)

LEVEL, FALSE_ALARM = "club-adult", 1e-3
PLAYERS, SHUTTLES = 100, 80


def drawn(rng: np.random.Generator) -> tuple[float, float]:
    """A top speed and a time constant as the level's belief has them, inside the fit's grid."""
    while True:
        prior = prior_of(LEVEL)
        speed, tau = rng.normal(*prior.top_speed_m_s), rng.normal(*prior.tau_s)
        if 3.0 < speed < 11.0 and 0.3 < tau < 1.5:
            return speed, tau


def usual(count: int, of: int) -> bool:
    """Whether so many ranges hold the truth; else a false alarm of 1 in 1000."""
    low, high = stats.binom(of, SHARE).ppf([FALSE_ALARM / 2, 1 - FALSE_ALARM / 2])
    return bool(low <= count <= high)


@pytest.mark.parametrize(
    ("timing", "distances"),
    [("gates", (5.0, 10.0, 20.0)), ("gates", (10.0,)), ("hand", (10.0, 20.0))],
)
def test_sprint_ranges_hold_the_truth_at_the_stated_rate(
    timing: str, distances: tuple[float, ...]
) -> None:
    clock, rng = TIMINGS[timing], np.random.default_rng(17)
    held = np.zeros(2, int)
    for _ in range(PLAYERS):
        speed, tau = drawn(rng)
        offset = rng.uniform(*clock.offset_s)
        seen = {
            d: [float(running_time_s(d, speed, tau)) - offset + rng.normal(0, clock.error_s)]
            for d in distances
        }
        cloud = fit_sprints(averaged(seen, clock), clock, prior_of(LEVEL))
        for i, (values, truth) in enumerate(((cloud.top_speed_m_s, speed), (cloud.tau_s, tau))):
            low, high = range_of(values, cloud.weight)
            held[i] += low <= truth <= high
    assert [usual(count, PLAYERS) for count in held] == [True, True], held


def test_shuttle_ranges_hold_the_braking_at_the_stated_rate() -> None:
    clock, rng = TIMINGS["gates"], np.random.default_rng(18)
    held = 0
    for _ in range(SHUTTLES):
        speed, tau = drawn(rng)
        braking = max(1.5, rng.normal(*braking_belief(LEVEL)))
        offset, length = rng.uniform(*clock.offset_s), 4.0 - rng.uniform(*STEP_M)
        late = rng.uniform(*PLANT_S) - offset + rng.normal(0, MODEL_ERROR_S)
        sprints = {
            d: [float(running_time_s(d, speed, tau)) - offset + rng.normal(0, clock.error_s)]
            for d in (5.0, 10.0, 20.0)
        }
        there = braked_time_s(length, np.array([speed]), np.array([tau]), np.array([braking]))[0]
        back = float(running_time_s(length, speed, tau))
        shuttle = {4.0: [float(there) + back + late + rng.normal(0, clock.error_s)]}
        cloud = fit_sprints(averaged(sprints, clock), clock, prior_of(LEVEL))
        after, values, _ = fit_shuttles(cloud, averaged(shuttle, clock), LEVEL)
        low, high = range_of(values, after.weight)
        held += bool(low <= braking <= high)
    assert usual(held, SHUTTLES), held


def test_the_check_would_see_ranges_that_are_too_narrow() -> None:
    """Ranges that hold 70 in 100 pass with a chance of under 1 in 20."""
    passes = [usual(count, PLAYERS) for count in range(PLAYERS + 1)]
    assert stats.binom(PLAYERS, 0.7).pmf(np.flatnonzero(passes)).sum() < 0.05
