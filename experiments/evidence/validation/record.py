"""The table of `rally-recovery validate` as it was stored, so that a report need not play it again.

Made anew by `rally-recovery validate --seed 1 --json > experiments/data/validation.json`; a test
holds its figures, kinds and verdicts to those pinned for the model.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from experiments.evidence.validation.rows import (
    AGREES,
    CHECK,
    DISAGREES,
    INPUT,
    NOT_TESTABLE,
    VERIFICATION,
)

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
