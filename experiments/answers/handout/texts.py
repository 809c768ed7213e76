"""The texts of the page: English, a translation, without words, or a user's own, by key.

A text may hold the fields of the English one with that key, in braces, and no others.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

from experiments.scene.own_texts import ENGLISH, TextKeys, flat, unbroken
from experiments.scene.rule_words import rule_template
from experiments.scene.told_units import ball_speed, length
from sim.players import PLAYERS
from sim.surface import SURFACES
from strategies.catalogue import SHOT_MODELS

WORDLESS = "wordless.toml"
NAMES = "names."
# Fields that all texts of a table may hold, whether the English one does or not.
FIELDS_OF = {
    "where": frozenset({"cone", "from", "to"}),
    "balls": frozenset({"cone", "middle", "fewer", "more", "ahead"}),
    "points": frozenset({"more", "fewer", "rallies", "cones", "middle", "ahead"}),
    "drill": frozenset({"depth", "sets", "feeds", "rest"}),
    "rule": frozenset({"where", "steps", "left", "right"}),
    "board_worth": frozenset({"side", "cone", "missed", "middle", "fewer", "more", "ahead"}),
    "board_points": frozenset({"more", "fewer", "rallies", "ahead"}),
    "board_drill": frozenset({"depth", "sets", "feeds", "rest", "cones"}),
}


@dataclass(frozen=True)
class Texts:
    """Texts by key, such as `drill.one`."""

    by_key: Mapping[str, str]

    def say(self, key: str, **fields: str) -> str:
        """The text of that key with its fields filled in."""
        return unbroken(self.by_key[key].format_map(fields))

    def name(self, name: str) -> str:
        """What a level, hitter or surface is called on the page; its own name without a word."""
        return self.by_key.get(NAMES + name, name)

    def number(self, value: float, digits: int = 1, sign: bool = False) -> str:
        """A number as it is printed, with the page's decimal mark and minus."""
        return self._marked(f"{round(value, digits) + 0.0:{'+' if sign else ''}.{digits}f}")

    def length(self, metres: float, digits: int = 1) -> str:
        """A length with its unit, in the units that are told: 1.2 m or 3 ft 11 in."""
        return self._with_unit(length(metres, digits))

    def speed(self, m_s: float) -> str:
        """The speed of a ball with its unit, in the units that are told: 112 km/h or 70 mph."""
        return self._with_unit(ball_speed(m_s))

    def _with_unit(self, told: str) -> str:
        return self._marked(told).replace(" ", "\u00a0")

    def _marked(self, text: str) -> str:
        minus, decimal = self.by_key["minus"], self.by_key["decimal"]
        return text.replace(".", decimal).replace("-", minus).replace("\u2212", minus)


def template(language: str = ENGLISH) -> str:
    """The file of all texts in one of LANGUAGES, for people to put their own words in.

    The names of levels, hitters and surfaces come after ours; one without words is called as it is.
    The words of a learned rule end it.
    """
    stored = _stored(f"{language}.toml")
    worded = tomllib.loads(stored)[NAMES.rstrip(".")]
    plain = [name for name in (*PLAYERS, *SHOT_MODELS, *SURFACES) if name not in worded]
    names = "".join(f'{name} = "{name.replace("-", " ")}"\n' for name in plain)
    return f"{stored}{names}\n{rule_template(language)}"


def texts_of(
    file: Path | None, wordless: bool, names: Iterable[str] = (), language: str = ENGLISH
) -> Texts:
    """The texts of a page: in one of LANGUAGES or without words, those of a file in their place.

    `names` are those that this page may print; a file may give a word for each.

    Raises:
        InputError: the file cannot be read, or holds an unknown key or field, or no text.
    """
    texts = dict(_by_key(language))
    if wordless:
        texts |= dict(flat(tomllib.loads(_stored(WORDLESS))))
        texts = {key: value for key, value in texts.items() if not key.startswith(NAMES)}
    if file is not None:
        own = frozenset(NAMES + name for name in names)
        texts |= TextKeys(_by_key(ENGLISH), own, "handout --texts-template", FIELDS_OF).read(file)
    return Texts(texts)


@cache
def _by_key(language: str) -> Mapping[str, str]:
    return dict(flat(tomllib.loads(template(language))))


def _stored(name: str) -> str:
    return resources.files(__package__).joinpath(name).read_text("utf-8")
