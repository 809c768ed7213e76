"""Where a study's points come from, in words and in a table: of its headline cells (where.csv).

Parts are compared for the policy that sentences speak of; what each part brings adds up, split by
split, to the difference in the cell.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from experiments.report.apart import named
from experiments.report.tables import Value, number
from experiments.report.worlds import shown_level
from experiments.statistics.words import DIGITS
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.result_folder import NUMBERS, ResultFolder
from experiments.study.setting_table import SERVE
from experiments.study.where import BALL, BALLS_HERE, MEETING, MISSED_HERE, PLACE

TOLD = (PLACE, BALL, MEETING)  # in sentences; the table has the time to spare as well
CELL = ["setting", "place", "level", "opponent"]


@dataclass(frozen=True)
class WhereTable:
    """The parts of one cell: heads of the columns, and by split a row a part."""

    caption: str
    heads: tuple[str, ...]
    splits: list[tuple[str, list[tuple[str, list[Value]]]]]
    is_open: bool


def compared_policy(results: ResultFolder) -> str | None:
    """The policy whose parts are shown; None where no parts of a difference are held."""
    held = results.where
    others = [] if held.empty else [p for p in held["policy"].unique() if p != results.reference]
    return named(others) if others else None


def where_level(results: ResultFolder) -> str:
    """The level that is shown first: that of the pictures, if it is a headline."""
    held = list(results.where["level"].unique())
    return results.middle_level if results.middle_level in held else str(held[0])


def where_tables(results: ResultFolder) -> list[WhereTable]:
    """A table for each cell; none where no parts are held."""
    policy, reference = compared_policy(results), results.reference
    if policy is None:
        return []
    columns = (
        ("points more, of 100", policy, more_points(reference), True),
        ("missed fewer, of 100", policy, fewer_missed(reference), True),
        ("balls from there in 100 points", reference, BALLS_HERE, False),
        (f"of 100 of them missed: {reference}", reference, MISSED_HERE, False),
        (policy, policy, MISSED_HERE, False),
    )
    out = list[WhereTable]()
    for (setting, place, level, opponent), cell in results.where.groupby(CELL, sort=False):
        splits = [
            (str(split), [(str(p), _values(own, columns)) for p, own in part])
            for split, rows in cell.groupby("split", sort=False)
            for part in [rows.groupby("part", sort=False)]
        ]
        where = "" if place == SERVE else f", {place}"
        caption = f"{setting}{where}: {shown_level(results, str(level))}, {opponent} opponent"
        first = level == where_level(results) and not any(t.is_open for t in out)
        out.append(WhereTable(caption, tuple(c[0] for c in columns), splits, first))
    return out


def _values(part: pd.DataFrame, columns: tuple[tuple[str, str, str, bool], ...]) -> list[Value]:
    out = list[Value]()
    for _, policy, outcome, is_difference in columns:
        rows = part[(part["policy"] == policy) & (part["outcome"] == outcome)]
        said = [
            [number(row[name], is_difference) for name in NUMBERS[:3]]
            for row in rows.dropna(subset=["estimate"]).to_dict("records")
        ]
        out.append(Value(said[0][0], "{} to {}".format(*said[0][1:])) if said else Value())
    return out


def where_sentences(results: ResultFolder, level: str | None = None) -> Iterator[str]:
    """One sentence for each cell (of the given level, if one is): from which places and balls the
    points surely come that the policy wins more or fewer than the reference."""
    policy, reference = compared_policy(results), results.reference
    if policy is None:
        return
    held = results.where
    held = held[(held["policy"] == policy) & (held["outcome"] == more_points(reference))]
    for (setting, place, own_level, opponent), cell in held.groupby(CELL, sort=False):
        if level not in (None, own_level):
            continue
        by_split = dict(list(cell.groupby("split", sort=False)))
        where = "" if place == SERVE else f", {place}"
        said = "; ".join(f"by {split}, {sure_parts(by_split[split])}" for split in TOLD)
        whole = number(by_split[PLACE]["estimate"].sum(), True)
        yield (
            f"{own_level}, {opponent} opponent, {setting}{where}. Where the points come from"
            f" ({policy} less {reference}, {whole} in 100): {said}."
        )


def sure_parts(parts: pd.DataFrame) -> str:
    """The parts whose interval, as it is printed, does not hold zero, and the sum of the others."""
    low, high = (parts[name].round(DIGITS) for name in ("low", "high"))
    sure = (low > 0) | (high < 0)
    said = [
        "{} {} ({} to {})".format(row["part"], *(number(row[name], True) for name in NUMBERS[:3]))
        for row in parts[sure].to_dict("records")
    ]
    others = number(parts[~sure]["estimate"].sum(), True)
    if not said:
        return "no part is sure by itself"
    return ", ".join(said) + ("" if sure.all() else f", the others together {others}")
