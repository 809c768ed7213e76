"""What the report shows of a designed study: its factors, and the results over all points in short.

A study of many points would fill thousands of tables; its numbers are in cells.csv, and its
pictures tell more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from experiments.report.summary import View, counted
from experiments.report.tables import number
from experiments.report.worlds import in_worlds
from experiments.study.columns import factor_words
from experiments.study.factor_names import OF_SIDES
from experiments.study.result_folder import ResultFolder

MOST_LEVELS = 8
NOT_FACTORS = ("level", "point", "role")
DESIGN_WORDS = {
    "grid": "every combination",
    "one-at-a-time": "one factor at a time",
    "latin-hypercube": "a Latin hypercube",
    "sobol": "a Sobol sequence",
    "sobol-indices": "samples for Sobol's indices",
}


@dataclass(frozen=True)
class Factor:
    """One factor: its name, of whom, its unit, what it is, its levels or range in words."""

    name: str
    of: str
    unit: str
    about: str
    values: str


@dataclass(frozen=True)
class Line:
    """One policy, opponent and place over all points: the difference's least, median and greatest
    estimate, and how often it wins, is as good, loses, is not decided."""

    policy: str
    opponent: str
    place: str
    least: str
    median: str
    greatest: str
    counts: dict[str, int]


@dataclass(frozen=True)
class DesignTable:
    """The design of a study and its results in short."""

    points: int
    how: str
    factors: list[Factor]
    outcome: str
    setting: str
    lines: list[Line]


def design_table(results: ResultFolder) -> DesignTable | None:
    """The design of a study; None for one without factors."""
    if results.points.empty or in_worlds(results):
        return None
    view = View.of(results)
    design = str(results.study.get("factors", {}).get("design", ""))
    return DesignTable(
        results.points["point"].nunique(),
        DESIGN_WORDS.get(design, design),
        list(factors(results.points)),
        view.outcome.replace("_", " ") if view else "",
        view.setting if view else "",
        list(lines(view)) if view else [],
    )


def factors(points: pd.DataFrame) -> Iterator[Factor]:
    """The factors, from the table of points."""
    for label in points.columns:
        if label in NOT_FACTORS:
            continue
        side, _, name = str(label).rpartition(" ")
        unit, about = factor_words(str(label))
        of = f"{side} player" if side else ("both players" if name in OF_SIDES else "surroundings")
        yield Factor(name, of, "" if unit == "1" else unit, about, levels_of(points[label]))


def levels_of(values: pd.Series) -> str:
    """The levels, or the range of many numbers."""
    held = list(dict.fromkeys(values.dropna()))
    numeric = pd.api.types.is_numeric_dtype(values) and not pd.api.types.is_bool_dtype(values)
    if len(held) <= MOST_LEVELS or not numeric:
        shown = sorted(held) if numeric else held
        words = [f"{v:.4g}" if numeric else str(v) for v in shown[:MOST_LEVELS]]
        rest = len(held) - len(words)
        return ", ".join(words) + (f" and {rest} more" if rest else "")
    return f"{min(held):.4g} to {max(held):.4g} ({len(held)} values)"


def lines(view: View) -> Iterator[Line]:
    """A line for each policy, opponent and place."""
    cells = view.designed()
    if cells.empty:
        return
    for key, part in cells.groupby(["policy", "opponent", "place"], sort=False):
        least, median, greatest = (
            number(float(part["estimate"].quantile(q)), True) for q in (0, 0.5, 1)
        )
        policy, opponent, place = map(str, key)
        yield Line(policy, opponent, place, least, median, greatest, dict(counted(part)))
