"""One row of the table: a published figure, the model's own, and whether they agree.

The whole table of `rally-recovery validate` is stored, so that a report need not play it again; it
is made anew by `rally-recovery validate --seed 1 --json > experiments/data/validation.json`. A test
holds its figures, kinds and verdicts to those pinned for the model.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections import Counter
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from experiments.evidence.validation.estimates import Estimate
from experiments.statistics.estimates import LEVEL

CHECK, INPUT, VERIFICATION = "check", "input", "verification"
AGREES, DISAGREES, NOT_TESTABLE = "agrees", "disagrees", "not testable"
ACROSS = "The interval lies across the edge of the tolerance: more --rallies would tell."


@dataclass(frozen=True)
class Source:
    """Where a figure comes from, and how it was seen: published (the figure itself was seen),
    abstract, second hand, memory, closed form, or computed (by us, from published data)."""

    text: str
    status: str


@dataclass(frozen=True)
class Row:
    """A published figure (one number, or the ends of a band) beside the model's estimate.

    `accepted` is the tolerance as a range, open ends infinite. `kind`: a check set nothing in the
    model; an input follows from what was put in; a verification tests the code against
    mathematics. `note` says how the figure was read; `if_low` and `if_high` name the likely cause
    if the model's figure lies below or above the accepted range.
    """

    key: str
    quantity: str
    published: tuple[float, ...]
    accepted: tuple[float, float]
    ours: Estimate
    kind: str
    source: Source
    note: str = ""
    if_low: str = ""
    if_high: str = ""

    def verdict(self, level: float = LEVEL) -> str:
        """Agrees: the whole interval lies in the accepted range; disagrees: all of it outside.

        Not testable: the interval lies on both sides of an end (too few rallies to tell), or there
        is no figure.
        """
        low, high = self.ours.interval(level)
        least, most = self.accepted
        if least <= low and high <= most:
            return AGREES
        return DISAGREES if high < least or low > most else NOT_TESTABLE

    @property
    def cause(self) -> str:
        """The likely cause of a disagreement; empty where there is none."""
        if self.verdict() != DISAGREES:
            return ""
        return self.if_low if self.ours.value < self.accepted[0] else self.if_high

    @property
    def notes(self) -> str:
        """How the figure was read, why there is no verdict, and the likely cause."""
        parts = [self.note]
        if self.verdict() == NOT_TESTABLE:
            none = math.isnan(self.ours.value)
            parts.append("The model gives no such figure." if none else ACROSS)
        if self.cause:
            parts.append(f"Likely cause: {self.cause}")
        return " ".join(part for part in parts if part)

    def as_json(self) -> dict[str, object]:
        """The row as numbers and words; bands and ranges as lists, open ends as null."""
        low, high = self.ours.interval(LEVEL)
        published = [short(v) for v in self.published]
        return {
            "quantity": self.quantity,
            "published": published[0] if len(published) == 1 else published,
            "tolerance": [short(v) for v in self.accepted],
            "ours": short(self.ours.value),
            "low": short(low),
            "high": short(high),
            "verdict": self.verdict(),
            "kind": self.kind,
            "source": self.source.text,
            "status": self.source.status,
            "row": self.key,
            "note": self.notes,
        }


def short(value: float) -> float | None:
    """Six digits; a number that is not finite is None."""
    return float(f"{value:.6g}") + 0.0 if math.isfinite(value) else None


def about(value: float, tolerance: float) -> tuple[float, float]:
    """The range of `tolerance` to both sides."""
    return value - tolerance, value + tolerance


def demoted(rows: list[Row], fitted: set[str]) -> list[Row]:
    """The rows, a check whose key stands in the register of fits turned into an input."""
    return [
        dataclasses.replace(row, kind=INPUT, note=f"{row.note} Used to fit the model.".strip())
        if row.key in fitted and row.kind == CHECK
        else row
        for row in rows
    ]


FILE = "validation.json"
COMMAND = "rally-recovery validate --seed 1 --json"
USES = {
    CHECK: "checks the model",
    INPUT: "was put into the model",
    VERIFICATION: "checks the code",
}


@dataclass(frozen=True)
class Record:
    """A stored table: seed, rallies for each level and surface, and the rows as `as_json` gives."""

    seed: int
    rallies: int
    rows: tuple[dict[str, Any], ...]

    def of_kind(self, kind: str) -> list[dict[str, Any]]:
        """The rows of that kind."""
        return [row for row in self.rows if row["kind"] == kind]

    @property
    def verdicts(self) -> dict[str, int]:
        """How many checks agree, disagree and cannot be told."""
        count = Counter(row["verdict"] for row in self.of_kind(CHECK))
        return {name: count[name] for name in (AGREES, DISAGREES, NOT_TESTABLE)}

    @property
    def checks(self) -> int:
        """How many rows are checks."""
        return len(self.of_kind(CHECK))

    @property
    def sources(self) -> list[tuple[str, str, list[str], str]]:
        """(source, how it was seen, the rows, what for), each source once for each use."""
        found: dict[tuple[str, str, str], list[str]] = {}
        for row in self.rows:
            key = (row["source"], row["status"], USES[row["kind"]])
            found.setdefault(key, []).append(row["row"])
        return [(source, status, keys, use) for (source, status, use), keys in found.items()]


@cache
def stored_record() -> Record:
    """The stored table of validations."""
    text = resources.files("experiments.data").joinpath(FILE).read_text("utf-8")
    table = json.loads(text)
    return Record(table["seed"], table["rallies"], tuple(table["rows"]))
