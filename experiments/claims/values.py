"""Values of claims: each function gives one that reads a stored folder and says the number."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.claims.tables import ALL, RALLY, best_shade, read_cells
from experiments.evidence.sensitivity import draws, together, turning
from experiments.output.tables import read_table
from experiments.report.findings import Cells, interval
from experiments.statistics.comparison import verdict_of
from experiments.study.store import DESIGNED_FILE, POINTS_FILE
from experiments.study.stored import sound
from sim.errors import InputError

Value = Callable[[Path], str]


def of_cell(
    level: str, opponent: str, place: str, policy: str, outcome: str, setting: str = RALLY
) -> Value:
    """The value of one cell, with the verdict where it is a difference."""

    def value(folder: Path) -> str:
        cell = read_cells(folder).get(setting, level, opponent, place, policy, outcome)
        return said(cell)

    return value


def said(cell: dict[str, Any] | None) -> str:
    """A cell as estimate, interval and, for a difference, the verdict.

    Raises:
        InputError: there is no such cell.
    """
    if cell is None:
        raise InputError("a claim names a cell that its folder does not hold; run that study again")
    if "_than_" not in cell["outcome"]:
        return interval(cell)
    return f"{interval(cell, sign=True)}, {verdict_of(cell)}"


def counts(policy: str, outcome: str, setting: str = RALLY) -> Value:
    """How many cells of a policy win, are as good, not decided or lose, all places apart."""

    def value(folder: Path) -> str:
        found = [
            verdict_of(c)
            for c in read_cells(folder).all
            if (c["policy"], c["outcome"], c["setting"]) == (policy, outcome, setting)
            and c["place"] != ALL
        ]
        return counted(found)

    return value


def counted(verdicts: list[str]) -> str:
    """Verdicts as counts of all."""
    words = ("wins", "as good", "not decided", "loses")
    found = Counter(verdicts)
    parts = [f"{w} {found[w]}" for w in words if found[w]]
    return f"{', '.join(parts)} of {len(verdicts)}"


def best_shades(opponent: str) -> Value:
    """The best shade of the yardstick by level, all places."""

    def value(folder: Path) -> str:
        cells: Cells = read_cells(folder)
        parts = [f"{v} {best_shade(cells, v, opponent):.1f}" for v in cells.values("level")]
        return ", ".join(parts)

    return value


def designed(folder: Path) -> pd.DataFrame:
    """The cells at the points of a study's factors, with the factors' values."""
    points = read_table(sound(folder, POINTS_FILE))
    return read_table(sound(folder, DESIGNED_FILE)).merge(points, on=["level", "point"])


def over_points(policy: str, outcome: str, setting: str = RALLY) -> Value:
    """The smallest and the largest estimate over all points, and the verdicts."""

    def value(folder: Path) -> str:
        table = rows_of(designed(folder), policy=policy, outcome=outcome, setting=setting)
        found = [verdict_of(row) for row in table.to_dict("records")]
        least, most = table["estimate"].min(), table["estimate"].max()
        return f"{least:+.1f} to {most:+.1f}; {counted(found)}"

    return value


def of_point(policy: str, outcome: str, at: dict[str, Any]) -> Value:
    """The value of the one cell with these labels and factors, of whole rallies if not said."""

    def value(folder: Path) -> str:
        where = {"policy": policy, "outcome": outcome, "setting": RALLY, **at}
        rows = rows_of(designed(folder), **where).to_dict("records")
        return said({str(k): v for k, v in rows[0].items()} if len(rows) == 1 else None)

    return value


def turned(setting: str, outcome: str) -> Value:
    """The verdicts over the cells of a map."""

    def value(folder: Path) -> str:
        table = rows_of(read_table(sound(folder, turning.FILE)), setting=setting, outcome=outcome)
        return counted(list(table["verdict"]))

    return value


def of_draws(outcome: str) -> Value:
    """How an outcome scatters over whole parameter draws, and how often it is not above zero."""

    def value(folder: Path) -> str:
        row = rows_of(read_table(sound(folder, draws.FILE)), outcome=outcome).iloc[0]
        count = round(row["not_better"] * row["draws"])
        return (
            f"{row['mean']:+.1f}, of 100 draws 90 within {row['low_5']:+.1f} and"
            f" {row['high_95']:+.1f}; not above 0 in {count} of {row['draws']:.0f}"
        )

    return value


def most_moving(outcome: str, count: int = 2) -> Value:
    """The parameters with the largest shares of the variance, interplay included."""

    def value(folder: Path) -> str:
        table = rows_of(read_table(sound(folder, together.FILE)), outcome=outcome)
        top = table.sort_values("total", ascending=False).head(count)
        parts = [
            f"{r.words} {r.total:.2f} ({r.total_low:.2f} to {r.total_high:.2f})"
            for r in top.itertuples()
        ]
        return "; ".join(parts)

    return value


def lost(policy: str, opponent: str, place: str) -> Value:
    """Balls that do not come back against one opponent, more than from the best place."""

    def value(folder: Path) -> str:
        table = read_table(sound(folder, "losses.csv"))
        row = rows_of(table, policy=policy, opponent=opponent, place=place).iloc[0]
        interval_said = f"{row['returned_low']:.1f} to {row['returned_high']:.1f}"
        return f"{row['returned_per_100']:.1f} ({interval_said})"

    return value


def rows_of(table: pd.DataFrame, **labels: Any) -> pd.DataFrame:
    """The rows of a table with these values."""
    for name, wanted in labels.items():
        table = table[table[name] == wanted]
    if table.empty:
        raise InputError(f"no row with {labels}; run the study of this claim again")
    return table
