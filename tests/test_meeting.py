"""Meeting and grading: brute force, symmetry, order, meeting rules and the quality of a reply."""

from __future__ import annotations

import dataclasses
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from ordinary_drives import Flown, drives, every_kind, hanging, landed_in
from reference_meeting import (
    Start,
    points_of,
    sprint_and_brake,
    start_of,
    time_to_settle_s,
    time_to_spare_at_s,
    time_to_spare_s,
)

from sim.contracts import bodies_at
from sim.kinds import DRIVE
from sim.legs import Legs
from sim.meeting import (
    BALANCED,
    EARLIEST,
    MOST_TIME,
    NEAREST,
    appraisals,
    meetings,
)
from sim.players import PLAYERS, player
from sim.records import BODY, IN, MISSED, PATH_STEP_S, SET, STRETCHED, X, Z
from sim.surface import SURFACES

CLOSE_S = 3e-3  # of the brute force, which looks at every millisecond
# Whose chance of a reply is that of time alone, so that a test can weigh what the player weighs.
WEIGHING = Legs(control_reach_loss=0.0, control_height_loss=0.0)
SEARCH_S = 1e-3  # by which the search along a path may miss the most time
TWO_LOOKS_S = 2 * PATH_STEP_S  # rules look at every second sample
ROUNDING = 1e-12
RULES = (EARLIEST, NEAREST, MOST_TIME, BALANCED)
GAMES = (
    ("professional-man", "hard", "college-man", "right"),
    ("college-man", "clay", "club-adult", "left"),
    ("professional-woman", "grass", "professional-woman", "right"),
    ("club-adult", "carpet", "elite-junior", "left"),
    ("elite-junior", "hard", "professional-man", "right"),
)
PAIRS = 310  # of each game


@lru_cache
def flown(count: int, level: str = "professional-man", surface: str = "hard") -> Flown:
    """Drives that landed in."""
    return landed_in(drives(2 * count, level, surface, seed=count), count)


def places(rng: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Where receivers stand, some of them oddly."""
    return rng.uniform(-6.0, 6.0, count), -rng.uniform(9.0, 17.0, count)


def moving_bodies(rng: np.random.Generator, count: int) -> np.ndarray:
    """Bodies of which every third one is at rest."""
    out = bodies_at(*places(rng, count))
    out["vx_m_s"], out["vy_m_s"] = rng.uniform(-5, 5, count), rng.uniform(-2, 2, count)
    out["vx_m_s"][::3] = out["vy_m_s"][::3] = 0.0
    return out


def one_by_one(balls: Flown, x: np.ndarray, y: np.ndarray, legs: Legs) -> Flown:
    """Time to spare and grade of ball i from place i."""
    spare, grade = appraisals(*balls, x[:, None], y[:, None], legs.numbers, legs.times)
    return spare[:, 0], grade[:, 0]


def met(balls: Flown, bodies: np.ndarray, legs: Legs, rule: int = BALANCED) -> np.ndarray:
    return meetings(*balls, bodies, legs.numbers, legs.times, rule)


@pytest.mark.parametrize(("hitter", "surface", "receiver", "hand"), GAMES)
def test_brute_force_agrees(hitter: str, surface: str, receiver: str, hand: str) -> None:
    """Time to spare, and grades but where a time to spare is too near to zero to tell."""
    require_agreement(flown(PAIRS, hitter, surface), player(receiver, hand).legs)


def test_brute_force_agrees_where_the_ball_rises_out_of_reach() -> None:
    """For one who can play no ball above 1 m: of a high ball a first and a last part are left."""
    low = dataclasses.replace(Legs(), playable_high_m=1.0, best_high_m=0.9, best_low_m=0.7)
    balls, paths = flown(PAIRS)
    assert np.mean(paths[:, :, Z].max(axis=1) > 1.05) > 0.3
    require_agreement((balls, paths), low)


def require_agreement(balls_in: Flown, legs: Legs) -> None:
    """Ball i against a place of its own, in `appraisals` and by brute force."""
    balls, paths = balls_in
    x, y = places(np.random.default_rng(8), PAIRS)
    bodies, run = bodies_at(x, y), sprint_and_brake(legs)
    pairs = list(zip(paths, balls["points"], bodies, strict=True))
    exact = np.array([time_to_spare_s(*pair, legs) for pair in pairs])
    settled = np.array([time_to_settle_s(*pair, legs, run) for pair in pairs])
    spare, grade = one_by_one((balls, paths), x, y, legs)

    np.testing.assert_allclose(spare, exact, atol=CLOSE_S, rtol=0)
    expected = np.where(exact < 0, MISSED, np.where(settled >= 0, SET, STRETCHED))
    clear = (np.abs(exact) > CLOSE_S) & (np.abs(settled) > CLOSE_S)
    assert clear.mean() > 0.95
    np.testing.assert_array_equal(grade[clear], expected[clear])
    assert min(np.bincount(expected, minlength=3)) > 10, "each grade has to be among the pairs"


@pytest.mark.parametrize("hand", ["right", "left"])
def test_body_at_rest_is_graded_alike_by_both_functions(hand: str) -> None:
    legs = player("college-man", hand).legs
    x, y = places(np.random.default_rng(2), 300)
    spare, grade = one_by_one(flown(300), x, y, legs)
    meeting = met(flown(300), bodies_at(x, y), legs)
    np.testing.assert_array_equal(meeting["time_to_spare_s"], spare)
    np.testing.assert_array_equal(meeting["grade"], grade)


def test_neither_batch_nor_order_changes_a_bit() -> None:
    balls, paths = flown(80)
    legs, rng = Legs(), np.random.default_rng(3)
    x, y = places(rng, 25)
    spare, grade = appraisals(balls, paths, x, y, legs.numbers, legs.times)
    rows, columns = rng.permutation(80)[:50], rng.permutation(25)
    again = appraisals(balls[rows], paths[rows], x[columns], y[columns], legs.numbers, legs.times)
    np.testing.assert_array_equal(again[0], spare[np.ix_(rows, columns)])
    np.testing.assert_array_equal(again[1], grade[np.ix_(rows, columns)])

    bodies = moving_bodies(rng, 80)
    meeting = met((balls, paths), bodies, legs)
    np.testing.assert_array_equal(
        met((balls[rows], paths[rows]), bodies[rows], legs), meeting[rows]
    )
    for i in range(5):
        alone = slice(i, i + 1)
        assert met((balls[alone], paths[alone]), bodies[alone], legs)[0] == meeting[i]
        assert (
            appraisals(balls[alone], paths[alone], x[3:4], y[3:4], legs.numbers, legs.times)[0][
                0, 0
            ]
            == spare[i, 3]
        )


def test_places_may_differ_by_ball() -> None:
    legs, rng = Legs(), np.random.default_rng(4)
    x, y = rng.uniform(-5, 5, (40, 7)), rng.uniform(-16, -10, (40, 7))
    together = appraisals(*flown(40), x, y, legs.numbers, legs.times)
    for j in range(7):
        spare, grade = one_by_one(flown(40), x[:, j], y[:, j], legs)
        np.testing.assert_array_equal(together[0][:, j], spare)
        np.testing.assert_array_equal(together[1][:, j], grade)


@pytest.mark.parametrize("surface", sorted(SURFACES))
@pytest.mark.parametrize("level", PLAYERS)
def test_unlimited_legs_can_be_set_for_nearly_every_ball(level: str, surface: str) -> None:
    """At least 95 of 100 that land in, from the waiting place: heights alone prevent little."""
    tireless = dataclasses.replace(
        PLAYERS[level].legs,
        top_speed_m_s=1e3,
        tau_s=1e-3,
        braking_m_s2=1e3,
        reaction_s=1e-6,
        split_gain_s=0.0,
    )
    balls, paths = flown(300, level, surface)
    x, y = np.array([0.0]), np.array([-11.885 - PLAYERS[level].waits_behind_m])
    _, grade = appraisals(balls, paths, x, y, tireless.numbers, tireless.times)
    assert (grade == SET).mean() >= 0.95


@pytest.mark.parametrize("surface", sorted(SURFACES))
def test_unlimited_legs_can_be_set_for_most_strokes_of_any_kind(surface: str) -> None:
    """Slices and drop shots stay low, and fast drives on grass: some never come up comfortably."""
    legs = dataclasses.replace(
        Legs(), top_speed_m_s=1e3, tau_s=1e-3, braking_m_s2=1e3, reaction_s=1e-6, split_gain_s=0.0
    )
    balls, paths = landed_in(every_kind(1200, "professional-man", surface), 600)
    x, y = np.array([0.0]), np.array([-13.2])
    grade = appraisals(balls, paths, x, y, legs.numbers, legs.times)[1][:, 0]
    drive = balls["kind"] == DRIVE
    least = 0.88 if surface == "grass" else 0.95
    assert (grade[drive] == SET).mean() >= least and (grade == SET).mean() >= least - 0.1


SLOWER: tuple[dict[str, Any], ...] = (
    {"top_speed_m_s": 6.0},
    {"tau_s": 1.1},
    {"reaction_s": 0.3},
    {"full_reach_m": 1.3},
    {"two_handed_loss_m": 0.4},
    {"backhand_side_speed": 0.9},
    {"backward_speed": 0.7},
    {"playable_low_m": 0.4},
    {"playable_high_m": 1.2},
)


@pytest.mark.parametrize("change", SLOWER, ids=str)
def test_slower_or_shorter_legs_never_have_more_time(change: dict[str, Any]) -> None:
    """Up to what the search along the path may miss; and they do have less somewhere."""
    x, y = places(np.random.default_rng(5), 40)
    able, less_able = (
        appraisals(*flown(150), x, y, legs.numbers, legs.times)[0]
        for legs in (Legs(), dataclasses.replace(Legs(), **change))
    )
    assert np.all(less_able <= able + SEARCH_S)
    assert np.mean(less_able < able - SEARCH_S) > 0.02


def test_longer_comfortable_reach_and_stronger_brakes_set_more() -> None:
    x, y = places(np.random.default_rng(6), 40)
    usual, longer, stronger = (
        appraisals(*flown(150), x, y, legs.numbers, legs.times)[1] == SET
        for legs in (Legs(), Legs(comfortable_reach_m=1.0), Legs(braking_m_s2=7.0))
    )
    for better in (longer, stronger):
        assert better.sum() > usual.sum()
        assert np.mean(usual & ~better) < 1e-3


@pytest.mark.parametrize("rule", RULES)
def test_mirror_with_the_other_hand_changes_no_bit(rule: int) -> None:
    balls, paths = flown(200)
    mirror = paths.copy()
    mirror[:, :, X] = -paths[:, :, X]
    right, left = player("college-man").legs, player("college-man", "left").legs
    bodies = moving_bodies(np.random.default_rng(7), 200)
    other = bodies.copy()
    other["x_m"], other["vx_m_s"] = -bodies["x_m"], -bodies["vx_m_s"]
    meeting, seen = (
        met((balls, paths), bodies, right, rule),
        met((balls, mirror), other, left, rule),
    )
    for name in meeting.dtype.names or ():
        sign = -1 if name in ("ball_x_m", "body_x_m", "body_vx_m_s") else 1
        np.testing.assert_array_equal(seen[name] * sign, meeting[name], err_msg=name)


def test_ball_that_is_not_in_is_missed_without_a_time() -> None:
    balls, paths = drives(400, "club-adult", seed=9)
    out, legs = balls["outcome"] != IN, Legs()
    assert 20 < out.sum() < 300
    x, y = np.array([0.0, 1.0]), np.array([-13.0, -12.0])
    spare, grade = appraisals(balls, paths, x, y, legs.numbers, legs.times)
    np.testing.assert_array_equal(np.isnan(spare), np.stack([out, out], axis=1))
    assert np.all(grade[out] == MISSED)
    meeting = met((balls, paths), bodies_at(np.zeros(400), np.full(400, -13.0)), legs)
    np.testing.assert_array_equal(np.isnan(meeting["time_to_spare_s"]), out)
    assert np.all(meeting["grade"][out] == MISSED)
    assert np.all(meeting["quality"][out] == 0.0)


def looks(path: np.ndarray, count: int, start: Start, legs: Legs) -> np.ndarray:
    """(time, distance from the body, time to spare) of the playable samples, by brute force."""
    samples = points_of(path, count, legs, looks_per_sample=1)
    spare = time_to_spare_at_s(samples, start, legs)
    distance = np.hypot(samples.x - start.x, samples.y - start.y)
    return np.stack([samples.t, distance, spare])


@pytest.fixture(scope="module")
def ruled() -> list[tuple[np.ndarray, Start, dict[int, np.void]]]:
    """What brute force sees of each ball in time, where the body is, and its meeting by rule."""
    legs, (balls, paths) = WEIGHING, flown(150)
    bodies = moving_bodies(np.random.default_rng(10), 150)
    by_rule = {rule: met((balls, paths), bodies, legs, rule) for rule in RULES}
    out = []
    for i in np.flatnonzero(by_rule[BALANCED]["grade"] != MISSED):
        start = start_of(bodies[i], legs)
        seen = looks(paths[i], balls["points"][i], start, legs)
        out.append((seen, start, {rule: by_rule[rule][i] for rule in RULES}))
    assert len(out) > 60
    return out


Ruled = list[tuple[np.ndarray, Start, dict[int, np.void]]]


def test_every_rule_meets_the_ball_in_time_and_grades_alike(ruled: Ruled) -> None:
    for (time, _, spare), _, meeting in ruled:
        for rule in RULES:
            assert meeting[rule]["time_to_spare_s"] == meeting[MOST_TIME]["time_to_spare_s"]
            assert meeting[rule]["grade"] == meeting[MOST_TIME]["grade"]
            near = np.abs(time - meeting[rule]["time_s"]) <= PATH_STEP_S
            assert spare[near].max() > -CLOSE_S


def test_earliest_leaves_no_earlier_sample_that_is_reached(ruled: Ruled) -> None:
    early = 0
    for (time, _, spare), _, meeting in ruled:
        first = time[spare > CLOSE_S]
        if len(first) > 2:
            assert meeting[EARLIEST]["time_s"] <= first[0] + TWO_LOOKS_S
            early += meeting[EARLIEST]["time_s"] < meeting[MOST_TIME]["time_s"]
    assert early > len(ruled) // 2


def test_nearest_leaves_no_nearer_sample_that_is_reached(ruled: Ruled) -> None:
    """But one between two looks, by no more than the ball's way from look to look."""
    for (_, distance, spare), start, meeting in ruled:
        reached = np.flatnonzero(spare > CLOSE_S)
        if len(reached) > 2:
            m = meeting[NEAREST]
            from_start = np.hypot(m["ball_x_m"] - start.x, m["ball_y_m"] - start.y)
            way = np.abs(np.diff(distance)).max()
            assert from_start <= distance[reached].min() + way
            assert from_start <= distance[reached[::2]].max()


def test_most_time_is_taken_where_most_time_is(ruled: Ruled) -> None:
    for (time, _, spare), _, meeting in ruled:
        m = meeting[MOST_TIME]
        assert m["time_to_spare_s"] >= spare.max() - CLOSE_S
        best = time[np.argmax(spare)]
        assert abs(m["time_s"] - best) <= PATH_STEP_S


def test_balanced_weighs_the_reply_against_waiting_best(ruled: Ruled) -> None:
    """No other rule finds a better weighing, but by a little: between looks, and since the choice
    takes the lateness at the point, to first order, for the time to spare there."""

    def weighed(m: np.void) -> float:
        worth = m["reply_chance"] * (0.5 + 0.5 * m["quality"])
        return float(worth - WEIGHING.haste_per_s * m["time_s"])

    for _, _, meeting in ruled:
        assert weighed(meeting[BALANCED]) >= weighed(meeting[EARLIEST]) - 0.02
        assert weighed(meeting[BALANCED]) >= weighed(meeting[NEAREST]) - 0.02
        assert weighed(meeting[BALANCED]) >= weighed(meeting[MOST_TIME]) - 0.02


@pytest.mark.parametrize("z_m", [0.5, 0.95, 1.2, 1.5, 1.9])
def test_ball_on_the_rise_gives_a_worse_reply_than_one_that_falls(z_m: float) -> None:
    """The steeper the worse, by at most `rise_cost`; falling costs nothing."""
    rising = np.array([-4.0, 0.0, 0.5, 2.0, 6.0])
    balls = hanging(np.full(5, 0.5), np.full(5, -13.0), np.full(5, 3.0), z_m, rising)
    legs = Legs()
    quality = met(balls, bodies_at(np.zeros(5), np.full(5, -13.0)), legs)["quality"]
    assert quality[0] == quality[1]
    assert np.all(np.diff(quality[1:]) < 0)
    assert quality[-1] > (1 - legs.rise_cost) * quality[0]
    assert quality[3] == pytest.approx(quality[0] * (1 - 0.5 * legs.rise_cost), rel=1e-12)


def test_quality_is_best_at_the_best_heights_and_fades_smoothly_outside() -> None:
    z = np.linspace(0.1, 2.3, 221)
    balls = hanging(np.full(221, 0.5), np.full(221, -13.0), 3.0, z)
    legs = Legs()
    quality = met(balls, bodies_at(np.zeros(221), np.full(221, -13.0)), legs)["quality"]
    inside = (z >= legs.best_low_m) & (z <= legs.best_high_m)
    assert np.ptp(quality[inside]) < 1e-12 and quality[inside][0] > 0.99
    assert np.all(quality[~inside] <= quality[inside].max() + ROUNDING)
    assert np.abs(np.diff(quality)).max() < 0.05
    low = np.interp(legs.best_low_m - legs.fade_low_m, z, quality)
    high = np.interp(legs.best_high_m + legs.fade_high_m, z, quality)
    assert (low, high) == pytest.approx((0.5 * quality[inside][0],) * 2, abs=1e-3)


def test_quality_falls_smoothly_with_less_time() -> None:
    """Over bodies a centimetre farther away each, for as long as they are in time."""
    away = np.arange(0.0, 9.0, 0.01)
    count = len(away)
    balls = hanging(np.zeros(count), np.full(count, -13.0), 1.5)
    meeting = met(balls, bodies_at(-away, np.full(count, -13.0)), Legs(), MOST_TIME)
    in_time = meeting["grade"] != MISSED
    assert 300 < in_time.sum() < count
    quality, eased = meeting["quality"][in_time], meeting["set_time_to_spare_s"][in_time]
    assert quality[0] > 0.99 and quality[-1] < 0.2
    assert np.all(np.diff(quality) <= ROUNDING)
    assert np.abs(np.diff(quality)).max() < 0.01
    half = np.interp(0.5, quality[::-1], eased[::-1])
    assert half == pytest.approx(Legs().ease_centre_s, abs=2e-3)
    assert np.all(meeting["quality"][~in_time] == 0.0)


def test_the_body_ends_up_within_reach_of_a_ball_that_it_meets() -> None:
    legs, bodies = Legs(), moving_bodies(np.random.default_rng(11), 300)
    meeting = met(flown(300), bodies, legs, MOST_TIME)
    in_time = meeting["grade"] != MISSED
    away = np.hypot(
        meeting["ball_x_m"] - meeting["body_x_m"], meeting["ball_y_m"] - meeting["body_y_m"]
    )
    assert np.all(away[in_time] <= legs.full_reach_m + 0.02)
    run = np.hypot(meeting["body_x_m"] - bodies["x_m"], meeting["body_y_m"] - bodies["y_m"])
    np.testing.assert_allclose(meeting["run_m"], run, rtol=0, atol=1e-12)


def test_no_balls_and_no_places_give_empty_answers() -> None:
    legs, (balls, paths) = Legs(), flown(40)
    none = np.zeros(0)
    assert appraisals(balls, paths, none, none, legs.numbers, legs.times)[0].shape == (40, 0)
    x, y = np.array([0.0]), np.array([-12.0])
    assert appraisals(balls[:0], paths[:0], x, y, legs.numbers, legs.times)[1].shape == (0, 1)
    assert len(met((balls[:0], paths[:0]), np.zeros(0, BODY), legs)) == 0


def test_a_fast_ball_gives_a_worse_reply_and_is_met_as_well() -> None:
    """The faster it leaves the ground the worse, halved at the stated speed; time is untouched."""
    balls, paths = hanging(np.full(4, 0.5), np.full(4, -13.0), np.full(4, 3.0), 1.2)
    balls["bounce_vx_m_s"] = 0.0
    legs = Legs()
    pace = legs.easy_pace_m_s + legs.pace_half_m_s * np.array([-1.0, 0.0, 1.0, 2.0])
    balls["bounce_vy_m_s"] = -pace
    meeting = met((balls, paths), bodies_at(np.zeros(4), np.full(4, -13.0)), legs)
    shares = meeting["quality"] / meeting["quality"][0]
    np.testing.assert_allclose(shares, [1.0, 1.0, 0.5, 0.2], rtol=1e-9)
    assert len(set(meeting["time_to_spare_s"])) == 1 and len(set(meeting["grade"])) == 1
