"""My stroke: what follows a crosscourt, a middle, a straight and a high slow ball of one's own."""

from __future__ import annotations

import dataclasses
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure
from reference_flight import Shot, fly_by_reference

from experiments.answers.stroke.answer import (
    THERE_M,
    TIME_STEP_S,
    AfterStroke,
    Aimed,
    after,
    after_strokes,
    difference,
    recovery_to,
    tables,
)
from experiments.answers.stroke.picture import (
    draw_reach,
    draw_stroke,
    draw_stroke_losses,
    looks_of_policies,
    stroke_figure,
)
from experiments.answers.stroke.strokes import (
    HIGH_DEPTH_M,
    OWN_STROKES,
    OwnStroke,
    StrokeQuestion,
    own_stroke,
)
from experiments.answers.stroke.words import sentences, stroke_json, stroke_text
from experiments.command.main import main
from experiments.output.numbers import json_text
from experiments.scene.scene import scene_of
from sim.court import HALF_WIDTH_M
from sim.errors import InputError
from sim.players import player
from sim.world import World
from strategies.catalogue import make_policy

CORNER = (3.0, -12.4, 1.0)
WAITS = make_policy("linear-shade,shade_m_per_m=0.15")  # how the opponent recovers


def asked(
    balls: int = 1000, seed: int = 4, hitter: str = "habit", **changes: Any
) -> StrokeQuestion:
    scene = scene_of(player="college-man", depth=1.2, hitter=hitter, balls=balls, seed=seed)
    scene = dataclasses.replace(
        scene, **{k: changes.pop(k) for k in ("player", "opponent") if k in changes}
    )
    policies = (make_policy("middle"), make_policy("bisector"))
    values: dict[str, Any] = {"contact_m": CORNER, "policies": policies, "opponent_policy": WAITS}
    return StrokeQuestion(scene, **{**values, **changes})


@cache
def answer() -> tuple[AfterStroke, ...]:
    return tuple(after_strokes(asked()))


@cache
def stroke(name: str) -> OwnStroke:
    return own_stroke(asked(), name)


# --- the strokes ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", OWN_STROKES)
def test_the_ball_flies_as_the_independent_integrator_says(name: str) -> None:
    """SciPy's DOP853 from the same launch: where and when it bounces."""
    ball = stroke(name).ball[0]
    place, velocity, spin = (
        np.array([ball[f"{stem}{axis}{unit}"] for axis in "xyz"])
        for stem, unit in (("", "_m"), ("v", "_m_s"), ("spin_", "_rad_s"))
    )
    shot = Shot(World(), tuple(place), tuple(velocity), tuple(spin))
    time, landing, _ = fly_by_reference(shot, place, velocity, spin)
    assert ball["landing_time_s"] == pytest.approx(time, abs=0.005)
    assert -np.array(landing[:2]) == pytest.approx(stroke(name).bounce_m, abs=0.05)


def test_strokes_go_where_their_names_say() -> None:
    """From the right: across to the left, along the right, to the middle, and high and deep."""
    bounce = {name: stroke(name).bounce_m for name in OWN_STROKES}
    assert -HALF_WIDTH_M < bounce["crosscourt"][0] < -1.5
    assert 1.5 < bounce["down-the-line"][0] < HALF_WIDTH_M
    assert abs(bounce["middle"][0]) < 0.1
    high = stroke("high")
    assert high.bounce_m == pytest.approx((bounce["crosscourt"][0], HIGH_DEPTH_M), abs=0.02)
    assert high.net_gap_m >= 4.0 > stroke("crosscourt").net_gap_m + 2.0
    assert high.speed_m_s < 0.8 * stroke("crosscourt").speed_m_s


def test_higher_balls_leave_more_time() -> None:
    times = [own_stroke(asked(high_gap_m=gap), "high").time_s for gap in (2.0, 3.0, 4.0, 5.0)]
    assert (np.diff(times) > 0.05).all()
    assert times[0] > max(stroke(name).time_s for name in OWN_STROKES[:3])


def test_a_hurried_own_stroke_is_slower_and_shorter() -> None:
    hurried = own_stroke(asked(quality=0.2), "crosscourt")
    assert hurried.speed_m_s < stroke("crosscourt").speed_m_s
    assert hurried.bounce_m[1] < stroke("crosscourt").bounce_m[1]


@pytest.mark.parametrize("name", OWN_STROKES)
def test_the_opponent_meets_the_ball_where_it_is(name: str) -> None:
    s = stroke(name)
    assert s.path_m[-1] == pytest.approx(s.meets_m[:2], abs=0.01)
    assert s.path_m[0] == pytest.approx(CORNER[:2])
    assert s.time_s > s.ball["landing_time_s"][0]
    # The opponent, who waits a little to that side, is within a sprint and a reach of it.
    legs = player("college-man").legs
    away = math.hypot(s.meets_m[0] - s.waits_m[0], s.meets_m[1] - s.waits_m[1])
    ran = float(legs.distance_run_m(s.time_s - legs.reaction_s))
    assert away <= ran + legs.full_reach_m
    assert s.waits_m[0] == pytest.approx(-0.15 * CORNER[0])


def test_an_opponent_who_waits_for_most_time_lets_the_high_ball_come() -> None:
    patient = own_stroke(asked(opponent_takes="most-time"), "high")
    assert patient.time_s > stroke("high").time_s
    assert patient.meets_m[1] > stroke("high").meets_m[1]


# --- the recovery -----------------------------------------------------------------------------


def test_share_and_metres_short_are_of_one_way() -> None:
    for one in answer():
        for p in one.policies:
            left = math.dist(p.spot_m, p.reached_m)
            assert p.short_m == pytest.approx(left)
            assert p.way_m == pytest.approx(math.dist(p.spot_m, one.start_m))
            assert p.share_of_way == pytest.approx(1.0 - left / p.way_m)
            assert 0.0 <= p.share_of_way <= 1.0


def test_the_time_needed_is_where_the_recovery_gets_there() -> None:
    question, s = asked(), stroke("down-the-line")
    policy = make_policy("bisector")
    needs = next(
        p.needs_s for one in answer() if one.stroke.name == s.name for p in one.policies[1:2]
    )
    assert needs > s.time_s  # too late here
    for time, there in ((needs + TIME_STEP_S, True), (needs - 2 * TIME_STEP_S, False)):
        run = recovery_to(question, dataclasses.replace(s, time_s=time), policy)
        left = math.hypot(*(run.spots[0] - [run.body["x_m"][0], run.body["y_m"][0]]))
        assert (left <= THERE_M) == there


def test_more_time_gets_farther() -> None:
    question, s = asked(), stroke("middle")
    short = []
    for time in (0.8, 1.2, 1.6, 3.0):
        run = recovery_to(question, dataclasses.replace(s, time_s=time), Aimed(-1.0))
        short.append(math.hypot(*(run.spots[0] - [run.body["x_m"][0], run.body["y_m"][0]])))
    assert (np.diff(short) < 0).all() and short[-1] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("hitter", ["habit", "open-court"])
def test_no_policy_is_better_than_the_best_aim(seed: int, hitter: str) -> None:
    """Also after the drive to the middle, where all aims far to the left lead to one place, and the
    centre of the aims that are as good is a little worse than the best one."""
    question = asked(balls=400, seed=seed, hitter=hitter)
    one = after(question, stroke("middle"))
    best = one.by_name["best"]
    lost = best.lost("not_returned").value
    assert all(p.lost("not_returned").value >= lost for p in one.policies)
    assert one.best is not None and best.spot_m[0] == one.best.top_x_m
    assert 100 * (1 - one.best.share) == pytest.approx(lost)
    assert one.best.low_m <= one.best.top_x_m <= one.best.high_m


def test_all_policies_meet_the_same_balls_of_a_hitter_who_does_not_look() -> None:
    question, s = asked(), stroke("crosscourt")
    same = tables(question, s, [Aimed(1.0), Aimed(1.0, "again")], 0, 300)[1]
    assert np.array_equal(*same)
    two = tables(question, s, [Aimed(1.0), Aimed(-2.0)], 0, 300)[1]
    assert np.array_equal(two[0][:, 1], two[1][:, 1])  # which balls land in
    looks = asked(hitter="open-court")
    two = tables(looks, s, [Aimed(1.0), Aimed(-2.0)], 0, 300)[1]
    assert not np.array_equal(two[0][:, 4], two[1][:, 4])


def test_mirrored_places_and_hands_give_mirrored_answers() -> None:
    left = player("college-man", "left")
    mirrored = asked(contact_m=(-3.0, -12.4, 1.0), player=left, opponent=left)
    for name in OWN_STROKES:
        one, other = stroke(name), own_stroke(mirrored, name)
        assert other.time_s == pytest.approx(one.time_s, abs=1e-6)
        assert other.meets_m[0] == pytest.approx(-one.meets_m[0], abs=1e-6)
    bisector = make_policy("bisector")
    spots = [
        recovery_to(q, own_stroke(q, "middle"), bisector).spots[0, 0] for q in (asked(), mirrored)
    ]
    assert spots[0] == pytest.approx(-spots[1], abs=1e-6)


def test_the_seed_decides() -> None:
    first = json_text(stroke_json(asked(), answer())["strokes"])
    question = asked()
    assert json_text(stroke_json(question, after_strokes(question))["strokes"]) == first
    other = asked(seed=5)
    assert json_text(stroke_json(other, after_strokes(other))["strokes"]) != first


def test_a_difference_of_a_policy_from_itself_is_nothing() -> None:
    p = answer()[0].policies[0]
    e = difference(p, p)
    assert (e.value, e.low, e.high) == (0.0, 0.0, 0.0)


# --- a winner ---------------------------------------------------------------------------------


def slow_opponent() -> StrokeQuestion:
    me = player("college-man")
    legs = dataclasses.replace(me.legs, top_speed_m_s=1.0)
    return asked(opponent=dataclasses.replace(me, legs=legs), balls=200)


def test_a_stroke_that_is_not_reached_is_said_and_drawn() -> None:
    question = slow_opponent()
    found = after_strokes(question)
    winners = [one for one in found if one.stroke.meets is None]
    assert winners and len(winners) < len(found)
    text = stroke_text(question, found)
    assert "does not reach it" in text
    assert "does not reach the crosscourt drive" in text
    numbers = json_text(stroke_json(question, found))
    assert '"time_s": null' in numbers
    assert "not reached" in stroke_figure(question, found).axes[0].get_title(loc="left")


def test_all_winners_leave_nothing_to_recover_for() -> None:
    one = after(slow_opponent(), own_stroke(slow_opponent(), "crosscourt"))
    said = list(sentences([one]))
    assert len(said) == 1 and "does not reach" in said[0]
    assert stroke_figure(slow_opponent(), [one, one]) is not None


# --- words, numbers, picture ------------------------------------------------------------------


def test_the_sentences_name_the_stroke_with_most_time_and_the_fewest_lost() -> None:
    said = " ".join(sentences(answer()))
    most = max(answer(), key=lambda one: one.stroke.time_s).stroke
    assert most.name == "high"
    assert f"The high slow ball leaves you most time: {most.time_s:.2f} s" in said
    fewest = min(answer(), key=lambda one: one.by_name["best"].lost("not_returned").value)
    assert fewest.stroke.name == "crosscourt"
    assert "fewest balls are lost after the crosscourt drive" in said
    late = answer()[2].by_name["bisector"]
    assert f"{late.short_m:.1f} m short" in said


def test_the_picture_shows_aims_reached_places_and_losses() -> None:
    figure = stroke_figure(asked(), answer())
    assert set(looks_of_policies(answer())) == {"middle", "bisector", "best"}
    reach = figure.axes[1]
    marks = {line.get_gid(): line.get_xdata()[0] for line in reach.lines if line.get_gid()}
    for p in answer()[0].policies:
        assert marks[f"aim {p.name}"] == pytest.approx(p.spot_m[0])
        assert marks[f"reached {p.name}"] == pytest.approx(p.reached_m[0])
    assert figure.axes[0].get_aspect() == 1.0
    labels = [ax.get_xlabel() for ax in figure.axes[-2:]]
    assert labels == ["missed per 100", "not returned per 100"]
    drawn = sorted(float(x) for c in figure.axes[-2].containers for x in c.lines[0].get_xdata())
    known = sorted(p.lost().value for one in answer() for p in one.policies)
    assert drawn == pytest.approx(known)


def test_each_part_of_the_picture_can_be_drawn_alone() -> None:
    axes = Figure().subplots(1, 3)
    one = answer()[1]
    parts = (draw_stroke(axes[0], one), draw_reach(axes[1], one))
    losses = draw_stroke_losses(axes[2], answer(), "missed")
    for ax, artists in zip(axes, (*parts, losses), strict=True):
        assert artists and all(a.axes is ax for a in artists)


def test_the_command_says_and_draws(tmp_path: Path) -> None:
    figure = tmp_path / "stroke.png"
    words = ["stroke", "--from=-2,-12", "--balls", "200", "--seed", "3", "--quiet"]
    told = CliRunner().invoke(main, [*words, "--policy", "safest", "--figure", str(figure)])
    assert told.exit_code == 0, told.output
    assert figure.exists() and "safest" in told.output and "stop on pain" in told.output
    numbers = json.loads(CliRunner().invoke(main, [*words, "--json"]).output)
    assert list(numbers["strokes"]) == list(OWN_STROKES)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--from", "3,12"], "your contact's y is 12 m"),
        (["--high-to", "crosscort"], "crosscourt"),
        (["--opponent-takes", "late"], "earliest"),
        (["--from", "0,-4", "--high-over", "6"], "clears the net by 6 m"),
        (["--balls", "7"], "balls is 7"),
    ],
)
def test_bad_input_is_one_message(words: list[str], says: str) -> None:
    told = CliRunner().invoke(main, ["stroke", "--quiet", *words])
    assert told.exit_code == 2 and says in told.output


def test_a_contact_that_is_not_a_place_is_refused() -> None:
    with pytest.raises(InputError, match="your contact's x is nan"):
        asked(contact_m=(math.nan, -12.0, 1.0))
