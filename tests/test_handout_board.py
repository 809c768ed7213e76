"""The sheet for a notice board: its rule follows what was measured, and nothing on it is cut."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from test_handout import LONG, VERDICTS, question, require_all_fits, texts_in

from experiments.answers.handout.answer import Handout, measure_handout
from experiments.answers.handout.board import board_figure, board_of
from experiments.answers.handout.picture import strings_of
from experiments.answers.handout.rule import rule_text
from experiments.answers.handout.texts import texts_of
from experiments.command.main import main
from experiments.drawing.style import save
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import Place

ENGLISH = texts_of(None, wordless=False)
GROUP = "Damenmannschaft des Sport- und Turnvereins Unterammergau von 1897, Dienstagsgruppe"


@pytest.fixture(scope="module")
def found() -> Handout:
    return measure_handout(question())


def with_cones(found: Handout, left: tuple[float, str], right: tuple[float, str]) -> Handout:
    """Made-up cones (m) and verdicts for the corner on the player's left and on the right."""
    stations = list(found.stations)
    for k, (x, verdict) in ((1, left), (3, right)):
        low, high = VERDICTS[verdict]
        fewer = dataclasses.replace(stations[k].fewer, value=low, low=low, high=high)
        stations[k] = dataclasses.replace(stations[k], cone_x_m=x, fewer=fewer)
    return dataclasses.replace(found, stations=tuple(stations))


@pytest.mark.parametrize(
    ("left", "right", "rule"),
    [
        ((1.5, "wins"), (-1.5, "wins"), "wait 2 steps from the centre mark on the other side."),
        (
            (0.75, "wins"),
            (-1.5, "wins"),
            "on your right, wait 2 steps (1.5 m) to the left of the centre mark; on your left, wait"
            " 1 step (0.75 m) to the right of the centre mark.",
        ),
        ((0.75, "as good"), (-1.5, "not decided"), "near a corner, wait at the centre mark."),
        ((0.0, "wins"), (-1.5, "loses"), "near a corner, wait at the centre mark."),
        ((0.75, "as good"), (-0.75, "wins"), "on your left, wait at the centre mark."),
    ],
)
def test_the_rule_is_the_cone_where_it_wins_and_else_the_middle(
    found: Handout, left: tuple[float, str], right: tuple[float, str], rule: str
) -> None:
    made = with_cones(found, left, right)
    said = rule_text(made, ENGLISH).replace("\u00a0", " ")
    assert said.startswith("When your opponent strikes near a corner") and said.endswith(rule)
    figure = board_figure(made, board_of(made, ENGLISH))
    (cone,) = [line for line in figure.axes[0].lines if line.get_gid() == "cone"]
    x = right[0] if right[1] == "wins" else 0.0
    assert np.allclose(cone.get_xydata(), [[x, -HALF_LENGTH_M - 1.2]])


@pytest.mark.parametrize(
    ("place", "where"),
    [
        ((0.0, HALF_LENGTH_M), "strikes on the centre line, at the far baseline, wait"),
        ((0.2, 1.0), "strikes 0.2 m off the centre line (10.9 m inside the far baseline), wait"),
        ((-4.8, 6.9), "strikes 4.8 m off the centre line (5.0 m inside the far baseline)"),
    ],
)
def test_the_rule_says_from_where_and_all_fits(place: tuple[float, float], where: str) -> None:
    made = measure_handout(question(Place("asked", *place)))
    for wordless in (False, True):
        board = board_of(made, texts_of(None, wordless), name=GROUP, club=GROUP)
        require_all_fits(board_figure(made, board, "letter"))
    assert where in rule_text(made, ENGLISH).replace("\u00a0", " ")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_name_is_cut(found: Handout, paper: str) -> None:
    scene = found.question.scene
    me = dataclasses.replace(
        scene.player, name="Maria-Theresia Wilhelmina von Hohenau zu Lindau ob"
    )
    asked = dataclasses.replace(
        found.question, scene=dataclasses.replace(scene, player=me, opponent=me)
    )
    made = dataclasses.replace(found, question=asked)
    board = board_of(made, ENGLISH, ["maria.toml"], title=GROUP, name=GROUP, club=GROUP)
    figure = board_figure(made, board, paper)
    require_all_fits(figure)
    whole = " ".join(texts_in(figure))
    assert "\u2026" not in whole and whole.count(GROUP.split()[-1]) == 3
    assert whole.count("Wilhelmina von Hohenau") == 2
    for text in strings_of(board):
        assert all(word in whole for word in text.split(" "))


def test_what_has_no_room_is_refused_and_not_cut(found: Handout) -> None:
    with pytest.raises(InputError, match="texts of name and club need more room"):
        board_figure(found, board_of(found, ENGLISH, name=LONG * 3))


def test_it_says_of_what_it_was_made_and_the_cautions(found: Handout) -> None:
    assert "from the level college man by" in board_of(found, ENGLISH).made
    board = board_of(found, ENGLISH, ["anna.toml", "own.toml"])
    assert "from the file anna.toml, the file own.toml by" in board.made and "seed 1" in board.made
    assert board.cautions.text == ENGLISH.say("cautions.text")
    assert "rest between sets" in " ".join(board.drill)


def test_without_words_it_has_none(found: Handout) -> None:
    board = board_of(found, texts_of(None, wordless=True))
    words = " ".join(texts_in(board_figure(found, board))).replace("college-man", "")
    assert set(re.findall(r"[^\W\d_]+", words)) <= {*"ms"}


def test_the_same_sheet_has_the_same_bytes(found: Handout, tmp_path: Path) -> None:
    board = board_of(found, ENGLISH)
    first, second = (
        save(board_figure(found, board), tmp_path / f"{n}.pdf").read_bytes() for n in "ab"
    )
    assert first == second


def test_the_command_writes_the_sheet_of_a_player_file(tmp_path: Path) -> None:
    run = CliRunner().invoke
    me = str(tmp_path / "anna.toml")
    made = run(main, ["player", me, "--name", "Anna", "--sprint", "10:2.4"])
    assert made.exit_code == 0, made.output
    small = ["--balls", "200", "--rallies", "100", "--seed", "3", "--player", me]
    done = run(main, ["handout", "--board", *small, "--out", str(tmp_path / "b.svg")])
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("When your opponent strikes near a corner")
    assert "Made from the file anna.toml" in done.stdout and "in the pictures" not in done.stdout
    assert (tmp_path / "b.svg").read_text("utf-8").startswith("<?xml")
    done = run(main, ["handout", "--board", "--wordless", *small, "--out", str(tmp_path / "w.png")])
    assert "tell the players" in done.stdout and "Warm up" in done.stdout
