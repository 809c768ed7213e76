"""The model beside the record: every figure from one seed and number of points, to read or as JSON.

A set of parameters fits the record if the root mean square of its gaps is small enough over all
figures and over each section (`figures.Fit`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import fill

from experiments.evidence.record.figures import (
    MOST_IN_A_SECTION,
    MOST_OVERALL,
    Fit,
    estimates,
    fit_of,
    gaps,
)
from experiments.evidence.record.play import record_game, record_strokes
from experiments.evidence.record.published import Figure, record, source
from experiments.evidence.validation.answer import WIDTH, in_world_words, number
from experiments.evidence.validation.estimates import Estimate
from experiments.evidence.validation.rows import short
from experiments.statistics.estimates import LEVEL
from sim.chance import checked_seed
from sim.errors import InputError

DEFAULT_POINTS = 4000
FEWEST_POINTS, MOST_POINTS = 100, 1_000_000


@dataclass(frozen=True)
class Row:
    """A figure of the record beside the model's; the gap is their difference in tolerances."""

    figure: Figure
    ours: Estimate
    gap: float

    def as_json(self) -> dict[str, object]:
        """The row as numbers and words; what is not a number is null."""
        low, high = self.ours.interval(LEVEL)
        return {
            "figure": self.figure.key,
            "section": self.figure.section,
            "quantity": self.figure.quantity,
            "record": self.figure.value,
            "standard_error": short(self.figure.se),
            "tolerance": short(self.figure.tolerance),
            "ours": short(self.ours.value),
            "low": short(low),
            "high": short(high),
            "gap": short(self.gap),
        }


@dataclass(frozen=True)
class Table:
    """The rows in the order of the file, how well they fit, and what they were played from."""

    rows: list[Row]
    fit: Fit
    seed: int
    points: int
    world: int | None = None


def table_of(seed: int, points: int = DEFAULT_POINTS, world: int | None = None) -> Table:
    """Play the points and compute every row; in a `world` that fits, by its number.

    Raises:
        InputError: a seed or world that cannot be one, or too few or too many points.
    """
    if not FEWEST_POINTS <= points <= MOST_POINTS:
        raise InputError(
            f"--points is {points}; give a whole number from {FEWEST_POINTS} to {MOST_POINTS}"
        )
    checked_seed(seed)
    return table_from(
        estimates(record_strokes(record_game(seed, world), points)), seed, points, world
    )


def table_from(ours: list[Estimate], seed: int, points: int, world: int | None = None) -> Table:
    """The table of figures that were computed."""
    values = [estimate.value for estimate in ours]
    rows = [Row(*row) for row in zip(record(), ours, gaps(values), strict=True)]
    return Table(rows, fit_of(values), seed, points, world)


def table_json(table: Table) -> dict[str, object]:
    """Seed, points, the record's source, root mean square gaps and every figure."""
    said = source()
    return {
        "seed": table.seed,
        "points": table.points,
        **({} if table.world is None else {"world": table.world}),
        "source": said.text,
        "status": said.status,
        "rms_gap": short(table.fit.overall),
        "fits": table.fit.fits,
        "sections": {
            name: {"rms_gap": short(gap), "fits": gap <= MOST_IN_A_SECTION}
            for name, gap in table.fit.sections.items()
        },
        "figures": [row.as_json() for row in table.rows],
    }


HEAD = ("figure", "record", "tolerance", "ours", "low", "high", "gap")
WIDTHS = (7, 9, 7, 7, 7, 6)
WHAT = (
    "Tolerance: root of 1.96 standard errors of the record squared and of what a model of this kind"
    " may miss squared, fixed before any fit. Gap: ours less the record's, in tolerances. Ours with"
    f" its {100 * LEVEL:.0f} % interval, the point being the unit. Two professional men, hard"
    " court. A model fits if the root mean square gap is at most"
    f" {MOST_OVERALL:g} over all figures and at most {MOST_IN_A_SECTION:g} over each section. The"
    " record is of last strokes: where players were, not where it pays to be."
)


def table_text(table: Table) -> str:
    """The figures by section, and how well each fits, in lines of at most WIDTH."""
    said = source()
    parts = [
        *_sections(table),
        "\n".join(_summary(table.fit)),
        fill(WHAT, WIDTH),
        fill(f"Record: {said.text} ({said.status}).", WIDTH, break_on_hyphens=False),
        fill(_played(table), WIDTH),
    ]
    return "\n\n".join(parts)


def _played(table: Table) -> str:
    said = f"Seed {table.seed}, {table.points} points."
    return said if table.world is None else f"{said} {in_world_words(table.world)}"


def _sections(table: Table) -> Iterator[str]:
    width = max(len(row.figure.quantity) for row in table.rows)
    for section in table.fit.sections:
        rows = [_cells(row) for row in table.rows if row.figure.section == section]
        yield "\n".join([section.capitalize(), *(_line(c, width) for c in (HEAD, *rows))])


def _cells(row: Row) -> tuple[str, ...]:
    f, (low, high) = row.figure, row.ours.interval(LEVEL)
    numbers = (number(v) for v in (f.value, f.tolerance, row.ours.value, low, high))
    return (
        f.quantity,
        *numbers,
        f"{round(row.gap, 1) + 0.0:+.1f}" if math.isfinite(row.gap) else "-",
    )


def _line(cells: tuple[str, ...], width: int) -> str:
    quantity, *numbers = cells
    cells_of = zip(numbers, WIDTHS, strict=True)
    return f"{quantity:<{width}} " + " ".join(f"{cell:>{wide}}" for cell, wide in cells_of)


def _summary(fit: Fit) -> Iterator[str]:
    yield "Root mean square gap"
    for name, gap in fit.sections.items():
        yield f"{name:<14} {gap:5.2f}  {_fits(gap, MOST_IN_A_SECTION)}"
    yield f"{'all figures':<14} {fit.overall:5.2f}  {_fits(fit.overall, MOST_OVERALL)}"


def _fits(gap: float, most: float) -> str:
    return f"fits (at most {most:g})" if gap <= most else f"does not fit (more than {most:g})"
