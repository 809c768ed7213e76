"""The texts of the page: English, or a user's own in their place, by key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from pathlib import Path

from experiments.scene.own_texts import TextKeys, flat
from sim.errors import InputError
from sim.players import PLAYERS
from strategies.catalogue import SHOT_MODELS

TEMPLATE = "page --texts-template"
LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def template() -> str:
    """The file of all English texts, for people to put their own words in."""
    return resources.files("experiments.data").joinpath("page_texts.toml").read_text("utf-8")


@cache
def _english() -> Mapping[str, str]:
    return dict(flat(tomllib.loads(template())))


def page_texts(file: Path | None = None, names: Iterable[str] = ()) -> dict[str, str]:
    """The texts of a page by key, such as `answer.left`; those that a file leaves out are English.

    `names` are those of people whom a file may call otherwise; so it may levels, hitters, surfaces
    and ways of recovering.

    Raises:
        InputError: the file cannot be read, or holds an unknown key or field, or no text.
    """
    texts = dict(_english())
    if file is not None:
        named = frozenset(f"names.{name}" for name in (*PLAYERS, *SHOT_MODELS, *names))
        texts |= TextKeys(_english(), named, TEMPLATE).read(file)
    if not LANGUAGE.fullmatch(texts["language"]):
        raise InputError(
            f"text 'language' in {str(file)!r} is {texts['language']!r}; give the short name of a"
            " language, such as en or pt-BR"
        )
    return texts
