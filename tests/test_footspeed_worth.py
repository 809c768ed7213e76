"""What being faster is worth, beside the place: known legs, known worlds, and words that agree."""

from __future__ import annotations

import dataclasses
import json
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from some_worlds import alike, drawn

from experiments.answers.footspeed import worth as module
from experiments.answers.footspeed.worth import (
    LEGS,
    PLACE,
    TODAY,
    Worth,
    WorthQuestion,
    legs_times,
    steps_of,
    worth_of,
)
from experiments.answers.footspeed.worth_words import (
    beside_sentence,
    place_sentence,
    worth_sentence,
    worth_text,
)
from experiments.balls.spots import on_the_line
from experiments.balls.struck import counted
from experiments.command.main import main
from experiments.scene.scene import scene_of
from experiments.study import worlds as study_worlds
from sim.errors import InputError
from sim.legs import Legs

RALLIES, WORLDS = 1000, 10


def question(more: float = 0.1, level: str = "college-man", **asked: str) -> WorthQuestion:
    scene = scene_of(player=level, seed=4, balls=200, **asked)  # type: ignore[arg-type]
    return WorthQuestion(scene, more, RALLIES, WORLDS)


@cache
def found(more: float = 0.1) -> Worth:
    return worth_of(question(more))


def test_faster_legs_cover_so_much_more_ground_in_any_time() -> None:
    legs, t = Legs(), np.linspace(0.05, 4.0, 30)
    faster = legs_times(legs, 1.1)
    assert np.allclose(faster.distance_run_m(t), 1.1 * legs.distance_run_m(t), rtol=1e-12)
    assert dataclasses.replace(faster, top_speed_m_s=legs.top_speed_m_s) == legs


def test_balls_are_those_that_are_counted_from_the_places() -> None:
    asked = question()
    scene = asked.scene
    for legs, who in ((scene.player.legs, TODAY), (asked.legs, LEGS)):
        me = dataclasses.replace(scene.player, legs=legs)
        middle = on_the_line(np.zeros(1), scene.line_m)
        counts = counted(dataclasses.replace(scene, player=me), middle, RALLIES)
        reached = 100.0 * float(counts.in_time[0])
        # But for the few that are met by a start before the strike, which `counted` leaves out.
        assert found().shares[who, "balls"].value == pytest.approx(reached, abs=0.4)


def test_differences_are_those_of_the_shares_and_never_lose_a_ball_to_slower_legs() -> None:
    for more in (0.1, -0.1):
        for c in found(more).compared:
            shares = (found(more).shares[who, c.outcome].value for who in (c.who, c.than))
            assert c.difference.value == pytest.approx(next(shares) - next(shares))
            assert c.cell["low_together"] <= c.difference.value <= c.cell["high_together"]
        gain = found(more).of(LEGS, TODAY, "balls").difference.value
        assert gain * more > 0
    assert [c.who for c in found(-0.1).compared].count(PLACE) == 2  # never against slower legs
    assert len(found().compared) == 6


def test_with_worlds_like_the_default_one_the_worlds_add_nothing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def with_file(path: Path) -> Worth:
        monkeypatch.setattr(module, "packaged", lambda: path)
        monkeypatch.setattr(study_worlds, "packaged", lambda: path)
        return worth_of(dataclasses.replace(question(level="professional-man"), worlds=None))

    for c in with_file(alike(tmp_path / "alike.csv", WORLDS)).compared:
        assert c.cell["world_low"] == pytest.approx(c.difference.value, abs=1e-5)
        assert c.cell["world_high"] == pytest.approx(c.difference.value, abs=1e-5)
        assert c.cell["world_basis"] == "fits the record"
    for c in with_file(drawn(tmp_path / "drawn.csv", WORLDS)).compared:
        assert c.cell["world_low"] < c.cell["world_high"]


def test_the_sentence_gives_both_intervals_and_the_legs() -> None:
    text = worth_sentence(found())
    assert text.count(". ") == 0 and text.startswith("Being 10 % faster (top speed 7.50 to 8.25")
    number = r"[\u2212\d.]+"
    pattern = (
        rf"\(by chance {number} to {number}, over the extrapolated worlds {number} to {number}"
    )
    for sentence in (text, place_sentence(found()), beside_sentence(found())):
        assert len(re.findall(pattern, sentence)) == 2
    assert "10 % slower" in worth_sentence(found(-0.1))
    assert "fewer balls of 100 reached" in worth_sentence(found(-0.1))
    assert "stop on pain" in worth_text(found()) and "nothing here says" in worth_text(found())
    assert "Place or speed?" not in worth_text(found(-0.1))


def test_words_turn_both_intervals_with_the_sign() -> None:
    one = found(-0.1).of(LEGS, TODAY, "balls")
    said = worth_sentence(found(-0.1))
    worlds = [f"{-one.cell[f'world_{end}']:.1f}" for end in ("high", "low")]
    assert f"worlds {worlds[0]} to {worlds[1]}".replace("-", "\u2212") in said


def test_the_same_seed_gives_the_same_answer_and_progress_is_told() -> None:
    calls: list[int] = []
    again = worth_of(question(), lambda: calls.append(1))
    assert len(calls) == steps_of(question())
    assert [c.cell for c in again.compared] == [c.cell for c in found().compared]


def test_a_hitter_who_looks_at_the_player_is_played_to_anew() -> None:
    seen = worth_of(question(hitter="attentive"))
    assert seen.of(PLACE, TODAY, "balls").cell["verdict"]


@pytest.mark.parametrize(("more", "rallies"), [(0.0, 1000), (0.5, 1000), (0.1, 10)])
def test_what_is_out_of_range_is_refused(more: float, rallies: int) -> None:
    with pytest.raises(InputError, match="allowed"):
        dataclasses.replace(question(), more=more, rallies=rallies)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--faster", "10%", "--slower", "10%"], "exclude each other"),
        (["--faster", "10"], "from 0.005 to 0.3"),
        (["--faster", "fast"], "give a number"),
        (["--slower", "10%", "--levels", "club-man"], "leave out"),
        (["--faster", "10%", "--vary", "reach"], "leave out"),
        (["--rallies", "5"], "rallies is 5; allowed"),
    ],
)
def test_bad_options_are_refused(words: list[str], says: str) -> None:
    told = CliRunner().invoke(main, ["footspeed", *words])
    assert told.exit_code == 2 and says in told.output


def test_the_command_says_it_and_gives_the_numbers() -> None:
    words = ["footspeed", "--faster", "10 %", "--rallies", "1000", "--seed", "1", "--quiet"]
    told = CliRunner().invoke(main, [*words, "--hand", "left"])
    assert told.exit_code == 0, told.output
    assert "Being 10 % faster" in told.output and "left-handed" in told.output
    numbers = json.loads(CliRunner().invoke(main, [*words, "--json"]).output)
    assert numbers["faster_share"] == 0.1 and len(numbers["differences"]) == 6
    assert numbers["worlds"] == 100
