"""Sprint times to top speed and time constant; the shuttle to braking; height to reach."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, curve_fit

from experiments.answers.player.answer import Measures, estimate, level_shares, of_height
from experiments.answers.player.timed_runs import (
    TIMINGS,
    Prior,
    SprintTime,
    Timing,
    averaged,
    braked_time_s,
    fit_sprints,
    mean_of,
    prior_of,
    range_of,
    running_time_s,
    shuttle_time_s,
)
from sim.errors import InputError
from sim.legs import Legs
from sim.levels import LEVELS
from sim.players import PLAYERS

GATES = TIMINGS["gates"]
# German federation test battery, BJSM 2014 (published): boys under 18, 10 and 20 m, mean and sd;
# the pair of top speed and time constant that goes with them, gates 0.3 s after the push-off.
BATTERY = {10.0: (1.77, 0.11), 20.0: (3.09, 0.12)}
U18 = (8.0, 0.92)
LATE_GATES = dataclasses.replace(GATES, offset_s=(0.3, 0.3))
OPEN = Prior((7.0, 50.0), (0.9, 50.0))  # so wide that the times alone decide


def test_running_time_turns_the_sprint_round() -> None:
    legs = Legs(top_speed_m_s=6.7, tau_s=0.93)
    for distance in (0.01, 1.0, 5.0, 20.0, 60.0):
        time = float(running_time_s(distance, 6.7, 0.93))
        assert float(legs.distance_run_m(time)) == pytest.approx(distance, abs=1e-7)


def test_the_published_battery_is_recovered() -> None:
    for distance, (mean, sd) in BATTERY.items():
        assert float(running_time_s(distance, *U18)) - 0.3 == pytest.approx(mean, abs=sd)
    times = averaged({d: [mean] for d, (mean, _) in BATTERY.items()}, LATE_GATES)
    cloud = fit_sprints(times, LATE_GATES, prior_of("college-man"))
    for values, want in ((cloud.top_speed_m_s, U18[0]), (cloud.tau_s, U18[1])):
        low, high = range_of(values, cloud.weight)
        assert low < want < high
        assert mean_of(values, cloud.weight) == pytest.approx(want, rel=0.06)


def test_the_clock_times_of_a_pair_give_the_pair_back() -> None:
    exact = dataclasses.replace(LATE_GATES, error_s=0.005)
    times = averaged({d: [float(running_time_s(d, *U18)) - 0.3] for d in BATTERY}, exact)
    cloud = fit_sprints(times, exact, OPEN)
    assert mean_of(cloud.top_speed_m_s, cloud.weight) == pytest.approx(U18[0], rel=0.01)
    assert mean_of(cloud.tau_s, cloud.weight) == pytest.approx(U18[1], rel=0.01)


def test_without_the_offset_the_time_constant_is_false() -> None:
    """The clock's late start taken for a quick start: well under 0.6 s instead of 0.92 s."""
    no_offset = dataclasses.replace(GATES, offset_s=(0.0, 0.0))
    times = averaged({d: [mean] for d, (mean, _) in BATTERY.items()}, no_offset)
    cloud = fit_sprints(times, no_offset, OPEN)
    assert range_of(cloud.tau_s, cloud.weight)[1] < 0.6
    late = fit_sprints(times, LATE_GATES, OPEN)
    assert range_of(late.tau_s, late.weight)[1] > U18[1]


def test_exact_gates_and_no_belief_give_the_least_squares_of_a_general_library() -> None:
    distances = np.array([5.0, 10.0, 20.0, 30.0])
    clock = running_time_s(distances, 6.43, 0.88) - 0.25 + np.array([0.006, -0.008, 0.005, 0.002])
    timing = Timing("gates", (0.25, 0.25), 0.01)
    best, spread = curve_fit(
        lambda d, v, tau: running_time_s(d, v, tau) - 0.25,
        distances,
        clock,
        p0=(7.0, 0.8),
        sigma=np.full(4, 0.01),
        absolute_sigma=True,
    )
    times = [SprintTime(d, t, 0.01) for d, t in zip(distances, clock, strict=True)]
    cloud = fit_sprints(times, timing, OPEN)
    for values, want, sd in zip(
        (cloud.top_speed_m_s, cloud.tau_s), best, np.sqrt(np.diag(spread)), strict=True
    ):
        assert mean_of(values, cloud.weight) == pytest.approx(want, abs=0.1 * sd)
        low, high = range_of(values, cloud.weight)
        assert 0.5 * (high - low) == pytest.approx(1.645 * sd, rel=0.1)


def test_no_times_leave_the_belief_and_times_narrow_it() -> None:
    prior = prior_of("club-adult")
    assert prior.top_speed_m_s == pytest.approx((6.0, 0.8))
    widths = []
    for some in ({}, {10.0: [2.0]}, {5.0: [1.2], 10.0: [2.0], 20.0: [3.5]}):
        cloud = fit_sprints(averaged(some, GATES), GATES, prior)
        widths.append(np.ptp(range_of(cloud.top_speed_m_s, cloud.weight)))
    assert widths[0] == pytest.approx(2 * 1.645 * 0.8, rel=0.02)
    assert widths[1] < 0.8 * widths[0] and widths[2] < 0.5 * widths[1]


def test_hand_timing_says_less_than_gates() -> None:
    some = {5.0: [1.2], 10.0: [2.0], 20.0: [3.5]}
    gates, hand = (
        fit_sprints(averaged(some, t), t, prior_of("club-adult")) for t in TIMINGS.values()
    )
    for name in ("top_speed_m_s", "tau_s"):
        of_gates, of_hand = (np.ptp(range_of(getattr(c, name), c.weight)) for c in (gates, hand))
        assert of_gates < of_hand


def test_times_of_one_distance_are_averaged_with_their_spread() -> None:
    even, odd, one = averaged({5.0: [1.2, 1.2, 1.2, 1.2], 10.0: [1.9, 2.1], 20.0: [3.5]}, GATES)
    assert (even.time_s, even.error_s) == pytest.approx((1.2, 0.01))
    assert (odd.time_s, odd.error_s) == pytest.approx((2.0, 0.1))  # sd 0.1414 over root 2
    assert (one.time_s, one.error_s, one.count) == (3.5, 0.02, 1)


@pytest.mark.parametrize(
    ("times", "message"),
    [
        ({5.0: [2.0], 10.0: [1.9]}, "must take longer"),
        ({5.0: [1.2], 10.0: [1.4], 20.0: [3.5]}, "no sprint goes through these times"),
        ({20.0: [0.9]}, "no sprint goes through these times"),
    ],
)
def test_times_of_no_sprint_are_refused(times: dict[float, list[float]], message: str) -> None:
    with pytest.raises(InputError, match=message):
        estimate(Measures("Anna", "club-adult", sprints=times))


def test_slow_and_quick_levels_are_told_apart_by_their_times() -> None:
    for level in ("club-adult", "professional-man"):
        legs = PLAYERS[level].legs
        times = {
            d: [float(running_time_s(d, legs.top_speed_m_s, legs.tau_s)) - 0.25]
            for d in (5.0, 10.0, 20.0)
        }
        shares = level_shares(Measures("Anna", "college-man", sprints=times))
        assert sum(shares.values()) == pytest.approx(1.0)
        other = {"club-adult": "professional-man", "professional-man": "club-adult"}[level]
        assert shares[level] > 10 * shares[other]


def test_braked_time_agrees_with_integration() -> None:
    top, tau, brake, distance = 6.5, 0.9, 4.0, 3.6

    def speed(t: float) -> float:
        return top * (1 - np.exp(-t / tau))

    def over(turn: float) -> float:
        return quad(speed, 0, turn)[0] + speed(turn) ** 2 / (2 * brake) - distance

    turn = brentq(over, 0.0, 5.0)
    found = braked_time_s(distance, np.array([top]), np.array([tau]), np.array([brake]))[0]
    assert found == pytest.approx(turn + speed(turn) / brake, abs=1e-9)


def test_a_slow_shuttle_means_weak_brakes_and_says_how_little_it_says() -> None:
    def braking(seconds: float, **more: object) -> tuple[float, float]:
        found = estimate(
            Measures(
                "Anna",
                "club-adult",
                sprints={5.0: [1.25], 10.0: [2.07], 20.0: [3.6]},
                shuttles={4.0: [seconds]},
                **more,  # type: ignore[arg-type]
            )
        )
        assert found.braking_left is not None
        return found.file.legs["braking_m_s2"].value, found.braking_left

    quick, slow = (shuttle_time_s(4.0, 6.9, 0.96, b) - 0.25 for b in (4.5, 2.5))
    assert quick < slow
    (strong, left), (weak, _) = braking(quick), braking(slow)
    assert strong > weak + 0.8
    assert left < braking(quick, timing="hand")[1] < 1.0


def test_a_shuttle_of_nobody_is_refused() -> None:
    with pytest.raises(InputError, match="no player like this runs the shuttle"):
        estimate(Measures("Anna", "club-adult", shuttles={4.0: [9.0]}))


@pytest.mark.parametrize("level", PLAYERS)
def test_reach_goes_with_height_and_body_segments(level: str) -> None:
    """Segment ratios of Drillis and Contini 1966 (from memory), to the middle of the strings."""
    legs, own = PLAYERS[level].legs, LEVELS[level].height_m.value
    arm_m = (0.186 + 0.146 + 0.5 * 0.108 + 0.129) * own
    assert legs.full_reach_m == pytest.approx(arm_m + 0.55, abs=0.2)
    assert 0.47 * own < legs.best_low_m < 0.53 * own  # below the hip at 0.530
    assert 0.75 * own < legs.best_high_m < 0.85 * own  # about the shoulder at 0.818
    same, taller = of_height(level, own), of_height(level, own + 0.1)
    for name, (value, low, high) in same.items():
        assert value == pytest.approx(getattr(legs, name))
        assert low < value < high and taller[name][0] > value
    grown = taller["full_reach_m"][0] - same["full_reach_m"][0]
    assert grown == pytest.approx(0.1 * (legs.full_reach_m - 0.55) / own)


def test_nothing_measured_is_refused() -> None:
    with pytest.raises(InputError, match="nothing was measured"):
        Measures("Anna", "club-adult")
