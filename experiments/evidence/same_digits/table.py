"""How many numbers differ between forms of the kernels: a row a form."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from experiments.evidence.same_digits.forms import Form, record
from experiments.evidence.same_digits.recording import NATIVE, WORD, calls_in
from sim.kinds import KINDS
from sim.native.load import listed


@dataclass(frozen=True)
class Recorded:
    """What was recorded: how much, and by which of the kernels that are shipped."""

    situations: int
    calls: int
    numbers: int  # returned or changed by the calls
    strokes: dict[str, int]  # struck, by kind
    kernels: Counter[tuple[str, str]]  # calls by path and types

    @property
    def unplayed(self) -> list[str]:
        """Shipped kernels that no situation calls."""
        entries = listed()["entries"].items()
        return [
            f"{path} of {takes}"
            for path, found in entries
            for takes in found
            if (path, takes) not in self.kernels
        ]


@dataclass(frozen=True)
class Row:
    """One form against the object that is shipped for this machine."""

    made: str
    target: str
    calls: int
    numbers: int
    differing: int
    where: dict[str, int]  # numbers that differ, by kernel


def recorded(folder: Path, situations: int, seed: int) -> Recorded:
    """Situations, played with the shipped kernels and written down in a folder.

    Raises:
        InputError: a call that no kernel was shipped for.
    """
    kinds = json.loads(record(folder, situations, seed))
    kernels: Counter[tuple[str, str]] = Counter()
    numbers = 0
    for call in calls_in(folder):
        kernels[call.kernel, call.takes] += 1
        numbers += call.numbers
    strokes = dict(zip(KINDS, kinds, strict=True))
    return Recorded(situations, kernels.total(), numbers, strokes, kernels)


def row_of(form: Form, folder: Path, found: Recorded) -> Row:
    """A recording made again by a form, and compared.

    Raises:
        InputError: the form cannot be run.
    """
    form.again(folder, form.name)
    where = differing(folder, folder / f"{form.name}.bin")
    return Row(form.made, form.target, found.calls, found.numbers, where.total(), dict(where))


def differing(folder: Path, other: Path) -> Counter[str]:
    """Words that are not the same in what a recording's calls gave and gave again, by kernel.

    Any two numbers that are NaN are the same.
    """
    counts: Counter[str] = Counter()
    with (folder / NATIVE).open("rb") as first, other.open("rb") as second:
        for call in calls_in(folder):
            size = WORD * call.words
            a, b = (np.frombuffer(file.read(size), np.int64) for file in (first, second))
            if len(a) != len(b):
                raise ValueError(f"{other.name} is shorter than {NATIVE}")
            nan = np.isnan(a.view(np.float64)) & np.isnan(b.view(np.float64))
            if count := int(np.count_nonzero((a != b) & ~nan)):
                counts[call.kernel] += count
        if second.read(1):
            raise ValueError(f"{other.name} is longer than {NATIVE}")
    return counts


def table_text(found: Recorded, rows: Iterable[Row]) -> str:
    """The table for people."""
    strokes = ", ".join(f"{count} {kind}" for kind, count in found.strokes.items())
    lines = [
        f"{found.situations} situations, {found.calls} calls of {len(found.kernels)} kernels,"
        f" {found.numbers} numbers; strokes: {strokes}.",
        "Against the object that is shipped for this machine:",
        f"{'made':<14} {'for':<16} {'calls':>8} {'numbers':>10} {'differing':>10}",
    ]
    for row in rows:
        lines.append(
            f"{row.made:<14} {row.target:<16} {row.calls:>8} {row.numbers:>10} {row.differing:>10}"
        )
        lines += [f"    {kernel}: {count}" for kernel, count in row.where.items()]
    if found.unplayed:
        lines.append("Not played: " + "; ".join(found.unplayed))
    return "\n".join(lines)


def table_json(found: Recorded, rows: Iterable[Row]) -> dict[str, Any]:
    """The table as JSON."""
    return {
        "situations": found.situations,
        "calls": found.calls,
        "kernels": len(found.kernels),
        "numbers": found.numbers,
        "strokes": found.strokes,
        "unplayed": found.unplayed,
        "rows": [asdict(row) for row in rows],
    }
