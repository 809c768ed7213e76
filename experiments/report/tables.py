"""Tables of the report: cells as rows of text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from experiments.report.apart import IN_TIME, POINTS, PURPOSE, Figure, figures, scaled
from experiments.report.apart import NUMBERS as NUMBERS_APART
from experiments.report.findings import Cells
from experiments.report.worlds import shown_level
from experiments.statistics.comparison import verdict_by_both
from experiments.study.cells import SCENE
from experiments.study.outcome_names import more_points
from experiments.study.result_folder import ALL_PLACES, NUMBERS, ResultFolder
from experiments.study.setting_table import nearest_to_play

MINUS = "\u2212"
GAIN = "pairing_gain"


@dataclass(frozen=True)
class Value:
    """One cell of a table: the number, its intervals of chance and (if played in some) of worlds,
    for a difference the verdict, and beside points the balls of 100 that were reached in time."""

    estimate: str = "\u2013"
    interval: str = ""
    verdict: str = ""
    worlds: str = ""
    in_time: str = ""


@dataclass(frozen=True)
class Group:
    """The rows of one opponent: (policy, a value a place)."""

    name: str
    rows: list[tuple[str, list[Value]]]


@dataclass(frozen=True)
class Table:
    """One outcome in one scenario: places across, opponents and policies down."""

    caption: str
    places: list[str]
    groups: list[Group]
    is_open: bool
    note: str = ""


def number(value: float, signed: bool = False) -> str:
    """One decimal, with a true minus sign; what rounds to zero has no sign."""
    rounded = round(value, 1)
    rounded = 0.0 if rounded == 0 else rounded
    return f"{rounded:{'+' if signed and rounded else ''}.1f}".replace("-", MINUS)


def value_of(cell: Mapping[Any, Any], is_difference: bool) -> Value:
    """The table cell of one cell of the study."""
    estimate, low, high = (number(cell[name], is_difference) for name in NUMBERS[:3])
    said, worlds = verdict_by_both(cell) if is_difference else "", ""
    if pd.notna(cell.get("world_low")) and pd.notna(cell.get("world_high")):
        ends = (number(cell[name], is_difference) for name in ("world_low", "world_high"))
        worlds = "worlds {} to {}".format(*ends)
    share = cell.get(IN_TIME)
    in_time = f"{number(100 * share)} in time" if pd.notna(share) else ""
    return Value(estimate, f"{low} to {high}", said, worlds, in_time)


def with_in_time(results: ResultFolder, outcome: str) -> pd.DataFrame:
    """The cells of an outcome; of points with the share of balls reached in time beside each."""
    cells = results.pick(outcome=outcome)
    if outcome not in (POINTS, more_points(results.reference)):
        return cells
    labels = ["policy", *SCENE]
    shares = results.pick(outcome=IN_TIME).set_index(labels)["estimate"]
    at = pd.MultiIndex.from_frame(cells[labels])
    return cells.assign(**{IN_TIME: shares.reindex(at).to_numpy()})


def outcome_tables(results: ResultFolder, outcome: str, is_difference: bool) -> list[Table]:
    """A table for each setting, own stroke and level that holds the outcome; the yardstick's
    policies stand in those of differences alone, from which the others follow.

    Open is the first of the setting nearest to play and of the pictures' level.
    """
    cells, out = with_in_time(results, outcome), list[Table]()
    policies = results.policies if is_difference else results.named
    settings = list(cells["setting"].unique())
    nearest = nearest_to_play(settings) if settings else ""
    for (setting, own), part in cells.groupby(["setting", "own_stroke"], sort=False):
        for level, of_level in part.groupby("level", sort=False):
            first = setting == nearest and not any(t.is_open for t in out)
            places = list(of_level["place"].unique())
            parts = [(of_level[of_level["place"] == place], is_difference) for place in places]
            after = f", after own stroke {own}" if own else ""
            out.append(
                Table(
                    f"{setting}{after}: {shown_level(results, str(level))}",
                    places,
                    list(side_by_side(parts, of_level["opponent"].unique(), policies)),
                    first and level == results.middle_level,
                )
            )
    return out


def side_by_side(
    parts: Sequence[tuple[pd.DataFrame, bool]], opponents: Iterable[str], policies: Sequence[str]
) -> Iterator[Group]:
    """The rows of each opponent, a column a part: (cells, whether they are differences)."""
    columns = [
        {(c["opponent"], c["policy"]): value_of(c, signed) for c in part.to_dict("records")}
        for part, signed in parts
    ]
    for opponent in opponents:
        rows = [
            (policy, [column.get((opponent, policy), Value()) for column in columns])
            for policy in policies
            if any((opponent, policy) in column for column in columns)
        ]
        if rows:
            yield Group(str(opponent), rows)


SHORT_COLUMNS = (
    ("missed_per_100", "balls missed", False),
    ("points_more_than_middle_per_100", "points more", True),
)


def short_table(results: ResultFolder) -> Table:
    """The study at a glance: the setting nearest to play, the middle level, the named policies;
    balls missed, and points won against the reference, from the corner and over all places. Of
    whole points that open with a serve, the numbers that are kept apart."""
    if apart := figures(Cells(results.rows)):
        return apart_table(results, [f for of in apart.values() for f in of])
    setting = nearest_to_play(results.names("setting"))
    cells = pd.concat([with_in_time(results, outcome) for outcome, _, _ in SHORT_COLUMNS])
    cells = cells[(cells["setting"] == setting) & (cells["level"] == results.middle_level)]
    cells = cells[cells["own_stroke"] == next(iter(cells["own_stroke"]), "")]
    cells = cells[cells["policy"].isin(results.named)]
    held = list(cells["place"].unique())
    places = [p for p in (results.corner, ALL_PLACES) if p in held] or held[:1]
    parts, heads = [], []
    for outcome, words, is_difference in SHORT_COLUMNS:
        chosen = cells[cells["outcome"] == outcome]
        for place in places if len(chosen) else ():
            heads.append(f"{words}, {place}")
            parts.append((chosen[chosen["place"] == place], is_difference))
    own = cells["own_stroke"].iloc[0] if len(cells) else ""
    level = shown_level(results, results.middle_level)
    caption = f"{setting}{f', after own stroke {own}' if own else ''}: {level}"
    return Table(
        caption, heads, list(side_by_side(parts, results.names("opponent"), results.named)), True
    )


APART_NOTE = (
    "Three numbers apart. "
    + " ".join(f"{NUMBERS_APART[number]}: {words}." for number, words in PURPOSE.items())
    + " Points won of 100, and balls reached in time of 100 that landed in, serves left out. The"
    " larger, the better."
)


def apart_table(results: ResultFolder, of: Sequence[Figure]) -> Table:
    """The numbers that are kept apart, side by side: the middle level, the named policies."""
    parts = []
    for f in of:
        cells = results.pick(setting=f.setting, level=results.middle_level, outcome=f.outcome)
        cells = cells[(cells["place"] == f.place) & (cells["own_stroke"] == (f.own_stroke or ""))]
        parts.append((scaled(cells, f.factor), False))
    groups = list(side_by_side(parts, results.names("opponent"), results.named))
    caption = shown_level(results, results.middle_level)
    return Table(caption, [f.words for f in of], groups, True, APART_NOTE)


@dataclass(frozen=True)
class ChoicesTable:
    """What each modelling choice does: heads of the columns, and a row for each choice."""

    heads: list[str]
    rows: list[tuple[str, list[Value]]]


CHOICE_COLUMNS = (
    ("{reference} misses", "reference_missed_per_100", False),
    ("bisector misses", "bisector_missed_per_100", False),
    ("best shade misses", "best_shade_missed_per_100", False),
    ("bisector, points more", "bisector_points_more_per_100", True),
    ("best shade, points more", "best_shade_points_more_per_100", True),
)


def choices_table(results: ResultFolder) -> ChoicesTable | None:
    """The modelling choices of the study, None if it tried none."""
    found = results.choices
    shown = [c for c in CHOICE_COLUMNS if c[1] in found.columns]
    if found.empty:
        return None
    heads = [head.format(reference=results.reference) for head, _, _ in shown]
    rows = []
    for row in found.to_dict("records"):
        values = [value_of(choice_cell(row, name), signed) for _, name, signed in shown]
        if "best_shade" in found.columns:
            values.append(Value(str(row["best_shade"]).rpartition(" ")[2]))
        rows.append((str(row["choice"]), values))
    return ChoicesTable(heads + ["best shade"] * ("best_shade" in found.columns), rows)


@dataclass(frozen=True)
class Turned:
    """What the modelling choices do to the bisector's lead in points over the reference: the least
    and the greatest (choice, value), and the choices under which it does not win."""

    least: tuple[str, Value]
    greatest: tuple[str, Value]
    against: list[tuple[str, Value]]


def turned(results: ResultFolder) -> Turned | None:
    """How far the modelling choices move the finding; None if the study tried none."""
    name = "bisector_points_more_per_100"
    if name not in results.choices.columns:
        return None
    rows = results.choices.dropna(subset=[name]).sort_values(name, kind="stable").to_dict("records")
    said = [(str(row["choice"]), value_of(choice_cell(row, name), True)) for row in rows]
    return Turned(said[0], said[-1], [s for s in said if s[1].verdict != "wins"]) if said else None


def choice_cell(row: Mapping[Any, Any], name: str) -> dict[str, Any]:
    """An outcome of a row of choices.csv as a cell."""
    ends = {"estimate": "", "low": "_low", "high": "_high", "verdict": "_verdict"}
    return {part: row.get(f"{name}{end}") for part, end in ends.items()}


def verdict_counts(tables: Sequence[Table]) -> list[tuple[str, str, dict[str, int]]]:
    """For each setting and policy how often it wins, is as good, loses or is not decided."""
    counts: dict[tuple[str, str], Counter[str]] = {}
    for table in tables:
        setting = table.caption.split(":")[0].split(",")[0]
        held = [i for i, place in enumerate(table.places) if place != ALL_PLACES]
        for group in table.groups:
            for policy, values in group.rows:
                words = [values[i].verdict for i in held if values[i].verdict]
                counts.setdefault((setting, policy), Counter()).update(words)
    return [(setting, policy, dict(count)) for (setting, policy), count in counts.items()]


@dataclass(frozen=True)
class Pairing:
    """What the same chance for both policies gains: the variance of the unpaired difference over
    that of the paired one; in the middle cell, the least and the greatest."""

    median: str
    least: str
    greatest: str


def pairing(results: ResultFolder, outcome: str) -> Pairing | None:
    """The gain from pairing in an outcome; None if the cells do not say."""
    if GAIN not in results.cells.columns:
        return None
    cells = results.pick(outcome=outcome)
    gains = pd.to_numeric(cells.loc[cells["place"] != ALL_PLACES, GAIN]).dropna()
    if gains.empty:
        return None
    return Pairing(*(f"{float(gains.quantile(q)):.3g}" for q in (0.5, 0, 1)))
