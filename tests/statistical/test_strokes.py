"""Spread of strokes against what the hitter's parameters state.

False alarm: each test would fail once in a hundred thousand seeds if all were right; the seeds are
fixed, so a failure means that something changed.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from sim.chance import EXECUTION, uniforms
from sim.contracts import ShotSituation, bodies_at, contacts_at, intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.players import Player, player
from sim.stroke import ERROR_DRAWS, strike
from sim.world import World
from strategies.catalogue import make_shot_model

FALSE_ALARM = 1e-5
BALLS = 6000
SPEED_M_S = 25.0
CONTACT_Y_M, TARGET_Y_M = -11.9, 8.5
WORLD = World().turned_numbers


def struck(who: Player, quality: float) -> np.ndarray:
    """BALL records of one intent, struck many times from the middle of the baseline."""
    contact = contacts_at(*(np.full(BALLS, v) for v in (0.0, CONTACT_Y_M, 1.0)), 1, quality)  # type: ignore[arg-type]
    column = np.ones(BALLS)
    intents = intents_of(0.0 * column, TARGET_Y_M * column, SPEED_M_S * column, 200.0 * column)
    errors = uniforms(17, np.arange(BALLS), EXECUTION, 0, ERROR_DRAWS)
    return strike(contact, intents, errors, who.hitter.numbers, WORLD)[0]


def sd_range(true_sd: float) -> tuple[float, float]:
    """Standard deviations of BALLS normal draws, but for the false alarms."""
    ends = stats.chi2.ppf([FALSE_ALARM / 2, 1 - FALSE_ALARM / 2], BALLS - 1)
    low, high = true_sd * np.sqrt(ends / (BALLS - 1))
    return float(low), float(high)


def error_gain(who: Player, quality: float) -> float:
    """More of a stretched stroke, and more of one that is faster than the usual forehand."""
    hitter, lacking = who.hitter, 1.0 - quality
    speed = SPEED_M_S * (1.0 - hitter.stretched_speed_loss * lacking)
    faster = max(speed / hitter.forehand_speed_m_s - 1.0, 0.0)
    stretched = 1.0 + hitter.stretched_error_gain * lacking
    return stretched * (1.0 + hitter.speed_error_gain * faster)


@pytest.mark.parametrize("level", ["club-adult", "professional-man"])
@pytest.mark.parametrize("quality", [1.0, 0.4])
def test_the_error_of_direction_has_its_stated_spread(level: str, quality: float) -> None:
    who = player(level)
    balls = struck(who, quality)
    headings = np.degrees(np.arctan2(balls["vx_m_s"], -balls["vy_m_s"]))
    low, high = sd_range(who.hitter.direction_sd_deg * error_gain(who, quality))
    assert low <= headings.std(ddof=1) <= high
    assert stats.kstest(stats.zscore(headings, ddof=1), "norm").pvalue > FALSE_ALARM


@pytest.mark.parametrize(
    ("level", "quality"),
    [("club-adult", 1.0), ("professional-man", 1.0), ("professional-man", 0.4)],
)
def test_the_error_of_depth_has_its_stated_spread(level: str, quality: float) -> None:
    """A share of the distance. Five per cent beyond chance: depth is not quite linear in the
    elevation and the speed through which the error acts. (Both are cut at their largest; the
    stretched strokes of a club player reach that, and spread less than stated.)"""
    who = player(level)
    balls = struck(who, quality)
    reached = np.hypot(balls["landing_x_m"], balls["landing_y_m"] - (-CONTACT_Y_M))
    lost = who.hitter.stretched_depth_loss_m * (1.0 - quality)
    distance = TARGET_Y_M - lost - CONTACT_Y_M
    low, high = sd_range(who.hitter.depth_sd_m / 24.0 * distance * error_gain(who, quality))
    assert 0.95 * low <= reached.std(ddof=1) <= 1.05 * high


def test_errors_of_direction_and_depth_are_independent() -> None:
    balls = struck(player("college-man"), 1.0)
    heading = np.arctan2(balls["vx_m_s"], -balls["vy_m_s"])
    speed = np.hypot(balls["vx_m_s"], balls["vy_m_s"])
    assert abs(np.corrcoef(heading, speed)[0, 1]) < stats.norm.isf(FALSE_ALARM / 2) / BALLS**0.5


def test_replicates_are_independent_of_their_neighbours() -> None:
    lateral = struck(player("college-man"), 1.0)["landing_x_m"]
    for lag in (1, 2, 7):
        r = np.corrcoef(lateral[:-lag], lateral[lag:])[0, 1]
        assert abs(r) < stats.norm.isf(FALSE_ALARM / 6) / (BALLS - lag) ** 0.5


def test_any_allowed_ball_lands_uniformly_over_the_court() -> None:
    """Targets uniform across the court and along it beyond 4.5 m from the net."""
    model = make_shot_model("any-allowed")
    who = player("college-man")
    contact = contacts_at(*(np.full(BALLS, v) for v in (1.0, CONTACT_Y_M, 1.0)), 1)  # type: ignore[arg-type]
    nobody = bodies_at(np.zeros(BALLS), np.full(BALLS, 13.0))
    seen = ShotSituation(who, who, WORLD, contact, nobody)
    chance = uniforms(23, np.arange(BALLS), 1, 0, model.draws)
    intents = model.intents(seen, chance)
    across = stats.uniform(-HALF_WIDTH_M, 2 * HALF_WIDTH_M)
    along = stats.uniform(4.5, HALF_LENGTH_M - 4.5)
    assert stats.kstest(intents["target_x_m"], across.cdf).pvalue > FALSE_ALARM
    assert stats.kstest(intents["target_y_m"], along.cdf).pvalue > FALSE_ALARM
