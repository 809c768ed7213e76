"""The handout in other languages: all texts are there, none is cut, and each says what it is."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from string import Formatter

import pytest
from click.testing import CliRunner
from test_handout import LONG, question, require_all_fits, texts_in, with_verdicts
from test_handout_board import with_cones

from experiments.answers.handout import words as handout_words
from experiments.answers.handout.answer import Handout, measure_handout
from experiments.answers.handout.board import board_figure, board_of
from experiments.answers.handout.picture import handout_figure, strings_of
from experiments.answers.handout.texts import NAMES, template, texts_of
from experiments.answers.handout.words import page_of
from experiments.answers.handout.worth import follow
from experiments.command.main import main
from experiments.scene.own_texts import ENGLISH, LANGUAGES, flat
from experiments.scene.told_units import IMPERIAL, told_in
from sim.court import HALF_LENGTH_M
from sim.exchange import Place
from sim.players import Player, player
from strategies.learned.reading import read_learning

TRANSLATED = LANGUAGES[1:]


def all_texts(language: str) -> dict[str, str]:
    return dict(flat(tomllib.loads(template(language))))


def fields(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.fixture(scope="module")
def found() -> Handout:
    return measure_handout(question())


@pytest.mark.parametrize("language", TRANSLATED)
def test_a_translation_has_all_keys_and_the_same_fields(language: str) -> None:
    english, own = all_texts(ENGLISH), all_texts(language)
    assert set(own) == set(english)
    for key, text in english.items():
        assert fields(own[key]) == fields(text), key
        assert bool(own[key]) == bool(text) or key == "translation", key
    same = [key for key, text in english.items() if own[key] == text and len(text) > 20]
    assert not same  # nothing was left untranslated


@pytest.mark.parametrize("language", TRANSLATED)
def test_a_translation_says_that_nobody_reviewed_it(language: str, found: Handout) -> None:
    assert template(language).startswith("# Unreviewed translation")
    texts = texts_of(None, False, language=language)
    page, board = page_of(found, texts), board_of(follow(found), texts)
    for foot, figure in (
        (page.small_print, handout_figure(found, page, "letter")),
        (board.made, board_figure(found, board, "letter")),
    ):
        assert foot.endswith("(unreviewed translation).")
        assert "(unreviewed translation)." in " ".join(texts_in(figure))  # not cut
    assert "unreviewed" not in page_of(found, texts_of(None, False)).small_print


@pytest.mark.parametrize("language", TRANSLATED)
@pytest.mark.parametrize("verdict", ["as good", "not decided"])  # the longest texts
def test_all_fits_for_the_longest_verdicts(language: str, verdict: str, found: Handout) -> None:
    texts = texts_of(None, False, language=language)
    made = with_verdicts(found, verdict, verdict)
    figure = handout_figure(made, page_of(made, texts, name="Anna"), "letter")
    require_all_fits(figure)
    assert not [text for text in texts_in(figure) if "\u2026" in text]
    made = with_cones(made, (0.75, "wins"), (-1.125, "wins"))
    figure = board_figure(
        made, board_of(follow(made), texts, ["anna.toml"], name=LONG[:120]), "letter"
    )
    require_all_fits(figure)
    assert not [text for text in texts_in(figure) if "\u2026" in text]


@pytest.mark.parametrize("language", TRANSLATED)
def test_left_is_left_in_every_language(language: str, found: Handout) -> None:
    """As the player sees it: the opponent on the right, the cone on the left."""
    left = {"de": "links", "es": "izquierda", "fr": "gauche"}[language]
    right = {"de": "rechts", "es": "derecha", "fr": "droite"}[language]
    texts = texts_of(None, False, language=language)
    made = with_cones(found, (0.75, "wins"), (-1.5, "wins"))
    page, board = page_of(made, texts), board_of(follow(made), texts)
    assert right in page.question.text and left not in page.question.text
    assert left in page.findings[0].text
    first, second = board.rule.split(";")
    assert right in first and "1,5" in first.replace("1,50", "1,5") and left in second
    assert "1,5" in first and "0,75" in second


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_rule_of_the_level_is_told(language: str, found: Handout) -> None:
    """The numbers are those of the shipped file and of the sentence that its search wrote."""
    rule = read_learning("rule-college-man")
    assert "30 cm" in rule.title and "3.0 m behind" in rule.title and "0.2 m inside" in rule.title
    texts = texts_of(None, False, language=language)
    told = page_of(found, texts).rule.text.replace("\u00a0", " ")
    worst = max(loss[0] for loss in rule.found["loses_in_100"].values())
    for number in (3.0, 0.2, worst):
        assert texts.number(number) in told
    assert "30 cm" in told and texts.name("weaker-wing") in told
    if language == ENGLISH:
        assert told.lower().startswith(rule.title)


@pytest.mark.parametrize("language", LANGUAGES)
def test_imperial_units_stand_in_all_texts(language: str, found: Handout) -> None:
    texts = texts_of(None, False, language=language)
    made = with_cones(found, (0.75, "wins"), (-1.125, "wins"))
    with told_in(IMPERIAL):
        page, board = page_of(made, texts), board_of(follow(made), texts)
        assert texts.length(-1.2) == f"{texts.by_key['minus']}3\u00a0ft\u00a011\u00a0in"
    whole = " ".join([*strings_of(page), *strings_of(board)]).replace("\u00a0", " ")
    assert not re.search(r"\d (m|cm|km/h)\b", whole)
    assert "10 ft 3 in" in page.question.text.replace("\u00a0", " ")  # 3.115 m across
    assert "70 mph" in page.who.replace("\u00a0", " ")  # 112 km/h
    assert page.rows[1].cells[1].replace("\u00a0", " ") == "2 ft 6 in"
    assert "2 ft 6 in" in page.axis.replace("\u00a0", " ")
    # 30 cm a metre are 10.8 in a yard; 2.955 m behind are 116.3 in, 0.246 m inside 9.7 in.
    for told in ("11 in", "9 ft 8 in", "10 in"):
        assert told in page.rule.text.replace("\u00a0", " ")
    assert re.search(r"\b(yard|Yard|yarda)\b", page.rule.text)
    for paper in ("a4", "letter"):
        for figure in (handout_figure(made, page, paper), board_figure(made, board, paper)):
            require_all_fits(figure)
            assert not [text for text in texts_in(figure) if "\u2026" in text]


def test_who_has_no_rule_is_told_none(found: Handout, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handout_words, "rule_for", lambda me: None)
    page = page_of(found, texts_of(None, False))
    assert not page.rule.head and not page.rule.text
    require_all_fits(handout_figure(found, page))


def test_the_rule_is_that_of_the_level_of_a_player_file(found: Handout) -> None:
    def told(me: Player) -> str:
        scene = replace(found.question.scene, player=me)
        made = replace(found, question=replace(found.question, scene=scene))
        return page_of(made, texts_of(None, False)).rule.text

    club, man = player("club-adult"), player("college-man")
    assert told(replace(club, name="Ana", level="club-adult")) == told(club) != told(man)


def test_with_the_opponent_far_out_all_fits() -> None:
    made = measure_handout(question(Place("asked", -4.8, HALF_LENGTH_M - 4.0)))
    for language in TRANSLATED:
        texts = texts_of(None, False, language=language)
        require_all_fits(handout_figure(made, page_of(made, texts), "letter"))
        require_all_fits(board_figure(made, board_of(follow(made), texts), "a4"))


def test_an_opponent_made_after_a_player_file_is_called_so(found: Handout) -> None:
    scene = found.question.scene
    me, other = replace(scene.player, name="Ana"), replace(scene.player, name="like Ana")
    scene = replace(scene, player=me, opponent=other)
    made = replace(found, question=replace(found.question, scene=scene))
    said = {lang: page_of(made, texts_of(None, False, language=lang)).who for lang in LANGUAGES}
    assert "wie Ana" in said["de"] and "como Ana" in said["es"]
    assert "comme Ana" in said["fr"] and "like Ana" in said["en"]


def test_own_texts_stand_over_a_translation(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text('[page]\ntitle = "Zurück!"\n', "utf-8")
    texts = texts_of(file, False, language="de")
    assert texts.say("page.title") == "Zurück!" and texts.say("question.head") == "Die Frage"


@pytest.mark.parametrize("board", [[], ["--board"]])
def test_the_command_takes_units(board: list[str], tmp_path: Path) -> None:
    small = ["handout", "--balls", "200", "--rallies", "100", "--seed", "3", *board]
    small += ["--out", str(tmp_path / "h.svg")]
    plain, metric, imperial = (
        CliRunner().invoke(main, [*small, *words]).stdout
        for words in ([], ["--units", "metric"], ["--units", "imperial"])
    )
    assert plain == metric != imperial
    assert "km/h" in plain and "mph" not in plain
    assert "mph" in imperial and " ft" in imperial and "km/h" not in imperial


def test_the_command_takes_a_language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke
    plain = run(main, ["handout", "--language", "English", "--wordless", "--texts-template"])
    assert plain.stdout == template()
    small = ["handout", "--balls", "200", "--rallies", "100", "--seed", "3"]
    done = run(main, [*small, "--language", "de", "--out", "h.svg"])
    assert done.exit_code == 0, done.output
    told = run(main, ["handout", "--language", "french", "--texts-template"])
    assert told.stdout == template("fr")
    for words, says in (
        (["--language", "klingon"], "unknown language"),
        (["--language", "German", "--wordless"], "leave out --language"),
    ):
        told = run(main, [*small, *words])
        assert told.exit_code == 2 and says in told.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["h.svg"]


def test_names_of_levels_hitters_and_surfaces_are_words_in_every_language() -> None:
    for language in TRANSLATED:
        names = {k: v for k, v in all_texts(language).items() if k.startswith(NAMES)}
        assert not [key for key, word in names.items() if key.removeprefix(NAMES) == word]
