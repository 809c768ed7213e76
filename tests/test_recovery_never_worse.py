"""Recovery: faster legs and more time never leave a player farther from the spot.

A body keeps for a while the velocity that it had at the own contact. Nobody can undo how far that
carries, so more time may cost as much as the velocity alone carries the body away from the spot in
it, and quicker legs, in which a velocity also fades sooner, are compared where none leads there.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from sim.contracts import bodies_at
from sim.legs import Legs
from sim.movement import recovered
from sim.players import PLAYERS

COUNT = 4000
ROUNDING_M = 1e-9


def recoveries(fastest_m_s: float, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Bodies that run in all directions, spots (n, 2), seconds from the own to the next contact."""
    rng = np.random.default_rng(seed)
    body = bodies_at(rng.uniform(-5, 5, COUNT), rng.uniform(-16, -10, COUNT))
    speed, way = fastest_m_s * rng.random(COUNT), rng.uniform(-np.pi, np.pi, COUNT)
    body["vx_m_s"], body["vy_m_s"] = speed * np.cos(way), speed * np.sin(way)
    spot = np.stack([rng.uniform(-3, 3, COUNT), rng.uniform(-15, -11, COUNT)], axis=1)
    return body, spot, rng.uniform(0.0, 3.0, COUNT)


def left_m(body: np.ndarray, spot: np.ndarray, time_s: np.ndarray, legs: Legs) -> np.ndarray:
    """Metres from the spot when the opponent strikes."""
    now, _ = recovered(body, spot, time_s, legs.numbers)
    return np.hypot(now["x_m"] - spot[:, 0], now["y_m"] - spot[:, 1])


def carried_m(body: np.ndarray, spot: np.ndarray, time_s: np.ndarray, legs: Legs) -> np.ndarray:
    """Metres from the spot of a body that never pushes: its velocity fades."""
    drift = legs.tau_s * (1 - np.exp(-time_s / legs.tau_s))
    x, y = body["x_m"] + body["vx_m_s"] * drift, body["y_m"] + body["vy_m_s"] * drift
    return np.hypot(x - spot[:, 0], y - spot[:, 1])


@pytest.mark.parametrize("level", PLAYERS)
def test_more_time_costs_no_more_than_the_own_velocity_carries_away(level: str) -> None:
    legs = PLAYERS[level].legs
    for fastest, seed in ((0.0, 1), (2.0, 2), (6.0, 3)):
        body, spot, time = recoveries(fastest, seed)
        more = time + np.random.default_rng(seed).exponential(0.2, COUNT)
        away = carried_m(body, spot, more, legs) - carried_m(body, spot, time, legs)
        farther = left_m(body, spot, more, legs) - left_m(body, spot, time, legs)
        assert np.all(farther <= np.maximum(away, 0.0) + ROUNDING_M)
        assert np.mean(farther < -0.01) > 0.1


@pytest.mark.parametrize("level", PLAYERS)
def test_with_a_second_and_a_half_more_time_never_hurts(level: str) -> None:
    """By then the legs outrun what is left of any velocity."""
    legs = PLAYERS[level].legs
    body, spot, time = recoveries(6.0, 4)
    more = time + 1.5 + np.random.default_rng(4).exponential(0.2, COUNT)
    assert np.all(left_m(body, spot, more, legs) <= left_m(body, spot, time + 1.5, legs) + 1e-9)


BETTER = {
    "top_speed_m_s": 1.1,
    "braking_m_s2": 1.2,
    "recovery_effort": 1.1,
    "hurried_effort": 1.1,
    "follow_through_s": 0.8,
}


@pytest.mark.parametrize("field", BETTER)
@pytest.mark.parametrize("level", PLAYERS)
def test_better_legs_never_leave_a_player_farther_off(level: str, field: str) -> None:
    legs = PLAYERS[level].legs
    better = dataclasses.replace(legs, **{field: getattr(legs, field) * BETTER[field]})
    for fastest, seed in ((0.0, 5), (6.0, 6)):
        body, spot, time = recoveries(fastest, seed)
        nearer = left_m(body, spot, time, legs) - left_m(body, spot, time, better)
        assert np.all(nearer >= -ROUNDING_M)
        assert np.mean(nearer > 1e-3) > 0.02


@pytest.mark.parametrize("level", PLAYERS)
def test_quicker_legs_never_leave_a_player_farther_off_whom_no_velocity_helps(level: str) -> None:
    legs = PLAYERS[level].legs
    quicker = dataclasses.replace(legs, tau_s=0.9 * legs.tau_s)
    for fastest, seed in ((0.0, 7), (6.0, 8)):
        body, spot, time = recoveries(fastest, seed)
        toward = body["vx_m_s"] * (spot[:, 0] - body["x_m"])
        toward += body["vy_m_s"] * (spot[:, 1] - body["y_m"])
        nearer = left_m(body, spot, time, legs) - left_m(body, spot, time, quicker)
        assert np.all(nearer[toward <= 0.0] >= -ROUNDING_M)
