"""The searches from rest and in motion: the same answer for a body that hardly moves."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from ordinary_drives import drives, every_kind, landed_in

from sim.contracts import bodies_at
from sim.legs import Legs
from sim.meeting import appraisals, meetings
from sim.players import player
from sim.records import X, Y

COUNT = 6000
CLOSE_S = 1e-3
LEGS = {
    "right": player("college-man").legs,
    "left": player("club-adult", "left").legs,
    "one-handed": dataclasses.replace(player("college-man").legs, two_handed_backhand=False),
    "slow sides": Legs(backhand_side_speed=0.95, backward_speed=0.8),
}


def beside_the_path(paths: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places near the ball's way, so that many balls change sides of the body within reach."""
    rng, rows = np.random.default_rng(3), np.arange(len(paths))
    k = (points * rng.uniform(0.2, 0.9, len(paths))).astype(int)
    x = paths[rows, k, X] + rng.uniform(-1.5, 1.5, len(paths))
    return x, paths[rows, k, Y] + rng.uniform(-1.5, 1.5, len(paths))


@pytest.mark.parametrize("who", LEGS)
def test_a_body_that_hardly_moves_has_the_time_of_one_at_rest(who: str) -> None:
    """Within a millisecond, and so at any speed on the way down to none."""
    legs = LEGS[who]
    balls, paths = landed_in(drives(2 * COUNT, "college-man", seed=6), COUNT)
    x, y = beside_the_path(paths, balls["points"])
    rest = meetings(balls, paths, bodies_at(x, y), legs.numbers, legs.times)
    way = np.random.default_rng(4).uniform(-np.pi, np.pi, COUNT)
    for speed in (1e-12, 1e-9, 1e-6, 1e-5):
        body = bodies_at(x, y)
        body["vx_m_s"], body["vy_m_s"] = speed * np.cos(way), speed * np.sin(way)
        moving = meetings(balls, paths, body, legs.numbers, legs.times)
        off = np.abs(moving["time_to_spare_s"] - rest["time_to_spare_s"])
        assert off.max() < CLOSE_S
        assert np.sum(moving["grade"] != rest["grade"]) <= COUNT // 1000


def test_a_body_that_hardly_moves_meets_strokes_of_every_kind_as_one_at_rest_does() -> None:
    """Within a millisecond but for a ball in a thousand: where a slow one crosses beside the body,
    the search from rest may stop at the lower of two tops, 20 ms below the other at most."""
    legs = LEGS["right"]
    balls, paths = landed_in(every_kind(2 * COUNT, "college-man", seed=6), COUNT)
    x, y = beside_the_path(paths, balls["points"])
    body = bodies_at(x, y)
    rest = meetings(balls, paths, body, legs.numbers, legs.times)
    body["vx_m_s"] = 1e-6
    moving = meetings(balls, paths, body, legs.numbers, legs.times)
    off = np.abs(moving["time_to_spare_s"] - rest["time_to_spare_s"])
    assert np.mean(off > CLOSE_S) < 1e-3 and off.max() < 0.02


@pytest.mark.parametrize("who", LEGS)
def test_both_functions_appraise_a_body_at_rest_alike(who: str) -> None:
    legs = LEGS[who]
    balls, paths = landed_in(drives(2 * COUNT, "college-man", seed=7), COUNT)
    x, y = beside_the_path(paths, balls["points"])
    met = meetings(balls, paths, bodies_at(x, y), legs.numbers, legs.times)
    spare, grade = appraisals(balls, paths, x[:, None], y[:, None], legs.numbers, legs.times)
    np.testing.assert_array_equal(met["time_to_spare_s"], spare[:, 0])
    np.testing.assert_array_equal(met["grade"], grade[:, 0])
