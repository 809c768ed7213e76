"""Where to stand: what the answer holds, symmetry, own policies, and common practice."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest

from experiments.answers.spot.answer import SpotResult, find_spot
from experiments.answers.spot.words import spot_json, spot_text
from experiments.balls.angle import (
    leaves_court_m,
    leaves_singles_court,
    usual_drive,
    whole_path,
)
from experiments.balls.places import FINEST_X_M, STEP_X_M
from experiments.balls.spots import placed_situation, with_own
from experiments.balls.struck import counted
from experiments.scene.people import waiting_depth_m
from experiments.scene.scene import Scene, scene_of
from experiments.scene.sides import steps
from experiments.study.settings import opening_balls
from sim.contracts import RecoveryPolicy, Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.envelope import LINE_MARGIN_M
from sim.errors import InputError
from sim.meeting import appraisals
from sim.players import player
from sim.records import IN, MISSED
from sim.world import World
from strategies.catalogue import make_policy, make_shot_model

MIDDLE, CORNER, WIDE = (0.0, HALF_LENGTH_M), (3.115, HALF_LENGTH_M), (5.115, HALF_LENGTH_M)
SHORT_WIDE = (4.8, 6.9)  # near the service line, on the way of a ball down the line to WIDE
LEVELS = ("club-adult", "college-man", "professional-man")


def asked(place: tuple[float, float] = CORNER, level: str = "club-adult", **changes: Any) -> Scene:
    """A scene of players with equal wings, with few balls."""
    me = player(level).with_equal_wings()
    values = {"hitter": "any-allowed", "depth": me.waits_behind_m, "balls": 1500, "seed": 5}
    people = {name: changes.pop(name, me) for name in ("player", "opponent")}
    return dataclasses.replace(scene_of(place, **{**values, **changes}), **people)


def found_at(scene: Scene, *own: RecoveryPolicy) -> SpotResult:
    """The answer with the catalogue's policies and one's own."""
    return find_spot(scene, with_own(own))


@cache
def answer(place: tuple[float, float], level: str) -> SpotResult:
    """With as many balls as the range of the best place needs to be told from noise."""
    return found_at(asked(place, level, balls=6000))


def x_of(result: SpotResult, policy: str) -> float:
    return next(p.x_m for p in result.policies if p.name == policy)


def test_shares_are_those_of_the_balls_that_studies_use() -> None:
    """Worked out once more from the balls of the placed setting, one place at a time."""
    question = dataclasses.replace(asked(), balls=300)
    balls, paths = opening_balls(question.game, question.place, np.arange(300))
    landed = balls["outcome"] == IN
    legs = question.player.legs
    for p in found_at(question).policies:
        x, y = np.array([p.x_m]), np.array([p.y_m])
        spare, grade = appraisals(balls, paths, x, y, legs.numbers, legs.times)
        assert p.landed_in == landed.sum()
        assert p.share_in_time == pytest.approx((grade[landed] != MISSED).mean())
        assert p.time_to_spare_s == pytest.approx(np.maximum(spare[landed], -3.0).mean())
        assert p.low <= p.share_in_time <= p.high
        assert p.share_set <= p.share_in_time


def test_chunks_do_not_change_the_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    question, places = asked(), np.array([[0.0, -12.6], [-1.0, -12.6]])
    whole = counted(question, places, 500)
    monkeypatch.setattr("experiments.balls.struck.CHUNK", 64)
    parts = counted(question, places, 500)
    assert len(parts.landed) == 8 and np.array_equal(whole.in_time, parts.in_time)
    assert whole.rate("spare_s") == pytest.approx(parts.rate("spare_s"), rel=1e-12)


def test_curve_passes_through_the_policies() -> None:
    result = answer(CORNER, "club-adult")
    for p in result.policies:
        on_curve = np.interp(p.x_m, result.curve_x_m, result.curve_share_in_time)
        assert on_curve == pytest.approx(p.share_in_time, abs=0.01)
    assert np.diff(result.curve_x_m) == pytest.approx(STEP_X_M)
    best = max(result.curve_share_in_time.max(), *(p.share_in_time for p in result.policies))
    assert result.best.share == best


def test_extreme_paths_run_from_the_contact_past_the_bounce() -> None:
    result = answer(CORNER, "college-man")
    for extreme in result.extremes:
        t, x, y, z = extreme.path.T
        assert (x[0], y[0], z[0]) == pytest.approx((*CORNER, 1.0))
        assert (np.diff(t) >= 0).all() and t[0] == 0
        assert z[-1] == pytest.approx(World().ball.radius_m)
        bounce = np.argmin(np.hypot(x - extreme.target_m[0], y - extreme.target_m[1]))
        assert 0 < bounce < len(t) - 1
        assert z[bounce] < 0.15
    left, right = result.extremes
    assert left.target_m[0] < 0 < right.target_m[0]
    assert result.bisector[1] == pytest.approx((x_of(result, "bisector"), -13.085))


def test_hitter_who_sees_the_receiver_plays_to_each_place_anew() -> None:
    """Whoever stands far to one side leaves the other open; blind balls would not know."""
    question = asked(MIDDLE, "college-man", hitter="open-court", balls=1000)
    result = found_at(question)
    assert result.curve_balls < question.balls
    place = np.array([[2.0, -13.085]])
    alone = counted(question, place, 400)
    beside = counted(question, np.concatenate([place, [[-3.0, -13.085]]]), 400)
    assert alone.in_time[0] == beside.in_time[0]
    assert "played to anew" in spot_text(result)
    blind = dataclasses.replace(question, hitter=make_shot_model("habit"))
    assert "played to anew" not in spot_text(found_at(blind))


@pytest.mark.parametrize("hitter", ["habit", "open-court", "best-reply"])
def test_no_policy_on_the_waiting_line_is_better_than_the_best_place(hitter: str) -> None:
    """The best place is judged on the very balls of the policies, and each is one of its rivals."""
    for seed in (1, 2):
        question = asked(level="college-man", hitter=hitter, balls=400, seed=seed)
        result = found_at(question)
        assert all(p.share_in_time <= result.best.share for p in result.policies)
        assert result.best.low_m <= result.best.top_x_m <= result.best.high_m


def test_the_line_is_finer_where_a_watching_hitter_changes_his_stroke() -> None:
    result = found_at(asked(level="college-man", hitter="best-reply", balls=400))
    gaps = np.diff(result.curve_x_m)
    assert gaps.min() == FINEST_X_M and (gaps > 0).all()
    k = int(result.curve_share_in_time.argmax())
    assert gaps[k - 1] == gaps[k] == FINEST_X_M


@pytest.mark.parametrize("place", [MIDDLE, CORNER])
def test_left_hander_mirrors_right_hander(place: tuple[float, float]) -> None:
    """Unequal wings: the spots of a left-hander are the mirror image, and the shift is told."""
    me, other = player("college-man"), player("college-man")
    right = found_at(asked(place, player=me, opponent=other))
    mirrored = (-place[0], place[1])
    left_handed = {"player": me.with_hand("left"), "opponent": other.with_hand("left")}
    left = found_at(asked(mirrored, **left_handed))
    for a, b in zip(right.policies, left.policies, strict=True):
        assert a.x_m == pytest.approx(-b.x_m, abs=1e-6)
        # The errors of execution are not mirrored, so shares agree within their noise only:
        # 0.018 is about three standard errors of the difference.
        assert a.share_in_time == pytest.approx(b.share_in_time, abs=0.018)
    shift = x_of(right, "time-balanced")
    assert f"{abs(shift):.1f} m" in spot_text(right, every=True) or abs(shift) < 0.05


@pytest.mark.parametrize("level", LEVELS)
def test_opponent_in_the_middle(level: str) -> None:
    """Common practice, no source: the middle is right against an opponent in the middle."""
    result = answer(MIDDLE, level)
    assert abs(x_of(result, "bisector")) < 0.1
    assert abs(x_of(result, "time-balanced")) < 0.1
    assert result.best.low_m <= 0 <= result.best.high_m


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("policy", ["bisector", "time-balanced"])
def test_opponent_off_centre(level: str, policy: str) -> None:
    """Common practice, no source: about 1 m to the other side of the middle against an opponent
    at the baseline 1 m inside the sideline (0.4 to 1.6 m accepted), further over for one 1 m
    outside it, and further still for one near the service line on the same way down the line.
    """
    corner, wide, short = (-x_of(answer(p, level), policy) for p in (CORNER, WIDE, SHORT_WIDE))
    assert 0.4 <= corner <= 1.6
    assert corner < wide < short


def crossing_bounce_m(question: Scene) -> float:
    """Where the bounce has to lie, by straight lines seen from above."""
    seen = placed_situation(question)
    x, y = question.place.x_m, question.place.y_m
    target = HALF_WIDTH_M - LINE_MARGIN_M
    return (x + target) * (y + seen.line_m) / (x + HALF_WIDTH_M) - y


@pytest.mark.parametrize("level", LEVELS)
def test_crosscourt_ball_leaves_the_court_once_it_bounces_short_enough(level: str) -> None:
    """Common practice, no source: crosscourt balls run out of the court, straight ones do not."""
    question = asked(CORNER, level)
    seen = placed_situation(question)
    found = leaves_court_m(seen)
    crossing = min(crossing_bounce_m(question), HALF_LENGTH_M)
    assert found == pytest.approx(crossing, abs=0.02)
    target = -(HALF_WIDTH_M - LINE_MARGIN_M)
    either = ((found - 0.1, True), (found + 0.1, False))
    for bounce, leaves in either[: 2 if found < HALF_LENGTH_M else 1]:  # farther ones land out
        path = whole_path(seen, usual_drive(seen, target, bounce))[1]
        assert leaves_singles_court(path, seen.line_m) == leaves
    where = f"that bounces nearer to the net than {found:.1f} m"
    where = where if found < HALF_LENGTH_M else "wherever it bounces"
    assert where in spot_text(answer(CORNER, level))


@pytest.mark.parametrize("bounce_m", [4.0, 6.0, 9.0, 11.5])
def test_straight_ball_from_inside_the_sideline_stays_in_the_court(bounce_m: float) -> None:
    """Common practice, no source."""
    seen = placed_situation(asked(CORNER))
    balls, path = whole_path(seen, usual_drive(seen, CORNER[0], bounce_m))
    assert balls["outcome"][0] == IN
    assert not leaves_singles_court(path, seen.line_m)


@pytest.mark.parametrize("place", [MIDDLE, CORNER])
def test_waiting_a_little_behind_the_baseline_is_sensible(place: tuple[float, float]) -> None:
    """Common practice, no source: an adult on a hard court waits 1 to 1.5 m behind the baseline.

    Sensible: of all depths from 0 to 5 m, missed within half a ball in 100 of the fewest and set
    within one ball in 100 of the most. (Against better hitters the model wants more depth.)
    """
    question = asked(place)
    depths = np.array([0.0, 0.5, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0])
    x = x_of(answer(place, "club-adult"), "time-balanced")
    places = np.stack([np.full(len(depths), x), -HALF_LENGTH_M - depths], axis=1)
    shares = counted(question, places, 3000)
    are_set = shares.rate("set")
    sensible = (shares.in_time >= shares.in_time.max() - 0.005) & (are_set >= are_set.max() - 0.01)
    assert sensible[(depths >= 1.0) & (depths <= 1.5)].all()
    assert not sensible[depths >= 3].any()


@dataclass(frozen=True)
class StepOver:
    """A user's own policy: a step to the left, a metre deeper."""

    name: str = "a step over"

    def spots(self, seen: Situation) -> np.ndarray:
        return np.stack([np.full(len(seen), -0.75), np.full(len(seen), -13.6)], axis=1)


def test_own_policy_stands_beside_the_others() -> None:
    result = found_at(asked(balls=200), StepOver())
    own = result.policies[-1]
    assert (own.name, own.x_m, own.y_m) == ("a step over", -0.75, -13.6)
    assert "a step over" in spot_json(result)["policies"]
    assert len(with_own([make_policy("bisector")])) == len(with_own([]))
    with pytest.raises(InputError, match="two policies are named 'middle'"):
        with_own([StepOver("middle")])


def test_stay_has_no_spot() -> None:
    with pytest.raises(InputError, match="'stay' has no spot here"):
        find_spot(asked(), [make_policy("stay")])


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"depth": -0.5}, "depth is -0.5 m"),
        ({"depth": 7.0}, "from 0 to 6.4"),
        ({"depth": float("nan")}, "depth is nan"),
        ({"balls": 5}, "balls is 5"),
        ({"seed": -1}, "seed is -1"),
    ],
)
def test_bad_questions_are_refused(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        asked(**changes)


def test_nothing_lands_in() -> None:
    shots = make_shot_model({"name": "script", "shots": [(10.0, 20.0, 60.0, 0.0)]})
    with pytest.raises(InputError, match="not one ball landed in"):
        found_at(asked(hitter=shots, balls=100))


def test_waiting_depth() -> None:
    assert waiting_depth_m(player("professional-man"), "clay") == 2.8
    assert waiting_depth_m(player("professional-man"), "hard") == 2.3
    assert waiting_depth_m(player("club-adult"), "clay") == 0.7


def test_steps() -> None:
    assert [steps(x) for x in (0.0, -0.75, 1.5)] == ["no step", "1.0 step", "2.0 steps"]


def test_text_says_where_to_stand_and_what_the_middle_costs() -> None:
    result = answer(WIDE, "college-man")
    text = spot_text(result)
    first = " ".join(text.split("\n\n")[0].split())
    assert first.startswith(f"Stand {-result.best.x_m:.1f} m left of the centre mark")
    assert "toward your left (the backhand side): from there" in first
    middle = next(p for p in result.policies if p.name == "middle").missed_per_100
    assert f"miss {100 * (1 - result.best.share):.1f} of 100" in first
    assert f"from the middle {middle.value:.1f} ({middle.low:.1f} to {middle.high:.1f})" in first
    assert "the middle is as good" in " ".join(spot_text(answer(MIDDLE, "college-man")).split())


def test_a_few_ways_are_told_first_and_all_if_asked() -> None:
    result = answer(WIDE, "college-man")
    few, every = spot_text(result), spot_text(result, every=True)
    names = [p.name for p in result.policies]
    told = [name for name in names if f"\n{name} " in few]
    assert len(told) == 4 and "middle" in told and "--all" in few
    assert all(f"\n{name} " in every for name in names) and "--all" not in every
    assert f"\n{names[-1]} " in spot_text(result, own=names[-1:])
