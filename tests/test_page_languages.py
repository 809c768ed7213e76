"""The offline page in our languages: the same texts in each, all of it fits a phone, and its foot
says that nobody has reviewed a translation."""

from __future__ import annotations

import tomllib
from pathlib import Path
from string import Formatter
from typing import Any

import pytest
from click.testing import CliRunner
from page_browser import a_browser, opened

from experiments.command.main import main
from experiments.page.facts import facts
from experiments.page.texts import page_texts, template
from experiments.scene.own_texts import ENGLISH, LANGUAGES, flat
from sim.players import PLAYERS

OTHERS = LANGUAGES[1:]
WIDTH, HEIGHT = 390, 844
QUICK = "balls=100&seed=3"


def texts_of(language: str) -> dict[str, str]:
    return dict(flat(tomllib.loads(template(language))))


def fields(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in Formatter().parse(text) if name is not None)


def keys(texts: dict[str, str]) -> set[str]:
    return {key for key in texts if not key.startswith("names.")}


@pytest.mark.parametrize("language", OTHERS)
def test_every_language_has_the_same_texts_and_fields(language: str) -> None:
    english, found = texts_of(ENGLISH), texts_of(language)
    assert keys(found) == keys(english)
    wrong = [key for key in keys(english) if fields(found[key]) != fields(english[key])]
    assert wrong == []
    assert found["language"] == language and found["small.unreviewed"]
    assert "UNREVIEWED TRANSLATION" in template(language).partition("\nlanguage")[0]
    empty = [key for key, text in found.items() if not text.strip()]
    assert empty == []


@pytest.mark.parametrize("language", OTHERS)
def test_everything_that_is_chosen_has_a_name_in_each_language(language: str) -> None:
    known, found = facts(list(PLAYERS)), texts_of(language)
    chosen = [*PLAYERS, *known["hitters"], *known["surfaces"], *known["policies"]]
    assert [name for name in chosen if f"names.{name}" not in found] == []


@pytest.mark.parametrize("language", OTHERS)
def test_a_translation_is_no_copy(language: str) -> None:
    english, found = texts_of(ENGLISH), texts_of(language)
    long = [key for key in keys(english) if len(english[key].split()) > 3]
    assert long and [key for key in long if found[key] == english[key]] == []


def test_own_words_go_on_top_of_a_language(tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text('[small]\nunreviewed = ""\n[page]\ntitle = "Wohin?"\n', "utf-8")
    found = page_texts(mine, language="de")
    assert (found["page.title"], found["small.unreviewed"]) == ("Wohin?", "")
    assert found["decimal"] == "," and page_texts()["small.unreviewed"] == ""


def test_a_template_comes_in_the_language_asked_for() -> None:
    done = CliRunner().invoke(main, ["page", "--texts-template", "--language", "fr"])
    assert done.exit_code == 0 and 'language = "fr"' in done.output


@pytest.mark.parametrize("command", ["page", "handout"])
def test_a_language_has_the_same_names_in_every_command(command: str) -> None:
    """Its short name and its name in English, in small or capital letters, and no others."""
    named = {"en": "English", "de": "German", "es": "Spanish", "fr": "French"}
    assert tuple(named) == LANGUAGES
    printed = {}
    for short, english in named.items():
        asked = [command, "--texts-template", "--language"]
        said = {
            CliRunner().invoke(main, [*asked, n]).stdout for n in (short, english, short.upper())
        }
        (printed[short],) = said
    assert len(set(printed.values())) == len(LANGUAGES)
    plain = CliRunner().invoke(main, [command, "--texts-template"])
    assert plain.stdout == printed[ENGLISH]
    done = CliRunner().invoke(main, [command, "--texts-template", "--language", "klingon"])
    assert done.exit_code == 2 and "unknown language 'klingon'" in done.stderr
    assert "Valid: de, en, english, es, fr, french, german, spanish" in done.stderr


@pytest.fixture(scope="module")
def browser() -> Any:
    with a_browser() as found:
        yield found


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_overflows_a_phone(browser: Any, tmp_path: Path, language: str) -> None:
    path = tmp_path / "page.html"
    done = CliRunner().invoke(main, ["page", "--out", str(path), "--language", language])
    assert done.exit_code == 0, done.output
    with opened(browser, path, QUICK, (WIDTH, HEIGHT)) as one:
        page = one.page
        page.evaluate("document.querySelectorAll('details').forEach((d) => (d.open = true))")
        page.locator("#ways-rows tr").nth(5).wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= WIDTH
        wide = page.evaluate(
            """(width) => [...document.querySelectorAll("body *")]
                .filter((e) => e.offsetParent && !e.closest("svg, .wide, .unseen, pre"))
                .filter((e) => e.getBoundingClientRect().right > width + 0.5)
                .map((e) => e.id || e.textContent.slice(0, 40))""",
            WIDTH,
        )
        assert wide == []
        assert page.locator("html").get_attribute("lang") == language
        assert page.locator("#unreviewed").count() == (language != ENGLISH)
        bottom = page.evaluate(
            """() => { scrollTo(0, 0);
                return document.querySelector("#costs").getBoundingClientRect().bottom; }"""
        )
        assert bottom <= HEIGHT, "the advice and its price stand on the first screen"
