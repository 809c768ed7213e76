"""The sheet for a notice board: its rule follows what was measured, and nothing on it is cut."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from nonsense import NONSENSE
from test_handout import LONG, VERDICTS, question, require_all_fits, texts_in

from experiments.answers.handout.answer import (
    Handout,
    measure_handout,
    points_more,
    rallies_by,
)
from experiments.answers.handout.board import board_figure, board_of, marks_of
from experiments.answers.handout.picture import strings_of
from experiments.answers.handout.rule import rule_text
from experiments.answers.handout.texts import texts_of
from experiments.answers.handout.words import interval
from experiments.answers.handout.worth import Followed, by_rule, follow
from experiments.command.main import main
from experiments.drawing.sheet import PAPERS
from experiments.drawing.style import save
from experiments.scene.own_texts import ENGLISH as ENGLISH_ONE
from experiments.scene.own_texts import LANGUAGES
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
    board = board_of(follow(made), ENGLISH)
    court = next(ax for ax in board_figure(made, board).axes if len(ax.lines) > 4)
    cones = [line.get_xydata() for line in court.lines if line.get_gid() == "cone"]
    middles = [line.get_xydata() for line in court.lines if line.get_gid() == "middle"]
    assert np.allclose(middles, [[[0.0, -HALF_LENGTH_M - 1.2]]])
    if right[1] == "wins":
        assert np.allclose(cones, [[[right[0], -HALF_LENGTH_M - 1.2]]])
        assert marks_of(made)[0] == "cone" and board.key[0] == "where the rule sends you"
    else:  # one mark alone, and the key says that it is the rule
        assert not cones and marks_of(made)[:2] == ("mark", "band")
        assert board.key[0] == "the centre mark, where the rule sends you"


def worth(followed: Followed, language: str) -> list[str]:
    """What the sheet says the rule is worth, its spaces plain."""
    board = board_of(followed, texts_of(None, False, language=language))
    return [text.replace("\u00a0", " ") for text in board.worth]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("verdict", [*VERDICTS, "same"])
def test_worth_speaks_of_the_rule_of_the_sheet(found: Handout, verdict: str, language: str) -> None:
    """Of the mark where that is the rule: then no cone is measured before it, and it says why."""
    made = with_cones(found, (0.75, "loses"), (-1.5, verdict if verdict != "same" else "loses"))
    if verdict == "same":
        made = with_cones(made, (0.0, "loses"), (0.0, "loses"))
    texts = texts_of(None, False, language=language)
    station, kind = made.station, verdict.partition(",")[0]
    told = worth(Followed(made, None), language)
    first, why = told[0], texts.say("board_worth.why")
    missed, middle = (
        f"{interval(e, texts)}".replace("\u00a0", " ")
        for e in (station.missed_cone, station.missed_middle)
    )
    if kind == "wins":
        assert first.index(missed) < first.index(middle) and len(told) == 2  # the sides differ
    else:
        assert middle in first and len(told) == 1
        assert kind == "same" or first.index(middle) < first.index(missed)
    assert (why in " ".join(told)) == (kind in ("as good", "not decided"))
    if language == ENGLISH_ONE:
        assert first.startswith("When your opponent strikes on your right, you miss")
        assert not NONSENSE.search(first)
    mark = {"en": "mark", "de": "Mittelzeichen", "es": "marca", "fr": "marque"}[language]
    cones = {"en": "cones", "de": "die Hütchen", "es": "los conos", "fr": "les plots"}[language]
    assert mark in first and cones not in " ".join(told)


def test_a_sheet_without_a_cone_plays_no_rallies_and_sets_none_up(found: Handout) -> None:
    made = with_cones(found, (0.75, "as good"), (-1.5, "not decided"))
    followed = follow(made)
    assert followed.points is None
    board = board_of(followed, ENGLISH)
    assert "rallies" not in " ".join(board.worth)
    assert "cone" not in " ".join(board.drill).lower()
    require_all_fits(board_figure(made, board, "letter"))


def test_rallies_are_played_by_the_rule_and_not_by_all_cones(found: Handout) -> None:
    made = with_cones(found, (0.75, "wins"), (-1.5, "not decided"))
    rule = by_rule(made)
    assert rule.contacts_x_m == (-3.115, 0.0, 3.115) and rule.cones_x_m == (0.75, 0.0, 0.0)
    followed = follow(made)
    assert followed.points == points_more(rallies_by(made.question, rule)) != made.points
    assert "the rule" in worth(followed, ENGLISH_ONE)[-1].lower()


def test_an_opponent_in_the_middle_has_a_rule_for_that_place_alone() -> None:
    made = measure_handout(question(Place("asked", 0.0, HALF_LENGTH_M)))
    stations = list(made.stations)
    wins = dataclasses.replace(stations[2].fewer, value=2.0, low=1.0, high=3.0)
    stations[2] = dataclasses.replace(stations[2], cone_x_m=0.375, fewer=wins)
    made = dataclasses.replace(made, stations=tuple(stations))
    assert by_rule(made).cones_x_m == (0.0, 0.0, 0.375, 0.0, 0.0)
    assert worth(follow(made), ENGLISH_ONE)[0].startswith("When your opponent strikes from the mid")


@pytest.mark.parametrize("verdict", VERDICTS)
def test_rallies_by_the_rule_are_said_by_their_verdict(found: Handout, verdict: str) -> None:
    made = with_cones(found, (1.5, "wins"), (-1.5, "wins"))
    low, high = VERDICTS[verdict]
    points = dataclasses.replace(found.points, value=(low + high) / 2, low=low, high=high)
    words = {"wins": "points more", "loses": "points fewer", "as good": "as good, to within half"}
    for language in LANGUAGES:
        told = worth(Followed(made, points), language)
        shown = f"{abs(low + high) / 2:.1f} (".replace(".", "." if language == "en" else ",")
        assert len(told) == 2 and shown in told[1]
    told = worth(Followed(made, points), ENGLISH_ONE)
    kind = verdict.partition(",")[0]
    assert words.get(kind, "it is not decided") in told[1] and not NONSENSE.search(told[1])
    ahead = {"not decided": "the rule is ahead", "not decided, below": "the mark is ahead"}
    assert ahead.get(verdict, "") in told[1]


def test_texts_of_the_sheet_are_larger_than_those_of_a_page(found: Handout) -> None:
    for language in ("en", "de"):
        for paper in PAPERS:
            board = board_of(follow(found), texts_of(None, False, language=language))
            drawn = board_figure(found, board, paper).texts
            line = next(text for text in drawn if text.get_text().startswith("1. "))
            assert line.get_fontsize() >= 11.0


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
        board = board_of(follow(made), texts_of(None, wordless), name=GROUP, club=GROUP)
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
    board = board_of(follow(made), ENGLISH, ["maria.toml"], title=GROUP, name=GROUP, club=GROUP)
    figure = board_figure(made, board, paper)
    require_all_fits(figure)
    whole = " ".join(texts_in(figure))
    assert "\u2026" not in whole and whole.count(GROUP.split()[-1]) == 3
    assert whole.count("Wilhelmina von Hohenau") == 2
    for text in strings_of(board):
        assert all(word in whole for word in text.split(" "))


def test_what_has_no_room_is_refused_and_not_cut(found: Handout) -> None:
    with pytest.raises(InputError, match="texts of name and club need more room"):
        board_figure(found, board_of(follow(found), ENGLISH, name=LONG * 3))


def test_it_says_of_what_it_was_made_and_the_cautions(found: Handout) -> None:
    assert "from the level college man by" in board_of(follow(found), ENGLISH).made
    board = board_of(follow(found), ENGLISH, ["anna.toml", "own.toml"])
    assert "from the file anna.toml, the file own.toml by" in board.made and "seed 1" in board.made
    assert board.cautions.text == ENGLISH.say("cautions.text")
    assert "rest between sets" in " ".join(board.drill)


def test_without_words_it_has_none(found: Handout) -> None:
    board = board_of(follow(found), texts_of(None, wordless=True))
    words = " ".join(texts_in(board_figure(found, board))).replace("college-man", "")
    assert set(re.findall(r"[^\W\d_]+", words)) <= {*"ms"}


def test_the_same_sheet_has_the_same_bytes(found: Handout, tmp_path: Path) -> None:
    board = board_of(follow(found), ENGLISH)
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
