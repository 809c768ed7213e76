"""The whole table: every row from one seed and one number of rallies, for a reader or as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import fill

from experiments.evidence.validation.by_way import WayClass, by_way
from experiments.evidence.validation.published import Sample, rows_of
from experiments.evidence.validation.rows import (
    AGREES,
    CHECK,
    DISAGREES,
    INPUT,
    VERIFICATION,
    Row,
    demoted,
)
from experiments.evidence.validation.typical import fitted_figures
from experiments.statistics.estimates import LEVEL
from sim.chance import checked_seed
from sim.errors import InputError

DEFAULT_RALLIES = 4000
FEWEST_RALLIES, MOST_RALLIES = 100, 1_000_000
WAYS_OF = ("professional-man", "hard")


@dataclass(frozen=True)
class Table:
    """The rows, with what they were simulated from: `rallies` for each level and surface.

    `ways`: what the strokes of WAYS_OF came to, by the way to the ball.
    """

    rows: list[Row]
    ways: list[WayClass]
    seed: int
    rallies: int
    world: int | None = None

    def count(self, verdict: str) -> int:
        """Checks with that verdict; other kinds are no evidence."""
        return sum(row.kind == CHECK and row.verdict() == verdict for row in self.rows)

    @property
    def summary(self) -> str:
        """How many of the checks agree, in one sentence."""
        checks = sum(row.kind == CHECK for row in self.rows)
        agree, disagree = self.count(AGREES), self.count(DISAGREES)
        return (
            f"{agree} of {checks} checks agree with the published record, {disagree} disagree and"
            f" {checks - agree - disagree} cannot be told. Inputs and verifications are no"
            " evidence."
        )


def table_of(seed: int, rallies: int = DEFAULT_RALLIES, world: int | None = None) -> Table:
    """Compute every row; in a `world` that fits the record, by its number.

    Raises:
        InputError: a seed or world that cannot be one, or too few or too many rallies.
    """
    if not FEWEST_RALLIES <= rallies <= MOST_RALLIES:
        raise InputError(
            f"--rallies is {rallies}; give a whole number from {FEWEST_RALLIES} to {MOST_RALLIES}"
        )
    checked_seed(seed)
    sample = Sample(seed, rallies, world)
    rows = demoted(rows_of(sample), fitted_figures())
    return Table(rows, by_way(sample.strokes(*WAYS_OF)), seed, rallies, world)


WIDTH = 100
HEADS = {
    CHECK: "Checks: nothing in the model was set by these figures",
    INPUT: "Inputs: these follow from what was put in, and are no evidence",
    VERIFICATION: "Verifications: the code against mathematics, no evidence about the world",
}
COLUMNS = ("quantity", "published", "tolerance", "ours", "low", "high", "verdict")
WHAT = (
    f"Ours with its {100 * LEVEL:.0f} % interval, the rally being the unit. A row agrees if the"
    " whole interval lies within the tolerance, disagrees if all of it lies outside, and cannot be"
    " tested with so few rallies if it lies across the edge. Model results, not advice:"
    " disagreements are left standing."
)


def table_json(table: Table) -> dict[str, object]:
    """Seed, rallies a cell, the summary, the rows, and strokes by the way to the ball."""
    return {
        "seed": table.seed,
        "rallies": table.rallies,
        **({} if table.world is None else {"world": table.world}),
        "summary": table.summary,
        "rows": [row.as_json() for row in table.rows],
        "by_way": [way.as_json() for way in table.ways],
    }


def table_text(table: Table) -> str:
    """The table by kind, the summary, and what each figure is, in lines of at most WIDTH."""
    parts = [
        *_tables(table.rows),
        _by_way(table.ways),
        fill(table.summary, WIDTH),
        fill(WHAT, WIDTH),
    ]
    parts += ["\n".join(["Sources, how they were read, and likely causes", *_notes(table.rows)])]
    parts += [fill(_played(table), WIDTH)]
    return "\n\n".join(parts)


def _played(table: Table) -> str:
    said = f"Seed {table.seed}, {table.rallies} rallies for each level and surface."
    if table.world is None:
        return said
    return f"{said} {in_world_words(table.world)}"


def in_world_words(world: int) -> str:
    """What is said of figures that were played in another world than the default one."""
    return (
        f"Played in world {world} of those that fit the record of professional men; for others than"
        " these it is extrapolated, by its relation to the professional default."
    )


def _tables(rows: list[Row]) -> Iterator[str]:
    lines = {row.key: _cells(row) for row in rows}
    width = max(len(cells[1]) for cells in lines.values())
    for kind, head in HEADS.items():
        group = [lines[row.key] for row in rows if row.kind == kind]
        yield "\n".join([head, _line(("", *COLUMNS), width), *(_line(c, width) for c in group)])


def _line(cells: tuple[str, ...], width: int) -> str:
    key, quantity, published, tolerance, ours, low, high, verdict = cells
    return (
        f"{key:<5} {quantity:<{width}} {published:>9} {tolerance:>9} {ours:>7} {low:>7} {high:>7}"
        f" {verdict}"
    )


def _cells(row: Row) -> tuple[str, ...]:
    low, high = row.ours.interval(LEVEL)
    published = "-".join(number(v) for v in row.published)
    ours = (number(row.ours.value), number(low), number(high))
    return (row.key, row.quantity, published, tolerance(row), *ours, row.verdict())


def tolerance(row: Row) -> str:
    """The accepted range in words: a distance to both sides, a band, or an end."""
    low, high = row.accepted
    centre = row.published[0]
    if math.isinf(high):
        return f"above {number(low)}"
    if math.isinf(low):
        return f"up to {number(high)}"
    if row.accepted == row.published:
        return "band"
    if len(row.published) == 1 and math.isclose(centre - low, high - centre, rel_tol=1e-6):
        return f"± {high - centre:.2g}"
    return f"{number(low)}-{number(high)}"


def number(value: float) -> str:
    """Four digits above 1, three below; small errors with one decimal."""
    if not math.isfinite(value):
        return "-"
    if 0 < abs(value) < 1e-3:
        return f"{value:.1e}"
    return f"{value:.4g}" if abs(value) >= 1 else f"{value:.3g}"


WAYS_HEAD = "What strokes come to by the way to the ball: ours, men, hard court, returns left out"
WAYS_COLUMNS = ("way, m", "strokes", "forced error, %", "unforced error, %", "winner, %")


def _by_way(ways: list[WayClass]) -> str:
    rows: list[tuple[str, ...]] = [WAYS_COLUMNS]
    for way in ways:
        shares = [number(share.value) for share in way.shares.values()]
        rows.append((way.words, str(way.strokes), *shares))
    lines = ["".join(f"{cell:>19}" for cell in cells) for cells in rows]
    return "\n".join([WAYS_HEAD, *lines])


def _notes(rows: list[Row]) -> Iterator[str]:
    """One paragraph for rows that share source and notes."""
    together: dict[tuple[str, str, str], list[str]] = {}
    for row in rows:
        key = (row.source.text, row.source.status, row.notes)
        together.setdefault(key, []).append(row.key)
    for (source, status, notes), keys in together.items():
        text = f"{', '.join(keys)}: {source} ({status}). {notes}".strip()
        yield fill(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
