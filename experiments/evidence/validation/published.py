"""The published figures (experiments/data/published.toml), and the model's own beside each."""

from __future__ import annotations

import tomllib
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from importlib import resources
from typing import Any

import numpy as np

import sim.surface
from experiments.evidence.validation import ball, exactness, legs_figures, stroke_figures
from experiments.evidence.validation.estimates import Estimate, difference, exact
from experiments.evidence.validation.kinds import KindFigures
from experiments.evidence.validation.last_strokes import LastStrokes
from experiments.evidence.validation.net import NetFigures
from experiments.evidence.validation.rows import Row, Source, about
from experiments.evidence.validation.typical import CELLS, RallyFigures, typical_rallies
from experiments.evidence.validation.waiting import WaitingPlaces

FILE = "published.toml"
HOMES = {
    "ball": ball,
    "exactness": exactness,
    "legs": legs_figures,
    "surface": sim.surface,
    "strokes": stroke_figures,  # given the level, the seed and the number of balls
}
READ_OFF = {  # the typical rallies of the level and surface that they are given
    "rallies": RallyFigures,
    "kinds": KindFigures,
    "net": NetFigures,
    "endings": LastStrokes,
    "waiting": WaitingPlaces,
}
Named = Sequence[Any]  # home.function, and what it is given


@dataclass(frozen=True)
class Sample:
    """What the model's figures are read off: so many typical rallies for each level and surface,
    and as many single strokes; in a `world` that fits the record, where a number is given."""

    seed: int
    count: int
    world: int | None = None

    def figure(self, named: Named, over: Sequence[float] = ()) -> Estimate:
        """The model's own figure of that name; with `over`, the largest over these."""
        (home, _, name), values = named[0].partition("."), named[1:]
        work = getattr((HOMES | READ_OFF)[home], name)
        if home in READ_OFF:
            level, surface, *values = values
            work = partial(work, _figures(home, level, surface, *self._played))
        elif home == "strokes":
            values = (*values, *self._played)
        found = max(work(*values, v) for v in over) if over else work(*values)
        return found if isinstance(found, Estimate) else exact(found)

    def strokes(self, level: str, surface: str) -> np.ndarray:
        """STROKE records of the typical rallies of that level and surface."""
        return _strokes(level, surface, *self._played)

    @property
    def _played(self) -> tuple[int, int, int | None]:
        return self.seed, self.count, self.world

    def row(self, text: dict[str, Any], source: Source) -> Row:
        """The row of an entry of the file."""
        ours = self.figure(text["ours"], text.get("over", ()))
        if "less" in text:
            ours = difference(ours, self.figure(text["less"]))
        note = text.get("note", "")
        if "beside" in text:
            note = note.format(beside=self.figure(text["beside"]).value)
        published = self._published(text["published"])
        said = (text["kind"], source, note, text.get("if_low", ""), text.get("if_high", ""))
        accepted = _accepted(text, published)
        return Row(text["key"], text["quantity"], published, accepted, ours, *said)

    def _published(self, value: float | str | list[float]) -> tuple[float, ...]:
        if isinstance(value, str):
            value = self.figure((value,)).value
        return tuple(value) if isinstance(value, list) else (value,)


def rows_of(sample: Sample, wanted: Container[str] | None = None) -> list[Row]:
    """The rows in the order of the file: all of them, or those whose key is `wanted`."""
    file = tomllib.loads(resources.files("experiments.data").joinpath(FILE).read_text("utf-8"))
    sources = {name: Source(*said) for name, said in file["sources"].items()}
    return [
        sample.row(text, sources[text["source"]])
        for text in _entries(file["figure"])
        if wanted is None or text["key"] in wanted
    ]


def _entries(figures: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Each row with what its figure's rows share."""
    for figure in figures:
        yield from (figure | own for own in figure.get("rows", [figure]))


def _accepted(text: dict[str, Any], published: tuple[float, ...]) -> tuple[float, float]:
    within = text.get("within", text.get("within_share", 0.0) * published[0])
    if within and "accepted" not in text:
        return about(published[0], within)
    low, high = text.get("accepted", published)
    return low, high


@lru_cache(maxsize=len(CELLS) * len(READ_OFF))
def _figures(home: str, *rallies: Any) -> Any:
    return READ_OFF[home](_strokes(*rallies))


@lru_cache(maxsize=len(CELLS))
def _strokes(level: str, surface: str, seed: int, count: int, world: int | None) -> np.ndarray:
    return typical_rallies(level, surface, seed, count, world)
