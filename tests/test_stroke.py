"""Strokes: execution error as stated, faults, and rows that do not know their batch."""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_flight import RPM

from sim.chance import uniforms
from sim.hitter import Hitter
from sim.launch import HIT, TOO_FAST, TOO_SLOW, UNDER_NET
from sim.records import BALL, CONTACT, IN, INTENT, LONG, NET, WIDE
from sim.stroke import ERROR_DRAWS, net_margin_m, reasons_not_to_hit, strike
from sim.world import World

WORLD = World()
MILLIMETRE = 1e-3
# A sample's standard deviation strays by 1/sqrt(2 n), 0.8 %; five of those.
BALLS = 8000
SAMPLING = 0.04


def contacts(count: int, **fields: float) -> np.ndarray:
    """Contacts behind the middle of the baseline at 1 m, with nothing lacking."""
    made = np.zeros(count, CONTACT)
    for name, value in ({"y_m": -11.885, "z_m": 1.0, "quality": 1.0, "wing": 1} | fields).items():
        made[name] = value
    return made


def intents(count: int, **fields: float) -> np.ndarray:
    """Drives down the middle, 2.9 m inside the baseline."""
    made = np.zeros(count, INTENT)
    usual = {"target_y_m": 9.0, "speed_m_s": 28.0, "topspin_rad_s": 2000 * RPM}
    for name, value in (usual | fields).items():
        made[name] = value
    return made


def exact(count: int) -> np.ndarray:
    """Draws that mean no error: the middle of each distribution."""
    return np.full((count, ERROR_DRAWS), 0.5)


def drawn(count: int) -> np.ndarray:
    return uniforms(42, np.arange(count), 2, 0, ERROR_DRAWS)


def many(hitter: Hitter, contact: dict[str, float], intent: dict[str, float]) -> np.ndarray:
    balls, _ = strike(
        contacts(BALLS, **contact),
        intents(BALLS, **intent),
        drawn(BALLS),
        hitter.numbers,
        WORLD.numbers,
    )
    return balls


def heading_sd_deg(balls: np.ndarray) -> float:
    return math.degrees(np.arctan2(balls["vx_m_s"], -balls["vy_m_s"]).std())


def distances_m(balls: np.ndarray) -> np.ndarray:
    """How far from the contact each ball lands."""
    dx, dy = balls["landing_x_m"] - balls["x_m"], balls["landing_y_m"] - balls["y_m"]
    return np.hypot(dx, dy)


@pytest.mark.parametrize("depth_m", [7.0, 9.0, 11.0])
@pytest.mark.parametrize("elevation_share", [0.0, 0.5, 1.0])
def test_error_has_the_stated_standard_deviations(depth_m: float, elevation_share: float) -> None:
    """Direction in degrees; depth as a share of the distance, stated in metres at 24 m."""
    hitter = Hitter(direction_sd_deg=2.6, depth_sd_m=2.2, elevation_share=elevation_share)
    balls = many(hitter, {}, {"target_y_m": depth_m})
    assert heading_sd_deg(balls) == pytest.approx(2.6, rel=SAMPLING)
    distance = 11.885 + depth_m
    assert distances_m(balls).std() / distance == pytest.approx(2.2 / 24, rel=SAMPLING)
    assert distances_m(balls).mean() == pytest.approx(distance, abs=0.15)


def test_depth_error_acts_through_elevation_and_speed() -> None:
    def spread(elevation_share: float) -> tuple[float, float]:
        balls = many(Hitter(elevation_share=elevation_share), {}, {})
        v = np.array([balls["vx_m_s"], balls["vy_m_s"], balls["vz_m_s"]])
        speed = np.sqrt((v * v).sum(axis=0))
        return float(np.arcsin(v[2] / speed).std()), float(speed.std())

    assert spread(0.0)[0] < 1e-9
    assert spread(1.0)[1] < 1e-9
    assert min(spread(0.5)) > 1e-3


def test_errors_of_direction_and_depth_are_independent() -> None:
    balls = many(Hitter(), {}, {})
    heading = np.arctan2(balls["vx_m_s"], -balls["vy_m_s"])
    # Five standard deviations of a sample correlation, 1/sqrt(n).
    assert abs(np.corrcoef(heading, distances_m(balls))[0, 1]) < 5 / math.sqrt(BALLS)


def test_error_gives_faults_of_every_kind() -> None:
    """A short target brings balls into the net, a deep one long, one near the sideline wide."""
    near_the_net = many(Hitter(), {}, {"target_y_m": 6.0, "speed_m_s": 31.0})
    deep = many(Hitter(), {}, {"target_y_m": 11.0})
    aside = many(Hitter(), {}, {"target_x_m": 3.6})
    assert 0.01 < np.mean(near_the_net["outcome"] == NET) < 0.3
    assert 0.1 < np.mean(deep["outcome"] == LONG) < 0.6
    assert 0.1 < np.mean(aside["outcome"] == WIDE) < 0.6


def test_outcome_is_that_of_the_landing_and_the_net() -> None:
    balls = many(Hitter(direction_sd_deg=5.0, depth_sd_m=4.0), {}, {"target_x_m": 3.0})
    long, wide = balls["landing_y_m"] < -11.885, np.abs(balls["landing_x_m"]) > 4.115
    net = balls["net_clearance_m"] < 0.0
    expected = np.select([net, long, wide], [NET, LONG, WIDE], IN)
    np.testing.assert_array_equal(balls["outcome"], expected)
    assert set(expected) == {IN, NET, LONG, WIDE}


def test_without_error_the_ball_lands_on_its_target_on_the_other_side() -> None:
    """Contacts and targets are the hitter's, balls the receiver's: half a turn apart."""
    rng = np.random.default_rng(3)
    place = contacts(300, x_m=rng.uniform(-4, 4, 300), z_m=rng.uniform(0.4, 1.8, 300))
    wish = intents(300, target_x_m=rng.uniform(-4, 4, 300), target_y_m=rng.uniform(6, 11, 300))
    balls, _ = strike(place, wish, exact(300), Hitter().numbers, WORLD.numbers)
    np.testing.assert_array_equal(balls["x_m"], -place["x_m"])
    np.testing.assert_array_equal(balls["y_m"], -place["y_m"])
    np.testing.assert_allclose(balls["landing_x_m"], -wish["target_x_m"], atol=MILLIMETRE)
    np.testing.assert_allclose(balls["landing_y_m"], -wish["target_y_m"], atol=MILLIMETRE)
    assert np.all(balls["net_clearance_m"] > 0)


def test_ball_is_slowed_until_it_clears_the_net_by_the_margin() -> None:
    hitter = Hitter()
    fast = intents(1, speed_m_s=40.0, topspin_rad_s=1000 * RPM)
    ball = strike(contacts(1), fast, exact(1), hitter.numbers, WORLD.numbers)[0][0]
    speed = math.sqrt(ball["vx_m_s"] ** 2 + ball["vy_m_s"] ** 2 + ball["vz_m_s"] ** 2)
    assert speed < 39.0
    assert ball["net_clearance_m"] >= net_margin_m(hitter.numbers[0])


def test_ball_beyond_reach_is_the_one_that_carries_farthest() -> None:
    weak = intents(1, speed_m_s=9.0)
    ball = strike(contacts(1), weak, exact(1), Hitter().numbers, WORLD.numbers)[0][0]
    assert ball["outcome"] == NET
    elevation = math.atan2(ball["vz_m_s"], abs(ball["vy_m_s"]))
    assert math.radians(25) < elevation < math.radians(50)


def test_stretched_reply_is_slower_shorter_and_less_exact() -> None:
    hitter = Hitter()
    none_lacking = many(hitter, {"quality": 1.0}, {})
    half, all_lacking = many(hitter, {"quality": 0.5}, {}), many(hitter, {"quality": 0.0}, {})
    gain = hitter.stretched_error_gain
    assert heading_sd_deg(half) == pytest.approx(2.6 * (1 + gain / 2), rel=SAMPLING)
    assert heading_sd_deg(all_lacking) == pytest.approx(2.6 * (1 + gain), rel=SAMPLING)
    for field in ("landing_y_m", "vy_m_s"):
        means = [abs(balls[field].mean()) for balls in (none_lacking, half, all_lacking)]
        assert means[0] > means[1] > means[2], field
    assert distances_m(none_lacking).std() < distances_m(half).std()


def test_row_has_the_same_bits_in_any_batch() -> None:
    rng = np.random.default_rng(9)
    n = 60
    place = contacts(n, x_m=rng.uniform(-5, 5, n), quality=rng.uniform(0, 1, n))
    wish = intents(n, target_x_m=rng.uniform(-4, 4, n), speed_m_s=rng.uniform(12, 38, n))
    chance = drawn(n)
    order = rng.permutation(n)
    hitter, world = Hitter().numbers, World(wind_m_s=(2.0, -1.0, 0.0)).numbers
    balls, paths = strike(place, wish, chance, hitter, world)
    shuffled, shuffled_paths = strike(place[order], wish[order], chance[order], hitter, world)
    assert shuffled.tobytes() == balls[order].tobytes()
    for i in range(0, n, 7):
        one, path = strike(place[i : i + 1], wish[i : i + 1], chance[i : i + 1], hitter, world)
        assert one.tobytes() == balls[i : i + 1].tobytes()
        used = balls["points"][i]
        np.testing.assert_array_equal(path[0, :used], paths[i, :used])
    for row, i in enumerate(order[:10]):
        used = balls["points"][i]
        np.testing.assert_array_equal(shuffled_paths[row, :used], paths[i, :used])


def test_path_goes_from_the_bounce_to_the_second_bounce() -> None:
    balls, paths = strike(contacts(1), intents(1), exact(1), Hitter().numbers, WORLD.numbers)
    ball = balls[0]
    path = paths[0, : ball["points"]]
    assert balls.dtype == BALL
    assert path[0, 0] == ball["landing_time_s"]
    assert tuple(path[0, 1:3]) == (ball["landing_x_m"], ball["landing_y_m"])
    assert path[0, 4] == ball["bounce_vz_m_s"]
    assert path[-1, 0] <= ball["second_bounce_time_s"] < path[-1, 0] + 0.02
    assert ball["second_bounce_y_m"] < path[-1, 2] < ball["landing_y_m"]


def test_reasons_not_to_hit_are_judged_from_the_hitters_side() -> None:
    place = contacts(4, x_m=[0.0, 1.0, 0.0, 0.0], y_m=[-11.885, -2.0, -11.885, -11.885])
    place["z_m"] = [1.0, 0.15, 0.5, 1.0]
    wish = intents(4, topspin_rad_s=0.0)
    wish["target_x_m"] = [0.0, 1.0, 0.0, 0.0]
    wish["target_y_m"] = [10.0, 2.0, 11.0, 10.0]
    wish["speed_m_s"] = [25.0, 12.0, 50.0, 10.0]
    reasons = reasons_not_to_hit(place, wish, Hitter().numbers, WORLD.numbers)
    assert reasons.tolist() == [HIT, UNDER_NET, TOO_FAST, TOO_SLOW]
