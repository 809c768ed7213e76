"""Legs: running times, limits of the numbers, levels, hands and slow sides."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from ordinary_drives import hanging
from scipy.optimize import brentq

from sim.errors import InputError
from sim.legs import BACKHAND_SIDE, FOREHAND_SIDE, LEGS, TABLE_NODES, TABLE_STEP_M, Legs
from sim.meeting import appraisals
from sim.parameter import parameter_rows
from sim.players import PLAYERS

TABLE_ERROR_S = 20e-6
NO_TIME_S = 1e-15
AT_M = (0.0, -12.0)
PARAMETERS = [row.name for row in parameter_rows("legs", Legs())]
ABOVE_ZERO = (
    "top_speed_m_s",
    "tau_s",
    "braking_m_s2",
    "backhand_side_speed",
    "backward_speed",
    "ease_width_s",
    "pace_half_m_s",
    "fade_low_m",
    "fade_high_m",
    "split_half_speed_m_s",
    "recovery_effort",
    "early_half_m_s",
)
# The table of levels that the model was given: club adult, elite junior, college man,
# professional man, professional woman.
GIVEN_LEVELS = (
    "club-adult",
    "elite-junior",
    "college-man",
    "professional-man",
    "professional-woman",
)
GIVEN = {
    "reaction_s": (0.26, 0.21, 0.20, 0.18, 0.18),
    "split_gain_s": (0.10, 0.10, 0.10, 0.10, 0.10),
    "top_speed_m_s": (6.2, 7.0, 7.5, 7.8, 7.0),
    "tau_s": (0.95, 0.85, 0.85, 0.80, 0.80),
    "braking_m_s2": (3.5, 4.5, 5.0, 5.5, 5.0),
    "comfortable_reach_m": (0.80, 0.80, 0.85, 0.90, 0.85),
    "full_reach_m": (1.45, 1.5, 1.6, 1.65, 1.5),
    "best_low_m": (0.9, 0.9, 0.95, 0.95, 0.9),
    "best_high_m": (1.45, 1.4, 1.5, 1.5, 1.4),
}


def sprint_s(legs: Legs, distance_m: float) -> float:
    """Time of a sprint from rest, by inverting its law."""
    v, tau = legs.top_speed_m_s, legs.tau_s
    return float(
        brentq(lambda t: v * (t - tau * (1 - math.exp(-t / tau))) - distance_m, 0, 60, xtol=1e-12)
    )


def settling_s(legs: Legs, distance_m: float) -> float:
    """Time to arrive no faster than the settled speed: the moment of braking, then the rest."""
    v, tau, b, slow = legs.top_speed_m_s, legs.tau_s, legs.braking_m_s2, legs.settled_speed_m_s

    def excess(turn: float) -> float:
        fast = max(v * (1 - math.exp(-turn / tau)), slow)
        ran = v * (turn - tau * (1 - math.exp(-turn / tau)))
        return ran + (fast**2 - slow**2) / (2 * b) - distance_m

    turn = float(brentq(excess, 0, 60, xtol=1e-12))
    return turn + max(v * (1 - math.exp(-turn / tau)) - slow, 0) / b


def tabled_s(legs: Legs, row: int, side: int, tangent_m: np.ndarray) -> np.ndarray:
    """Running times read from the table as its docstring says."""
    nodes = TABLE_STEP_M * np.arange(TABLE_NODES)
    return np.asarray(np.interp(tangent_m, nodes, legs.times[row]["time_s"][side]))


def arrival_s(legs: Legs, dx_m: float, dy_m: float) -> float:
    """Arrival at a ball that hangs (dx, dy) from a body at rest, after the reaction."""
    until_s = 5.0
    balls, paths = hanging(AT_M[0] + dx_m, AT_M[1] + dy_m, until_s)
    x, y = np.array([AT_M[0]]), np.array([AT_M[1]])
    spare, _ = appraisals(balls, paths, x, y, legs.numbers, legs.times)
    return until_s - legs.reaction_s - float(spare[0, 0])


@pytest.mark.parametrize("side", [FOREHAND_SIDE, BACKHAND_SIDE])
@pytest.mark.parametrize("level", PLAYERS)
def test_tables_hold_the_running_times(level: str, side: int) -> None:
    legs = PLAYERS[level].legs
    full_m = (legs.full_reach_m, legs.backhand_reach_m)[side]
    rng = np.random.default_rng(1)
    tangents = np.concatenate([rng.uniform(0, 36, 60), 10.0 ** rng.uniform(-4, 1, 60)])
    for row, reach, time_s in ((0, full_m, sprint_s), (1, legs.comfortable_reach_m, settling_s)):
        assert legs.times[row]["reach_m"][side] == reach
        runs = np.hypot(tangents, reach) - reach
        exact = [time_s(legs, float(run)) for run in runs]
        np.testing.assert_allclose(
            tabled_s(legs, row, side, tangents), exact, rtol=0, atol=TABLE_ERROR_S
        )


@pytest.mark.parametrize("level", PLAYERS)
def test_settling_takes_no_less_time_than_arriving(level: str) -> None:
    legs = PLAYERS[level].legs
    arrive, settle = legs.times
    for table in (arrive, settle):
        assert table["time_s"][:, 0].max() < NO_TIME_S
        assert np.all(np.diff(table["time_s"]) > 0)
    runs_m = np.linspace(0.0, 30.0, 301)
    for side in (FOREHAND_SIDE, BACKHAND_SIDE):
        arriving, settling = (
            tabled_s(legs, row, side, np.sqrt(runs_m * (runs_m + 2 * table["reach_m"][side])))
            for row, table in enumerate((arrive, settle))
        )
        assert np.all(settling >= arriving - TABLE_ERROR_S)
        assert settling[-1] > arriving[-1] + 0.1


def test_distance_and_time_are_each_other_inverted() -> None:
    legs = Legs()
    times_s = np.linspace(0.0, 4.0, 41)
    for t, d in zip(times_s, legs.distance_run_m(times_s), strict=True):
        assert sprint_s(legs, float(d)) == pytest.approx(t, abs=1e-9)


@pytest.mark.parametrize("name", PARAMETERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, "7", None])
def test_a_number_that_is_not_finite_is_refused(name: str, value: object) -> None:
    with pytest.raises(InputError, match=name):
        Legs(**{name: value})  # type: ignore[arg-type]


@pytest.mark.parametrize("name", [n for n in PARAMETERS if n != "ease_centre_s"])
def test_a_negative_number_is_refused(name: str) -> None:
    with pytest.raises(InputError, match=f"{name} is -0.5"):
        Legs(**{name: -0.5})  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ABOVE_ZERO)
def test_zero_is_refused_where_it_would_divide(name: str) -> None:
    with pytest.raises(InputError, match=f"{name} is 0"):
        Legs(**{name: 0.0})  # type: ignore[arg-type]


@pytest.mark.parametrize("name", [n for n in PARAMETERS if n not in ABOVE_ZERO])
def test_zero_is_allowed_elsewhere(name: str) -> None:
    legs = Legs(**{name: 0.0})  # type: ignore[arg-type]
    assert np.all(np.isfinite(legs.times["time_s"]))


@pytest.mark.parametrize("hand", ["Right", "", "both", None])
def test_a_hand_is_right_or_left(hand: str) -> None:
    with pytest.raises(InputError, match="it must be 'right' or 'left'"):
        Legs(hand=hand)


@pytest.mark.parametrize("name", sorted(GIVEN))
def test_levels_have_the_numbers_they_were_given(name: str) -> None:
    assert [getattr(PLAYERS[level].legs, name) for level in GIVEN_LEVELS] == list(GIVEN[name])


@pytest.mark.parametrize("level", PLAYERS)
def test_numbers_of_a_level_lie_in_sensible_ranges(level: str) -> None:
    for row in parameter_rows(level, PLAYERS[level].legs):
        assert row.low <= row.value <= row.high, row.name


def test_the_record_for_compiled_code_holds_the_fields() -> None:
    legs = Legs(hand="left")
    numbers = legs.numbers[0]
    assert numbers["hand"] == -1.0
    assert numbers["forehand_reach_m"] == legs.full_reach_m
    for name in set(LEGS.names or ()) - {"hand", "forehand_reach_m"}:
        assert numbers[name] == getattr(legs, name)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_two_hands_lose_reach_on_the_backhand_side_only(hand: str) -> None:
    one, two = (Legs(hand=hand, two_handed_backhand=both) for both in (False, True))
    side = 1.0 if hand == "right" else -1.0
    for dx, lost_m in ((4.0 * side, 0.0), (-4.0 * side, one.two_handed_loss_m)):
        run_m = 4.0 - one.full_reach_m
        assert arrival_s(one, dx, 0.0) == pytest.approx(sprint_s(one, run_m), abs=TABLE_ERROR_S)
        assert arrival_s(two, dx, 0.0) == pytest.approx(
            sprint_s(two, run_m + lost_m), abs=TABLE_ERROR_S
        )


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("share", [0.95, 0.8])
def test_a_slow_backhand_side_takes_a_longer_run(hand: str, share: float) -> None:
    """Straight to the side the run is 1/share as long; on the forehand side nothing changes."""
    plain = Legs(hand=hand, two_handed_backhand=False)
    slow = dataclasses.replace(plain, backhand_side_speed=share)
    side, run_m = (1.0 if hand == "right" else -1.0), 5.0 - plain.full_reach_m
    assert arrival_s(slow, 5.0 * side, 0.0) == arrival_s(plain, 5.0 * side, 0.0)
    assert arrival_s(slow, -5.0 * side, 0.0) == pytest.approx(
        sprint_s(plain, run_m / share), abs=TABLE_ERROR_S
    )


@pytest.mark.parametrize("share", [0.9, 0.7])
def test_backward_is_slower_and_forward_is_not(share: float) -> None:
    plain = Legs(two_handed_backhand=False)
    slow = dataclasses.replace(plain, backward_speed=share)
    run_m = 4.0 - plain.full_reach_m
    assert arrival_s(slow, 0.0, 4.0) == arrival_s(plain, 0.0, 4.0)
    assert arrival_s(slow, 0.0, -4.0) == pytest.approx(
        sprint_s(plain, run_m / share), abs=TABLE_ERROR_S
    )


def test_slow_sides_slow_a_slanting_run_by_their_part() -> None:
    """A run with both slow parts lies between the slower part alone and no slowness."""
    plain = Legs(two_handed_backhand=False)
    back = dataclasses.replace(plain, backward_speed=0.8)
    both = dataclasses.replace(back, backhand_side_speed=0.95)
    fastest, slower, slowest = (arrival_s(legs, -3.0, -3.0) for legs in (plain, back, both))
    run_m = math.hypot(3.0, 3.0) - plain.full_reach_m
    assert fastest < slower < slowest < sprint_s(plain, run_m / 0.8)
