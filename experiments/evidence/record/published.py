"""The figures of the professional record (experiments/data/record.toml), with their tolerances."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from experiments.evidence.validation.rows import Source
from experiments.statistics.estimates import LEVEL, quantile

FILE = "record.toml"
# What a model of this kind may miss: a share of the figure, and at least so much. Fixed before any
# fit, as is the rule of `figures.Fit`.
ALLOWANCES = {
    "share": (0.10, 0.01),
    "count": (0.10, 0.0),  # strokes of a point
    "place": (0.10, 0.15),
    "speed": (0.0, 1.5),
    "time": (0.0, 0.05),
    "slope": (0.0, 0.05),
}
QUANTILES = {"p5": 0.05, "p25": 0.25, "p50": 0.50, "p75": 0.75, "p95": 0.95}


@dataclass(frozen=True)
class Figure:
    """One figure of the record.

    `line` is the quantity that the figures of one distribution share. `ours` names what the model's
    own is read off, `of` what is read off it: share, mean, a key of QUANTILES, or value (a number
    as it is).
    """

    key: str
    section: str
    line: str
    quantity: str
    value: float
    se: float
    allowance: float
    ours: tuple[Any, ...]
    of: str

    @property
    def tolerance(self) -> float:
        """What the record's chance and what the model may miss come to together."""
        chance = quantile(LEVEL, math.inf) * self.se
        return math.sqrt(chance * chance + self.allowance * self.allowance)


@cache
def record() -> tuple[Figure, ...]:
    """The figures in the order of the file."""
    return tuple(
        figure
        for group in _file()["group"]
        for row in group["rows"]
        for figure in _figures({k: v for k, v in group.items() if k != "rows"} | row)
    )


def source() -> Source:
    """Where the record comes from, and how it was seen."""
    return Source(_file()["source"], _file()["status"])


@cache
def _file() -> dict[str, Any]:
    text = resources.files("experiments.data").joinpath(FILE).read_text("utf-8")
    return tomllib.loads(text)


def _figures(row: dict[str, Any]) -> Iterator[Figure]:
    """The figures of a row: one, or a mean and quantiles."""
    known = {name: row[name] for name in QUANTILES if name in row}

    def figure(of: str, value: float, se: float, suffix: bool) -> Figure:
        share, least = ALLOWANCES[row["allowance"]]
        key, words = row["key"], row["quantity"]
        if suffix:
            key, words = f"{key}-{of}", f"{words}, {of}"
        allowance = max(share * abs(value), least)
        ours = tuple(row["ours"])
        return Figure(key, row["section"], row["quantity"], words, value, se, allowance, ours, of)

    if "share" in row:
        p = row["share"]
        yield figure("share", p, math.sqrt(p * (1 - p) / row["n"]), False)
    elif "value" in row:
        half = row["half_width"]
        yield figure(row.get("of", "value"), row["value"], half / quantile(LEVEL, math.inf), False)
    else:
        yield figure("mean", row["mean"], spread(known) / math.sqrt(row["n"]), True)
        for name, value in known.items():
            q = QUANTILES[name]
            se = math.sqrt(q * (1 - q) / row["n"]) / density(known, name)
            yield figure(name, value, se, True)


def spread(known: dict[str, float]) -> float:
    """Standard deviation of a normal distribution as far apart between the outermost quantiles."""
    first, *_, last = known
    normal = quantile(2 * QUANTILES[last] - 1, math.inf)
    return (known[last] - known[first]) / (2 * normal)


def density(known: dict[str, float], name: str) -> float:
    """Share per unit between the neighbours of a quantile; at an end, between the last two."""
    names = list(known)
    i = names.index(name)
    low, high = names[max(i - 1, 0)], names[min(i + 1, len(names) - 1)]
    return (QUANTILES[high] - QUANTILES[low]) / (known[high] - known[low])
