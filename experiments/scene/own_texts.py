"""A user's own words in place of ours: a TOML file of texts by key.

A text may hold the fields of the English one with that key, in braces, and no others.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from string import Formatter
from typing import Any

from sim.errors import InputError, named
from sim.people_files import read_text, toml_table
from sim.plain_text import checked_line

BREAKS = re.compile(r"[\t\n\v\f\r\u2028\u2029]+")  # pages break their lines themselves
# A number and its unit share a line.
UNIT = re.compile(r"(?<=\d) (?=(?:km/h|cm|m|s|%|\u00d7)(?:\W|$))")
# Those that our own texts come in: English first, the others as translations that nobody reviewed.
ENGLISH = "en"
LANGUAGES = (ENGLISH, "de", "es", "fr")
_CALLED = {"english": ENGLISH, "german": "de", "spanish": "es", "french": "fr"}
LONGEST_FILE = 100_000  # bytes; the longest English one has 14,000


def language(name: str) -> str:
    """The one of LANGUAGES that is meant, by its short name or by its name in English.

    Raises:
        InputError: no such language; says which there are.
    """
    meant = named("language", name, (*LANGUAGES, *_CALLED))
    return _CALLED.get(meant, meant)


@dataclass(frozen=True)
class TextKeys:
    """Which texts a file may hold.

    english: all of ours by key; names: further keys that may be given; fields_of: what all texts of
    a table may hold, whether the English one does or not; template: the command that prints a file
    to begin with.
    """

    english: Mapping[str, str]
    names: frozenset[str]
    template: str
    fields_of: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def read(self, file: Path) -> dict[str, str]:
        """The texts of a user's file by key.

        Raises:
            InputError: the file cannot be read, or holds an unknown key or field, or no text.
        """
        where = f"the file of texts {str(file)!r}"
        try:
            content = read_text(file, where, LONGEST_FILE)
        except OSError as error:
            raise InputError(f"{where} cannot be read: {error.strerror}") from None
        try:
            own = dict(flat(toml_table(content, where)))
        except InputError as error:
            raise InputError(f"{error}; `{self.template}` prints a file to begin with") from None
        for key, value in own.items():
            self._require_known(file, key)
            self._require_fields(file, key, value)
        return {
            key: checked_line(f"the text {key!r}", BREAKS.sub(" ", value))
            for key, value in own.items()
        }

    def _require_known(self, file: Path, key: str) -> None:
        valid = {*self.english, *self.names}
        if key not in valid:
            near = difflib.get_close_matches(key, sorted(valid), n=1, cutoff=0.4)
            hint = f" Did you mean {near[0]!r}?" if near else ""
            raise InputError(
                f"unknown text {key!r} in {str(file)!r}.{hint} `{self.template}` prints all."
            )

    def _require_fields(self, file: Path, key: str, value: Any) -> None:
        if not isinstance(value, str):
            raise InputError(f"text {key!r} in {str(file)!r} is {value!r}; give it in quotes")
        shared = self.fields_of.get(key.partition(".")[0], frozenset())
        allowed = shared | _fields(self.english.get(key, ""))
        listed = ", ".join(f"{{{name}}}" for name in sorted(allowed)) or "none"
        try:
            used = _fields(value)
        except ValueError as error:
            raise InputError(
                f"text {key!r} in {str(file)!r} has a brace that is not closed or holds no plain"
                f" name ({error}); its fields are: {listed}; double a brace that shall be printed"
            ) from None
        if used - allowed:
            wrong = ", ".join(f"{{{name}}}" for name in sorted(used - allowed))
            raise InputError(
                f"text {key!r} in {str(file)!r} has the field {wrong}; its fields are: {listed}"
            )


def unbroken(text: str) -> str:
    """A text that breaks its lines nowhere between a number and its unit."""
    return UNIT.sub("\u00a0", text)


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


def flat(tables: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Keys of tables within tables, joined by dots."""
    for key, value in tables.items():
        if isinstance(value, dict):
            yield from flat(value, f"{before}{key}.")
        else:
            yield before + key, value
