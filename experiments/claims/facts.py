"""What pages may say of the stored results: numbers with both intervals, verdicts and counts.

Texts in `data/pages` call these, so that no number of a result is typed, and words that hang on one
(wins, cannot be told from, in all) follow its verdict.
"""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.claims.register import designed, mapped, rows_of
from experiments.claims.tables import MORE, RALLY
from experiments.report.apart import IN_TIME
from experiments.scene.rule_words import depth_of, rule_sentence
from experiments.statistics.comparison import (
    AS_GOOD,
    LOSES,
    NOT_DECIDED,
    NOT_IN_ALL,
    WINS,
    verdict_by_both,
    verdict_of,
)
from experiments.statistics.signed_words import Ends, claim, ends_of, world_words
from experiments.statistics.words import printed, said
from experiments.study.result_folder import ALL_PLACES, NUMBERS, ResultFolder, records
from sim.errors import InputError

ENDS = (*NUMBERS[:3], "world_low", "world_high")
PREDICATES = {
    WINS: "wins",
    AS_GOOD: "is as good as {other}",
    NOT_DECIDED: "cannot be told from {other}",
    LOSES: "loses to {other}",
    WINS + NOT_IN_ALL: "wins by the default values but not in all worlds",
    AS_GOOD + NOT_IN_ALL: "is as good as {other} by the default values but not in all worlds",
    LOSES + NOT_IN_ALL: "loses to {other} by the default values but not in all worlds",
}

# Levels as a reader says them.
PEOPLE = {
    "professional-man": "professional men",
    "professional-woman": "professional women",
    "college-man": "college men",
    "club-adult": "club players",
    "club-woman": "club women",
    "club-man": "club men",
    "under-12": "children under 12",
    "under-14-girl": "girls under 14",
    "under-14-boy": "boys under 14",
    "senior-65": "players of 65 and more",
    "elite-junior": "elite juniors",
}


@dataclass(frozen=True)
class Number:
    """One stored number with its interval of chance and, where the study has worlds, of worlds; of
    a difference that is not decided, the interval that leaves it open."""

    cell: Mapping[Any, Any]

    @property
    def value(self) -> float:
        return float(self.cell["estimate"])

    @property
    def low(self) -> float:
        return self._ends.low

    @property
    def high(self) -> float:
        return self._ends.high

    @property
    def _ends(self) -> Ends:
        return ends_of(self.cell) or Ends(self.value, math.nan, math.nan)

    @property
    def verdict(self) -> str:
        """The verdict by chance and worlds, where there are worlds."""
        return verdict_by_both(self.cell)

    @property
    def wins(self) -> bool:
        """Wins by chance, and in the worlds where there are some."""
        return self.verdict == WINS

    @property
    def loses(self) -> bool:
        return self.verdict == LOSES

    @property
    def is_open(self) -> bool:
        """Not decided by chance alone."""
        return self.verdict == NOT_DECIDED

    @property
    def claimed(self) -> str:
        """What it lets one say of the points against the middle, worlds included."""
        words = claim(verdict_of(self.cell), self, "the middle", "points in 100")
        beside = world_words(self.cell)
        return f"{words}, {beside}" if beside else words

    @property
    def worlds(self) -> Ends:
        """The number with its interval of worlds.

        Raises:
            InputError: the study was not played in worlds.
        """
        low, high = self.cell.get("world_low"), self.cell.get("world_high")
        if low is None or high is None or low != low:
            raise InputError("this number has no interval of worlds; play its study in worlds")
        return Ends(self.value, float(low), float(high))

    @property
    def in_worlds(self) -> str:
        """The interval of worlds, with the sign of a minus."""
        _, low, high = printed(self.worlds)
        return f"{low:.1f} to {high:.1f}".replace("-", "\u2212")

    @property
    def share_of_worlds(self) -> int:
        """In how many of 100 worlds the number has the sign of its estimate."""
        return round(100 * float(self.cell["world_share"]))

    @property
    def short(self) -> str:
        """The number alone."""
        return f"{self.value:z.1f}".replace("-", "\u2212")

    def __str__(self) -> str:
        return said(self)


class Counts(Counter[str]):
    """How often each verdict was met."""

    def __str__(self) -> str:
        """Such as `wins in 38 of 48 cells and is not decided in 10`."""
        words = {NOT_DECIDED: "is not decided", AS_GOOD: "is as good"}
        order = [v for v in PREDICATES if self[v]]
        first, *rest = [(words.get(v, v), self[v]) for v in order]
        start = f"{first[0]} {in_many(first[1], self.total())} cells"
        return listed([start, *(f"{word} in {count}" for word, count in rest)])


def in_many(count: int, total: int) -> str:
    """Such as `in all 48`, `in 38 of 48`, `in none of 48`."""
    how = "all" if count == total else f"{count or 'none'} of"
    return f"in {how} {total}"


def listed(words: Iterable[str]) -> str:
    """Such as `a, b and c`."""
    *start, last = words
    return f"{', '.join(start)} and {last}" if start else last


def by_verdict(named: Mapping[str, Number], other: str = "the middle") -> str:
    """What is said of a policy in several cases, grouped by verdict, such as `wins for college men
    and cannot be told from the middle for club players`."""
    found: dict[str, list[str]] = {}
    for name, number in named.items():
        found.setdefault(number.verdict, []).append(name)
    parts = [f"{PREDICATES[v].format(other=other)} for {listed(n)}" for v, n in found.items()]
    return "; it ".join(parts)


def at_most(named: Mapping[str, Number], most: float) -> list[str]:
    """The names whose number, as it is shown, is no larger."""
    return [name for name, number in named.items() if round(number.value, 1) <= most]


def largest(named: Mapping[str, Number], count: int) -> str:
    """The largest numbers with their names, such as `9.1 against a and 2.0 against b`."""
    order = sorted(named, key=lambda name: -named[name].value)[:count]
    return listed(f"{named[name].short} against {name}" for name in order)


def span(values: Iterable[Any], digits: int = 1) -> str:
    """The least and the most of numbers, such as `1.2 to 3.4`; one number where both look alike."""
    found = [float(getattr(v, "value", v)) for v in values]
    ends = [f"{end:z.{digits}f}".replace("-", "\u2212") for end in (min(found), max(found))]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def runs(verdicts: Iterable[tuple[Any, str]], other: str = "the middle") -> str:
    """Verdicts along a line of values as stretches, such as `wins from 9 to 19, cannot be told from
    the middle from 26 to 50 and loses to the middle at 58`."""
    parts = []
    for verdict, group in groupby(verdicts, key=lambda pair: pair[1]):
        values = [value for value, _ in group]
        where = f"from {values[0]} to {values[-1]}" if len(values) > 1 else f"at {values[0]}"
        parts.append(f"{PREDICATES[verdict].format(other=other)} {where}")
    return listed(parts)


class Facts:
    """The stored folders, each table read once."""

    def __init__(self, results: Path) -> None:
        self.results = results
        self._cells = cache(lambda folder: ResultFolder.read(results / folder).cells)
        self._points = cache(lambda folder: designed(results / folder))
        self._map = cache(lambda folder: mapped(results / folder))

    def table(self, folder: str, read: str = "cells") -> pd.DataFrame:
        """The cells of a study, of the `points` of its factors, or of its `map`."""
        reads = {"cells": self._cells, "points": self._points, "map": self._map}
        return reads[read](folder)

    def number(self, folder: str, read: str = "cells", **labels: Any) -> Number:
        """The one number with these labels; of points in whole rallies more than the middle's, if
        not said.

        Raises:
            InputError: there is none, or more than one.
        """
        labels = {"setting": RALLY, "outcome": MORE, **labels}
        rows = records(rows_of(self.table(folder, read), **labels))
        if len(rows) > 1:
            raise InputError(f"{len(rows)} rows with {labels} in {folder!r}; name one of them")
        return Number(rows[0])

    def in_time(self, folder: str, **labels: Any) -> Number:
        """Of 100 balls those reached in time."""
        cell = dict(self.number(folder, **labels, outcome=IN_TIME).cell)
        return Number(cell | {name: 100.0 * cell[name] for name in ENDS if cell.get(name)})

    def numbers(self, folder: str, read: str = "cells", **labels: Any) -> list[Number]:
        """All numbers with these labels, all places together left out.

        Raises:
            InputError: there are none.
        """
        rows = rows_of(self.table(folder, read), **{"setting": RALLY, "outcome": MORE, **labels})
        return [Number(row) for row in records(rows[rows["place"] != ALL_PLACES])]

    def each(
        self, folder: str, label: str, read: str = "cells", **labels: Any
    ) -> dict[str, Number]:
        """The number of each value of a label; levels by their words.

        Raises:
            InputError: there are none, or more than one of a value.
        """
        held = rows_of(self.table(folder, read), **{"outcome": MORE, **labels})[label].unique()
        return {
            PEOPLE.get(name, name): self.number(folder, read, **{**labels, label: name})
            for name in held
        }

    def count(self, folder: str, read: str = "cells", **labels: Any) -> Counts:
        """How often each verdict is met among the numbers with these labels."""
        return Counts(n.verdict for n in self.numbers(folder, read, **labels))

    def varied(self, folder: str, factor: str, level: str) -> list[float]:
        """The values of a factor of a study at one level, upward."""
        table = self.table(folder, "points")
        return sorted(table.loc[table["level"] == level, factor].dropna().unique())

    def answer(self, path: str) -> Any:
        """What a command said as JSON, kept in the file of that path without its ending.

        Raises:
            InputError: there is no such file, or it is none.
        """
        file = self.results / f"{path}.json"
        try:
            return json.loads(file.read_text("utf-8"))
        except (OSError, ValueError) as error:
            raise InputError(f"{file} cannot be read: {error}") from None

    def given(self) -> Iterator[tuple[str, Any]]:
        """What texts may call, by name."""
        for name in ("number", "numbers", "each", "in_time", "count", "varied", "answer"):
            yield name, getattr(self, name)
        for function in (by_verdict, span, runs, listed, at_most, largest, rule_sentence, depth_of):
            yield function.__name__, function
        yield from {"people": PEOPLE, "WINS": WINS, "LOSES": LOSES}.items()
