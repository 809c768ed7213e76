"""What each shot model hits, as small tables and as shares with a stated false-alarm rate."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy import stats

from sim.belief import DIRECTIONS, Belief
from sim.chance import SHOT, uniforms
from sim.contracts import ShotModel, ShotSituation, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.hitter import RPM, Hitter
from sim.kinds import DRIVE
from sim.launch import HIT
from sim.players import PLAYERS, Player, player
from sim.stroke import reasons_not_to_hit
from sim.world import World
from strategies.directions import (
    CROSSCOURT,
    DOWN_THE_LINE,
    MIDDLE,
    SHORT_ANGLE,
    crosscourt_of,
    hand_of,
)
from strategies.shots.any_allowed import AnyAllowed
from strategies.shots.attentive import Attentive
from strategies.shots.habit import Habit
from strategies.shots.open_court import OpenCourt
from strategies.shots.pressing import Pressing
from strategies.shots.script import Script

FALSE_ALARM = 1e-4  # of each statistical test; the seed is fixed, so a pass stays a pass
CORNER_X_M = 3.115
COLLEGE = player("college-man")


def strokes(
    count: int,
    x_m: float = CORNER_X_M,
    wing: int = 1,
    me: Player = COLLEGE,
    receiver_x_m: float = 0.0,
    receiver_vx_m_s: float = 0.0,
    quality: float = 1.0,
) -> ShotSituation:
    """Strokes from (x, -12, 1) against a receiver at the waiting depth."""
    same = np.ones(count)
    receiver = bodies_at(receiver_x_m * same, 13.185 * same)
    receiver["vx_m_s"] = receiver_vx_m_s
    contact = contacts_at(x_m * same, -12.0 * same, same, np.full(count, wing), quality)
    return ShotSituation(me, COLLEGE, World().turned_numbers, contact, receiver)


def unhurried_m_s(seen: ShotSituation) -> np.ndarray:
    """What a hitter wishes who is not hurried, by the wing."""
    return seen.me.hitter.unhurried_share * seen.speed_m_s


def draws(model: ShotModel, count: int, seed: int = 5) -> np.ndarray:
    return uniforms(seed, np.arange(count), SHOT, 1, model.draws)


def share_test(counts: np.ndarray, shares: np.ndarray) -> float:
    """p-value of observed counts against expected shares, empty ones left out."""
    kept = shares > 0
    assert (counts[~kept] == 0).all()
    return float(stats.chisquare(counts[kept], counts.sum() * shares[kept]).pvalue)


@pytest.mark.parametrize(
    ("x_m", "wing", "hand", "side"),
    [
        (3.0, 1, "right", -1),
        (3.0, -1, "right", -1),
        (-3.0, 1, "right", 1),
        (0.0, 1, "right", -1),  # a right-hander's forehand pulls to the left
        (0.0, -1, "right", 1),
        (0.0, 1, "left", 1),
        (-0.0, -1, "left", -1),
    ],
)
def test_which_side_crosscourt_is(x_m: float, wing: int, hand: str, side: int) -> None:
    someone = player("college-man", hand)
    assert crosscourt_of(x_m, wing, hand_of(someone)) == side


# Any allowed ball


def test_any_allowed_lands_uniformly_among_what_can_be_hit() -> None:
    count = 20_000
    model, seen = AnyAllowed(), strokes(count)
    intents = model.intents(seen, draws(model, count))
    hit = reasons_not_to_hit(seen.contact, intents, COLLEGE.hitter.numbers, seen.world) == HIT
    assert hit.mean() > 0.999
    x, y = intents["target_x_m"][hit], intents["target_y_m"][hit]
    across, along = np.linspace(-HALF_WIDTH_M, HALF_WIDTH_M, 7), np.linspace(4.5, HALF_LENGTH_M, 6)
    counts = np.histogram2d(x, y, (across, along))[0]
    assert counts.sum() == hit.sum()
    assert stats.chisquare(counts.ravel()).pvalue > FALSE_ALARM


def test_any_allowed_takes_the_first_pair_that_can_be_hit() -> None:
    """Redone the long way for each stroke: the first of eight pairs without a reason against it."""
    count, h = 300, COLLEGE.hitter
    model, seen = AnyAllowed(), strokes(count, -4.0, -1)
    low = seen.contact.copy()
    low["y_m"], low["z_m"] = -9.0, 0.5
    seen = dataclasses.replace(seen, contact=low)
    chance = draws(model, count)
    intents = model.intents(seen, chance)
    speed = h.backhand_speed_m_s * (0.55 + (h.fastest_share - 0.55) * chance[:, 2::2])
    topspin = (500.0 + 2500.0 * chance[:, 3::2]) * RPM
    tries = []
    for i in range(count):
        pairs = np.repeat(intents[i : i + 1], 8)
        pairs["speed_m_s"], pairs["topspin_rad_s"] = speed[i], topspin[i]
        contact = np.repeat(seen.contact[i : i + 1], 8)
        good = reasons_not_to_hit(contact, pairs, h.numbers, seen.world) == HIT
        tries.append(int(np.argmax(good)) if good.any() else 7)
    rows = np.arange(count)
    assert intents["speed_m_s"] == pytest.approx(speed[rows, tries])
    assert intents["topspin_rad_s"] == pytest.approx(topspin[rows, tries])
    assert max(tries) > 1


# Habit


@pytest.mark.parametrize("belief", [Belief(), Belief((0.1, 0.5, 0.3, 0.1), (0.25, 0.0, 0.75, 0.0))])
@pytest.mark.parametrize("x_m", [0.0, 1.5575, -3.115, 4.5])
@pytest.mark.parametrize("wing", [1, -1])
def test_habit_hits_the_believed_shares(belief: Belief, x_m: float, wing: int) -> None:
    count = 20_000
    seen = strokes(count, x_m, wing)
    model = Habit(belief=belief, backhand_crosscourt_gain=0.08, backhand_middle_gain=0.0)
    wide = min(abs(x_m) / CORNER_X_M, 1.0)
    expected = (1 - wide) * np.array(belief.from_middle) + wide * np.array(belief.from_corner)
    if wing == -1:
        expected += [0.08, 0, -0.08, 0]
    directions = model.directions(seen, draws(model, count)[:, 0])
    counts = np.bincount(directions, minlength=len(DIRECTIONS))
    assert share_test(counts, expected) > FALSE_ALARM


def test_wing_moves_no_more_than_there_is() -> None:
    belief = Belief(from_corner=(0.9, 0.07, 0.03, 0.0))
    model = Habit(belief=belief, backhand_crosscourt_gain=0.2, backhand_middle_gain=0.0)
    shares = model.shares(strokes(2, wing=-1))
    assert shares == pytest.approx(np.array([[0.93, 0.07, 0.0, 0.0]] * 2))


def test_never_leaves_a_direction_to_the_others_in_proportion() -> None:
    belief = Belief(from_corner=(0.6, 0.1, 0.2, 0.1))
    shares = Habit(belief=belief, never="down-the-line").shares(strokes(2))
    assert shares == pytest.approx(np.array([[0.75, 0.125, 0.0, 0.125]] * 2))
    only = Belief(from_corner=(0.0, 0.0, 1.0, 0.0))
    shares = Habit(belief=only, never="down-the-line").shares(strokes(1))
    assert shares == pytest.approx(np.array([[1.0, 0.0, 0.0, 0.0]]))
    every = Belief(from_corner=(1.0, 0.0, 0.0, 0.0))
    shares = Habit(belief=every, never="crosscourt").shares(strokes(1))
    assert shares == pytest.approx(np.array([[0.0, 1.0, 0.0, 0.0]]))


def test_favourite_takes_its_share_of_the_other_balls() -> None:
    belief = Belief(from_corner=(0.6, 0.1, 0.2, 0.1))
    shares = Habit(belief=belief, favourite="middle", favourite_share=0.5).shares(strokes(1))
    assert shares == pytest.approx(np.array([[0.3, 0.55, 0.1, 0.05]]))
    all_of_them = Habit(belief=belief, favourite="short-angle", favourite_share=1.0)
    assert all_of_them.shares(strokes(1)) == pytest.approx(np.array([[0.0, 0.0, 0.0, 1.0]]))
    both = Habit(belief=belief, favourite="middle", never="down-the-line")
    assert both.shares(strokes(1))[0, DOWN_THE_LINE] == 0.0


@pytest.mark.parametrize("hand", ["right", "left"])
def test_running_round_the_backhand(hand: str) -> None:
    """Up to 2 m on the backhand side, unhurried: a forehand in speed and shares; else not."""
    me, side = player("college-man", hand), -1.0 if hand == "right" else 1.0
    model, plain = Habit(runs_round_m=2.0, speed_spread=0.0), Habit(speed_spread=0.0)
    for x_m, quality, wing in ((1.5, 1.0, 1), (2.5, 1.0, -1), (1.5, 0.6, -1)):
        seen = strokes(50, side * x_m, -1, me, quality=quality)
        other = strokes(50, side * x_m, wing, me, quality=quality)
        chance = draws(model, 50)
        assert model.intents(seen, chance).tobytes() == plain.intents(other, chance).tobytes()
        assert (seen.contact["wing"] == -1).all()


def test_weak_wing_is_slower_and_the_other_is_not() -> None:
    model, chance = Habit(weak_wing="backhand", weak_speed_share=0.8), draws(Habit(), 20)
    for wing, share in ((-1, 0.8), (1, 1.0)):
        seen = strokes(20, wing=wing)
        slowed, usual = model.intents(seen, chance), Habit().intents(seen, chance)
        assert slowed["speed_m_s"] == pytest.approx(share * usual["speed_m_s"])
        assert (slowed["target_x_m"] == usual["target_x_m"]).all()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"never": "down the line"}, "Did you mean 'down-the-line'"),
        ({"favourite": "lob"}, "unknown habit for favourite 'lob'"),
        ({"weak_wing": "smash"}, "unknown habit for weak_wing"),
        ({"favourite_share": 1.5}, "favourite_share is 1.5; allowed: 0 to 1"),
        ({"never": "middle", "favourite": "middle"}, "cannot be the favourite and never"),
        ({"runs_round_m": -1.0}, "runs_round_m is -1.0"),
    ],
)
def test_habits_that_are_none(changes: dict[str, object], says: str) -> None:
    with pytest.raises(InputError, match=says):
        Habit(**changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("level", PLAYERS)
def test_targets_keep_the_hitters_own_error_from_the_lines(level: str) -> None:
    """So many standard deviations of the own error, at the distance of the corner aimed at."""
    h = PLAYERS[level].hitter
    sds = h.aim_margin_sds
    seen = strokes(1, me=PLAYERS[level])
    for direction, side in ((CROSSCOURT, -1), (DOWN_THE_LINE, 1)):
        distance = math.hypot(side * HALF_WIDTH_M - CORNER_X_M, HALF_LENGTH_M + 12.0)
        across = sds * math.tan(math.radians(h.direction_sd_deg)) * distance
        along = sds * h.depth_sd_m / 24.0 * distance
        x, y = Habit().targets(seen, np.array([direction]))
        margin = min(across, 0.6 * HALF_WIDTH_M)
        assert x == pytest.approx(side * (HALF_WIDTH_M - margin))
        assert y == pytest.approx(HALF_LENGTH_M - along)


def test_spread_never_eats_the_margin() -> None:
    model, count = Habit(), 2000
    seen = strokes(count)
    for direction in (CROSSCOURT, DOWN_THE_LINE):
        chosen = np.full(count, direction)
        deviates = np.random.default_rng(1).normal(size=(2, count))
        x, y = model.targets(seen, chosen, *deviates)
        edge_x, edge_y = model.targets(seen, chosen)
        assert (np.abs(x) <= np.abs(edge_x)).all() and (y <= edge_y).all()
        assert np.abs(x).std() > 0.1 and y.std() > 0.2


def test_stretched_hitter_aims_further_from_the_sideline() -> None:
    at_ease, late = strokes(1), strokes(1, quality=0.5)
    wide, safe = (Habit().targets(s, np.array([CROSSCOURT]))[0] for s in (at_ease, late))
    margins = HALF_WIDTH_M - np.abs([wide[0], safe[0]])
    assert margins[1] == pytest.approx(margins[0] * (1 + 0.5 * COLLEGE.hitter.stretched_error_gain))


def test_short_angle_is_short_slow_and_full_of_topspin() -> None:
    count = 4000
    only = (0.0, 0.0, 0.0, 1.0)
    model, seen = Habit(belief=Belief(only, only), width_spread_m=0.4), strokes(count)
    intents = model.intents(seen, draws(model, count))
    assert intents["target_y_m"][intents["kind"] == DRIVE].mean() == pytest.approx(6.2, abs=0.05)
    assert (intents["target_x_m"] < -1).all()
    assert (intents["speed_m_s"] / unhurried_m_s(seen)).mean() == pytest.approx(0.8, abs=0.01)
    assert intents["topspin_rad_s"].mean() > 1.1 * seen.topspin_rad_s[0]


def test_speed_and_topspin_lie_around_the_usual_within_the_range() -> None:
    count, only = 20_000, (1.0, 0.0, 0.0, 0.0)
    for wing in (1, -1):
        model = Habit(belief=Belief(only, only), speed_spread=0.06)
        seen = strokes(count, wing=wing)
        intents = model.intents(seen, draws(model, count))
        share = intents["speed_m_s"] / unhurried_m_s(seen)
        assert share.mean() == pytest.approx(1.0, abs=0.005)
        assert share.std() == pytest.approx(0.06, abs=0.003)
        assert share.max() <= COLLEGE.hitter.fastest_share + 1e-12
        rpm = intents["topspin_rad_s"] / RPM
        assert rpm.mean() == pytest.approx(2500 if wing == 1 else 2000, rel=0.01)
        assert rpm.max() <= 3000 * (1 + 1e-12)


# Pressing


def test_pressing_is_faster_closer_to_the_lines_and_seldom_in_the_middle() -> None:
    count = 4000
    model, seen = Pressing(), strokes(count)
    intents = model.intents(seen, draws(model, count))
    drives = model.directions(seen, draws(model, count)[:, 0]) != SHORT_ANGLE
    assert intents["speed_m_s"][drives] == pytest.approx(1.15 * unhurried_m_s(seen)[drives])
    for direction in (CROSSCOURT, DOWN_THE_LINE):
        x, y = model.targets(strokes(1), np.array([direction]))
        usual_x, usual_y = Habit().targets(strokes(1), np.array([direction]))
        assert HALF_WIDTH_M - abs(x) == pytest.approx(0.6 * (HALF_WIDTH_M - abs(usual_x)))
        assert HALF_LENGTH_M - y == pytest.approx(0.6 * (HALF_LENGTH_M - usual_y))
    assert (model.shares(seen)[:, MIDDLE] < Habit().shares(seen)[:, MIDDLE]).all()


# Open court


def direction_shares(model: OpenCourt, seen: ShotSituation) -> np.ndarray:
    chosen = model.directions(seen, draws(model, len(seen))[:, 0])
    return np.bincount(chosen, minlength=4) / len(seen)


def test_open_court_picks_the_open_side() -> None:
    """From the right corner crosscourt is left: a receiver far over there opens the line."""
    there, here = (direction_shares(OpenCourt(), strokes(4000, receiver_x_m=x)) for x in (-3, 3))
    assert there[DOWN_THE_LINE] > 0.8 > 0.5 > there[CROSSCOURT]
    assert here[CROSSCOURT] > 0.6 and here[DOWN_THE_LINE] < 0.1


@pytest.mark.parametrize("receiver_x_m", [-1.5, 0.0, 1.0])
def test_open_court_plays_behind_a_runner(receiver_x_m: float) -> None:
    """A velocity counts like the place that it leads to in 0.4 s."""
    count, model = 500, OpenCourt()
    running = strokes(count, receiver_x_m=receiver_x_m, receiver_vx_m_s=-4.0)
    there = strokes(count, receiver_x_m=receiver_x_m - 1.6)
    draw = draws(model, count)[:, 0]
    assert model.gaps_m(running, 0.4) == pytest.approx(model.gaps_m(there, 0.4))
    assert (model.directions(running, draw) == model.directions(there, draw)).mean() > 0.999
    standing = strokes(4000, receiver_x_m=receiver_x_m)
    runner = strokes(4000, receiver_x_m=receiver_x_m, receiver_vx_m_s=-4.0)
    line = [direction_shares(model, seen)[DOWN_THE_LINE] for seen in (standing, runner)]
    assert line[1] > line[0] + 0.1


@pytest.mark.parametrize("sharpness", [0.5, 1.0, 2.0])
def test_open_court_is_a_logistic_in_the_difference_of_the_gaps(sharpness: float) -> None:
    count = 20_000
    model = OpenCourt(sharpness_per_m=sharpness, short_angle_weight=0.0, middle_weight=0.0)
    for receiver_x_m in (-1.2, -0.5, 0.1):
        seen = strokes(count, receiver_x_m=receiver_x_m)
        gaps = model.gaps_m(seen, 0.4)[0]
        crosscourt = 1 / (1 + math.exp(sharpness * (gaps[DOWN_THE_LINE] - gaps[CROSSCOURT])))
        chosen = model.directions(seen, draws(model, count)[:, 0])
        counts = np.bincount(chosen, minlength=4)
        assert share_test(counts, np.array([crosscourt, 0, 1 - crosscourt, 0])) > FALSE_ALARM


def test_open_court_has_no_dead_band() -> None:
    """Each decimetre that the receiver moves over changes the share."""
    model = OpenCourt()
    places = np.linspace(-1.5, 1.0, 26)
    shares = [direction_shares(model, strokes(20_000, receiver_x_m=x)) for x in places]
    assert (np.diff([s[DOWN_THE_LINE] for s in shares]) < 0).all()


def test_gap_is_measured_where_the_path_crosses_the_waiting_depth() -> None:
    seen = dataclasses.replace(strokes(1, x_m=0.0, receiver_x_m=0.5), receiver_depth_m=2.0)
    x, y = OpenCourt().targets(seen, np.array([CROSSCOURT]))
    crossing = x * (HALF_LENGTH_M + 2.0 + 12.0) / (y + 12.0)
    assert OpenCourt().gaps_m(seen, 0.4)[0, CROSSCOURT] == pytest.approx(abs(crossing - 0.5)[0])


# Script


def test_script_hits_what_it_says() -> None:
    first, second = (1.0, 9.0, 30.0, 2500.0), (-2.0, 7.0, 25.0, 1500.0)
    one = Script((first,)).intents(strokes(3), np.array([[0.1], [0.5], [0.99]]))
    assert one["target_x_m"].tolist() == [1.0] * 3
    assert one["topspin_rad_s"] == pytest.approx(2500 * 2 * math.pi / 60)
    two = Script((first, second)).intents(strokes(4), np.array([[0.1], [0.49], [0.5], [0.99]]))
    assert two["target_y_m"].tolist() == [9.0, 9.0, 7.0, 7.0]
    assert two["speed_m_s"].tolist() == [30.0, 30.0, 25.0, 25.0]


@pytest.mark.parametrize(
    "shots",
    [(), ((1.0, 9.0, 30.0),), ((0.0, -9.0, 30.0, 0.0),), ((0, 9, math.nan, 0),), (("a",) * 4,), 3],
)
def test_script_refuses_what_is_no_shot(shots: object) -> None:
    with pytest.raises(InputError, match="shot"):
        Script(shots)  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", [Habit, Pressing, OpenCourt])
@pytest.mark.parametrize("value", [-0.1, math.nan, math.inf])
def test_bad_numbers_are_refused(kind: type, value: float) -> None:
    with pytest.raises(InputError, match=rf"{kind.__name__}\.margin_share"):
        kind(margin_share=value)


@pytest.mark.parametrize("value", [0.0, 11.885, math.nan])
def test_nearest_landing_lies_inside_the_court(value: float) -> None:
    with pytest.raises(InputError, match="nearest_landing_m"):
        AnyAllowed(nearest_landing_m=value)


def test_shaky_hitter_still_aims_to_a_side() -> None:
    shaky = dataclasses.replace(COLLEGE, hitter=Hitter(direction_sd_deg=30.0, depth_sd_m=20.0))
    x, y = Habit().targets(strokes(1, me=shaky), np.array([CROSSCOURT]))
    assert x == pytest.approx(-0.4 * HALF_WIDTH_M) and y == pytest.approx(6.4)


# Attentive


def test_attentive_without_sharpness_is_the_habit() -> None:
    model, count = Attentive(sharpness_per_m=0.0), 5000
    seen = strokes(count, receiver_x_m=-2.0)
    draw = draws(model, count)[:, 0]
    assert (model.directions(seen, draw) == Habit().directions(seen, draw)).all()


def test_attentive_weighs_the_habit_by_the_gap() -> None:
    model, count = Attentive(sharpness_per_m=0.8), 20_000
    seen = strokes(count, receiver_x_m=-1.0)
    weights = model.shares(seen)[0] * np.exp(0.8 * model.gaps_m(seen, 0.4)[0])
    counts = np.bincount(model.directions(seen, draws(model, count)[:, 0]), minlength=4)
    assert share_test(counts, weights / weights.sum()) > FALSE_ALARM
