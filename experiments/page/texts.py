"""The texts of the page by key: in one of our languages, a user's own in their place.

A translation is a file of its own, `data/page_texts_de.toml` and so on, with all texts of the
English one. Nobody has reviewed them: the text `small.unreviewed` says so at the page's foot.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from pathlib import Path

from experiments.scene.own_texts import ENGLISH, TextKeys, flat
from experiments.scene.rule_words import rule_template
from sim.errors import InputError
from sim.players import PLAYERS
from strategies.catalogue import SHOT_MODELS

TEMPLATE = "page --texts-template"
LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def template(language: str = ENGLISH) -> str:
    """The file of all texts in one of LANGUAGES, for people to put their own words in."""
    name = "page_texts.toml" if language == ENGLISH else f"page_texts_{language}.toml"
    own = resources.files("experiments.data").joinpath(name).read_text("utf-8")
    return f"{own}\n{rule_template(language)}"


@cache
def _shipped(language: str) -> Mapping[str, str]:
    return dict(flat(tomllib.loads(template(language))))


def page_texts(
    file: Path | None = None, names: Iterable[str] = (), language: str = ENGLISH
) -> dict[str, str]:
    """The texts of a page by key, such as `answer.left`; those that a file leaves out are ours, in
    one of LANGUAGES.

    `names` are those of people whom a file may call otherwise; so it may levels, hitters, surfaces
    and ways of recovering.

    Raises:
        InputError: the file cannot be read, or holds an unknown key or field, or no text.
    """
    english, texts = _shipped(ENGLISH), dict(_shipped(language))
    if file is not None:
        named = frozenset(f"names.{name}" for name in (*PLAYERS, *SHOT_MODELS, *names))
        texts |= TextKeys(english, named, TEMPLATE).read(file)
    if not LANGUAGE.fullmatch(texts["language"]):
        raise InputError(
            f"text 'language' in {str(file)!r} is {texts['language']!r}; give the short name of a"
            " language, such as en or pt-BR"
        )
    return texts
