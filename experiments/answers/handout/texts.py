"""The texts of the page: English, without words, or a user's own, by key.

A text may hold the fields of the English one with that key, in braces, and no others.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from string import Formatter
from typing import Any

from sim.errors import InputError
from sim.people_files import read_text, toml_table
from sim.plain_text import checked_line
from sim.players import PLAYERS
from sim.surface import SURFACES
from strategies.catalogue import SHOT_MODELS

ENGLISH, WORDLESS = "english.toml", "wordless.toml"
NAMES = "names."
# Fields that all texts of a table may hold, whether the English one does or not.
FIELDS_OF = {
    "where": frozenset({"cone", "from", "to"}),
    "balls": frozenset({"cone", "middle", "fewer", "more"}),
    "points": frozenset({"more", "fewer", "rallies", "cones", "middle"}),
    "drill": frozenset({"depth", "sets", "feeds", "rest"}),
}
# A number and its unit share a line.
UNIT = re.compile(r"(?<=\d) (?=(?:km/h|m|s|%|\u00d7)(?:\W|$))")
BREAKS = re.compile(r"[\t\n\v\f\r\u2028\u2029]+")  # the page breaks its lines itself
LONGEST_FILE = 100_000  # bytes; the English one has 6,000


@dataclass(frozen=True)
class Texts:
    """Texts by key, such as `drill.one`."""

    by_key: Mapping[str, str]

    def say(self, key: str, **fields: str) -> str:
        """The text of that key with its fields filled in."""
        return UNIT.sub("\u00a0", self.by_key[key].format_map(fields))

    def name(self, name: str) -> str:
        """What a level, hitter or surface is called on the page; its own name without a word."""
        return self.by_key.get(NAMES + name, name)

    def number(self, value: float, digits: int = 1, sign: bool = False) -> str:
        """A number as it is printed, with the page's decimal mark and minus."""
        text = f"{round(value, digits) + 0.0:{'+' if sign else ''}.{digits}f}"
        return text.replace("-", self.by_key["minus"]).replace(".", self.by_key["decimal"])


def template() -> str:
    """The file of all English texts, for people to put their own words in.

    The names of levels, hitters and surfaces end it; one without words is called as it is.
    """
    stored = _stored(ENGLISH)
    worded = tomllib.loads(stored)[NAMES.rstrip(".")]
    plain = [name for name in (*PLAYERS, *SHOT_MODELS, *SURFACES) if name not in worded]
    return stored + "".join(f'{name} = "{name.replace("-", " ")}"\n' for name in plain)


def texts_of(file: Path | None, wordless: bool, names: Iterable[str] = ()) -> Texts:
    """The texts of a page: English or without words, with those of a file in their place.

    `names` are those that this page may print; a file may give a word for each.

    Raises:
        InputError: the file cannot be read, or holds an unknown key or field, or no text.
    """
    english = dict(_english())
    texts = english | dict(_flat(tomllib.loads(_stored(WORDLESS)))) if wordless else english
    if wordless:
        texts = {key: value for key, value in texts.items() if not key.startswith(NAMES)}
    if file is not None:
        texts |= _own(file, {*english, *(NAMES + name for name in names)})
    return Texts(texts)


def _own(file: Path, valid: set[str]) -> dict[str, str]:
    """A user's texts, checked."""
    where = f"the file of texts {str(file)!r}"
    try:
        content = read_text(file, where, LONGEST_FILE)
    except OSError as error:
        raise InputError(f"{where} cannot be read: {error.strerror}") from None
    try:
        own = dict(_flat(toml_table(content, where)))
    except InputError as error:
        raise InputError(
            f"{error}; `handout --texts-template` prints a file to begin with"
        ) from None
    for key, value in own.items():
        _require_known(file, key, valid)
        _require_fields(file, key, value)
    return {key: checked_line(f"the text {key!r}", BREAKS.sub(" ", v)) for key, v in own.items()}


def _require_known(file: Path, key: str, valid: set[str]) -> None:
    if key not in valid:
        near = difflib.get_close_matches(key, sorted(valid), n=1, cutoff=0.4)
        hint = f" Did you mean {near[0]!r}?" if near else ""
        raise InputError(
            f"unknown text {key!r} in {str(file)!r}.{hint} `handout --texts-template` prints all."
        )


def _require_fields(file: Path, key: str, value: Any) -> None:
    if not isinstance(value, str):
        raise InputError(f"text {key!r} in {str(file)!r} is {value!r}; give it in quotes")
    allowed = FIELDS_OF.get(key.partition(".")[0], frozenset()) | _fields(_english().get(key, ""))
    listed = ", ".join(f"{{{name}}}" for name in sorted(allowed)) or "none"
    try:
        used = _fields(value)
    except ValueError as error:
        raise InputError(
            f"text {key!r} in {str(file)!r} has a brace that is not closed or holds no plain name"
            f" ({error}); its fields are: {listed}; double a brace that shall be printed"
        ) from None
    if used - allowed:
        wrong = ", ".join(f"{{{name}}}" for name in sorted(used - allowed))
        raise InputError(
            f"text {key!r} in {str(file)!r} has the field {wrong}; its fields are: {listed}"
        )


def _fields(text: str) -> set[str]:
    """Names in braces.

    Raises:
        ValueError: unbalanced braces, or more in them than a name.
    """
    found = set()
    for _, name, layout, conversion in Formatter().parse(text):
        if name is None:
            continue
        if layout or conversion or not name.isidentifier():
            raise ValueError(f"{{{name}}}")
        found.add(name)
    return found


@cache
def _english() -> Mapping[str, str]:
    return dict(_flat(tomllib.loads(template())))


def _stored(name: str) -> str:
    return resources.files(__package__).joinpath(name).read_text("utf-8")


def _flat(tables: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Keys of tables within tables, joined by dots."""
    for key, value in tables.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield before + key, value
