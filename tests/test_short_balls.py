"""My own ball, deep and short: what the shorter one gives the opponent."""

from __future__ import annotations

import dataclasses
import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure

from experiments.answers.stroke.answer import difference
from experiments.answers.stroke.lands import LandsAt, LandsQuestion, lands_at, met
from experiments.answers.stroke.lands_picture import draw_short, lands_figure
from experiments.answers.stroke.lands_words import lands_json, lands_text, sentences
from experiments.answers.stroke.strokes import DRIVES, StrokeQuestion, own_stroke
from experiments.command.main import main
from experiments.output.numbers import json_text
from experiments.scene.scene import scene_of
from sim.errors import InputError
from sim.players import player
from strategies.catalogue import make_policy

DEPTHS = (10.5, 9.0, 7.5, 6.0)


def asked(
    balls: int = 600,
    seed: int = 4,
    who: str = "college-man",
    lands: tuple[float, ...] = DEPTHS,
    drive: str = "crosscourt",
    rallies: int = 400,
    opponent: Any = None,
    **changes: Any,
) -> LandsQuestion:
    scene = scene_of(player=who, hitter="attentive", balls=balls, seed=seed)
    if opponent is not None:
        scene = dataclasses.replace(scene, opponent=opponent)
    policies = (make_policy("middle"), make_policy("bisector"))
    values: dict[str, Any] = {"contact_m": (3.0, -12.4, 1.0), "policies": policies}
    return LandsQuestion(StrokeQuestion(scene, **{**values, **changes}), lands, drive, rallies)


@cache
def answer() -> tuple[LandsAt, ...]:
    return tuple(lands_at(asked()))


@pytest.mark.parametrize("who", ["under-12", "senior-65", "club-woman", "professional-man"])
@pytest.mark.parametrize("drive", DRIVES)
def test_the_ball_lands_where_it_is_asked_to(who: str, drive: str) -> None:
    question = asked(who=who, drive=drive)
    for depth in DEPTHS:
        stroke = own_stroke(question.asked, drive, depth)
        assert stroke.bounce_m[1] == pytest.approx(depth, abs=0.05)
        assert stroke.net_gap_m > 0.0


def test_a_stretched_contact_is_aimed_beyond_its_loss_of_depth() -> None:
    stroke = own_stroke(asked(quality=0.2).asked, "crosscourt", 9.0)
    assert stroke.bounce_m[1] == pytest.approx(9.0, abs=0.05)
    assert stroke.speed_m_s < own_stroke(asked().asked, "crosscourt", 9.0).speed_m_s


@pytest.mark.parametrize("who", ["club-woman", "college-man", "under-12"])
def test_the_angle_opens_and_the_contact_moves_in(who: str) -> None:
    found = lands_at(asked(balls=100, rallies=100, who=who))
    assert (np.diff([one.angle_deg for one in found]) > 0.0).all()
    assert (np.diff([one.after.stroke.meets_m[1] for one in found]) < 0.0).all()


def test_the_bisector_of_the_angle_is_where_its_policy_goes() -> None:
    for one in answer():
        assert one.angle is not None
        assert one.after.by_name["bisector"].spot_m[0] == pytest.approx(one.angle.bisector_x_m)


def test_the_seed_decides_and_depths_come_in_one_order() -> None:
    question = asked()
    first = json_text(lands_json(question, answer()))
    turned = asked(lands=DEPTHS[::-1])
    assert json_text(lands_json(turned, lands_at(turned))) == first
    other = asked(seed=5)
    assert json_text(lands_json(other, lands_at(other))["lands"]) not in first


def test_differences_are_from_the_deepest() -> None:
    numbers = lands_json(asked(), answer())["lands"]
    assert numbers[0]["fewer_points_per_100"] == {"estimate": 0.0, "low": 0.0, "high": 0.0}
    short, deep = answer()[-1], answer()[0]
    lost = difference(short.after.by_name["best"], deep.after.by_name["best"], "not_returned")
    assert numbers[-1]["more_not_returned_per_100"]["best"]["estimate"] == lost.value
    fewer = short.fewer_points(deep)
    assert fewer.value == pytest.approx(deep.points.value - short.points.value)


def test_more_rallies_begin_with_the_same_ones() -> None:
    more = lands_at(asked(rallies=500, lands=(10.5, 6.0)))[0]
    assert np.array_equal(more.table[:400], answer()[0].table)


def test_a_ball_that_is_not_reached_is_said_and_drawn() -> None:
    me = player("college-man")
    slow = dataclasses.replace(me, legs=dataclasses.replace(me.legs, top_speed_m_s=1.0))
    question = asked(balls=200, rallies=100, opponent=slow, lands=(9.0, 7.5))
    found = lands_at(question)
    assert not met(found)
    text = lands_text(question, found)
    assert "does not reach it" in text and "not two depths to compare" in text
    assert "fewer_points_per_100" not in lands_json(question, found)["lands"][0]
    titles = [ax.get_title(loc="left") for ax in lands_figure(question, found).axes]
    assert all("not reached" in title for title in titles[:2])


def test_the_sentence_claims_what_is_decided() -> None:
    said = " ".join(sentences(asked(), answer()))
    opens = (answer()[-1].angle_deg - answer()[0].angle_deg) / 4.5
    assert f"opens your opponent's angle by {opens:.1f} degrees" in said
    same = [answer()[0], dataclasses.replace(answer()[0], lands_m=9.0)]
    assert "costs" not in " ".join(sentences(asked(), same))


def test_the_picture_shows_the_angle_and_the_points() -> None:
    figure = lands_figure(asked(), answer())
    for ax, one in zip(figure.axes[:2], (answer()[0], answer()[-1]), strict=True):
        line = next(line for line in ax.lines if line.get_gid() == "bisector")
        assert one.angle is not None
        assert tuple(line.get_xdata()) == (one.angle.contact_m[0], one.angle.bisector_x_m)
    drawn = sorted(float(x) for c in figure.axes[3].containers for x in c.lines[0].get_xdata())
    assert drawn == pytest.approx(sorted(one.points.value for one in answer()))
    ax = Figure().subplots()
    assert all(artist.axes is ax for artist in draw_short(ax, answer()[1]))


def test_the_command_says_and_draws(tmp_path: Path) -> None:
    words = ["stroke", "--lands", "6,9", "--balls", "200", "--rallies", "100", "--seed", "3"]
    words += ["--player", "under-12", "--hand", "left", "--stroke", "middle", "--quiet"]
    figure = tmp_path / "short.png"
    told = CliRunner().invoke(main, [*words, "--policy", "safest", "--figure", str(figure)])
    assert told.exit_code == 0, told.output
    assert figure.exists() and "safest" in told.output and "stop on pain" in told.output
    numbers = json.loads(CliRunner().invoke(main, [*words, "--json"]).output)
    assert [one["lands_m"] for one in numbers["lands"]] == [9.0, 6.0]
    assert numbers["stroke"] == "middle" and numbers["rallies"] == 100


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--lands", "9"], "1 landing depths"),
        (["--lands", "9,9"], "9 m stands twice"),
        (["--lands", "9,2"], "from 4.5 to 11.5 m"),
        (["--lands", "9,,7"], "''"),
        (["--lands", "9,7", "--stroke", "lob"], "unknown drive 'lob'"),
        (["--lands", "9,7", "--rallies", "3"], "rallies is 3"),
        (["--lands", "9,7", "--from", "0,-3"], "stay at the net"),
        (["--lands", "11.5,7", "--from=0,-18", "--player", "senior-65"], "lands 11.5 m from"),
    ],
)
def test_bad_input_is_one_message(words: list[str], says: str) -> None:
    told = CliRunner().invoke(main, ["stroke", "--quiet", "--balls", "100", *words])
    assert told.exit_code == 2 and says in told.output


def test_a_depth_that_is_no_number_is_refused() -> None:
    with pytest.raises(InputError, match="is nan m"):
        asked(lands=(9.0, float("nan")))
