"""Files of learned weights: what each weight means, how far it may go, how a file is read.

A file is TOML: a `title`, a table `weights` (those not named are 0) and a table `found` with how it
was found, for people to read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from sim.errors import InputError, named
from sim.people_files import read_text, toml_table
from sim.plain_text import checked_line
from sim.records import record_type

SUFFIX = ".toml"
MOST_BYTES = 100_000


@dataclass(frozen=True)
class Weight:
    """What a weight of a learned policy means: its unit, its range, its words."""

    unit: str
    low: float
    high: float
    about: str


# Sideways first, then back and in, then the way there.
MEANING: Mapping[str, Weight] = {
    "bisector": Weight("1", -1.0, 2.0, "share of the bisector's place"),
    "opponent": Weight("m/m", -0.6, 0.6, "away from the opponent for each metre off the centre"),
    "opponent_near": Weight("1", -0.6, 0.6, "more of that for each 5 m inside the baseline"),
    "opponent_weak": Weight("1", -0.6, 0.6, "more of that against a stroke of no quality"),
    "opponent_backhand": Weight("1", -0.6, 0.6, "more of that against a backhand"),
    "own": Weight("m/m", -0.6, 0.6, "share of the own place at the own stroke"),
    "own_hurried": Weight("1/s", -1.0, 1.0, "more of that for each second less than 1.5 s of time"),
    "toward_backhand": Weight("m", -1.0, 1.0, "toward the own backhand side"),
    "back": Weight("m", -3.0, 4.0, "back from the waiting depth"),
    "back_wide": Weight("m/m", -1.0, 1.0, "back for each metre that the opponent is off centre"),
    "back_near": Weight("m", -3.0, 3.0, "back for each 5 m that the opponent is inside"),
    "back_weak": Weight("m", -5.0, 5.0, "back against a stroke of no quality; less than 0: in"),
    "back_hurried": Weight("m/s", -5.0, 5.0, "back for each second less than 1.5 s of time"),
    "back_own_wide": Weight("m/m", -1.0, 1.0, "back for each metre that the own place is wide"),
    "back_own_deep": Weight("m/m", -1.0, 1.0, "back for each metre that the own place is deeper"),
    "effort": Weight("1", 0.0, 1.0, "share of the full sprint on the way; 0: the legs' own"),
}
WEIGHTS = record_type(*MEANING)


@dataclass(frozen=True)
class Learning:
    """A set of weights, all of MEANING, and how it was found."""

    title: str
    weights: dict[str, float]
    found: dict[str, Any]


def shipped() -> tuple[str, ...]:
    """The names of the sets that come with the package."""
    files = resources.files(__package__).iterdir()
    return tuple(sorted(Path(f.name).stem for f in files if f.name.endswith(SUFFIX)))


SHIPPED = shipped()


def is_file(text: str) -> bool:
    """Whether a text names a file of weights rather than a set that comes with the package."""
    return text.lower().endswith(SUFFIX)


def read_learning(text: str) -> Learning:
    """The set of that name, or of the file that `text` names.

    Raises:
        InputError: no such set or file, or one that cannot be used; what and where is said.
    """
    if is_file(text):
        try:
            return learning_of(read_text(Path(text), text, MOST_BYTES), text)
        except OSError as error:
            raise InputError(f"{text}: the weights cannot be read: {error.strerror}") from None
    name = named("set of learned weights", text, SHIPPED)
    content = resources.files(__package__).joinpath(name + SUFFIX).read_text(encoding="utf-8")
    return learning_of(content, name)


def learning_of(content: str, where: str) -> Learning:
    """The set that a file's text gives.

    Raises:
        InputError: not TOML, an unknown or missing key, a weight that is no number or out of range.
    """
    table = toml_table(content, where)
    unknown = sorted(set(table) - {"title", "weights", "found"})
    if unknown:
        raise InputError(f"{where}: unknown key {unknown[0]!r}; allowed: title, weights, found")
    title, weights, found = (table.get(key) for key in ("title", "weights", "found"))
    if not isinstance(title, str) or not isinstance(weights, dict):
        raise InputError(f"{where}: give a text `title` and a table `weights`")
    if found is not None and not isinstance(found, dict):
        raise InputError(f"{where}: `found` is {found!r}; give a table, or leave it out")
    numbers = {name: checked_weight(where, name, value) for name, value in weights.items()}
    everything = {name: numbers.get(name, 0.0) for name in MEANING}
    return Learning(checked_line(f"{where}: the title", title), everything, found or {})


def checked_weight(where: str, name: str, value: object) -> float:
    """The weight `name`, a number in its range.

    Raises:
        InputError: no such weight, no number, or out of range.
    """
    meaning = MEANING[named(f"weight in {where}", name, MEANING)]
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not is_number or not meaning.low <= float(value) <= meaning.high:  # type: ignore[arg-type]
        raise InputError(
            f"{where}: the weight {name} is {value!r}; give a number from {meaning.low:g} to"
            f" {meaning.high:g} ({meaning.unit})"
        )
    return float(value)  # type: ignore[arg-type]
