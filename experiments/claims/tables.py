"""The tables of the main finding, from a stored result folder."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.tables import read_table
from experiments.report.findings import YARDSTICK, Cells, interval, shade_curve
from experiments.report.tables import choice_cell
from experiments.statistics.comparison import (
    AS_GOOD,
    LOSES,
    NOT_DECIDED,
    NOT_IN_ALL,
    WINS,
    verdict_by_both,
)
from experiments.statistics.signed_words import world_words
from experiments.study.folder_files import CHOICES_FILE, sound
from experiments.study.result_folder import ALL_PLACES, ResultFolder

RALLY, ALL = "rally", ALL_PLACES
MISSED, MORE = "missed_per_100", "points_more_than_middle_per_100"
FEWER = "missed_fewer_than_middle_per_100"
VERDICTS = (WINS, AS_GOOD, NOT_DECIDED, LOSES)
# In the default world alone, where a study was played over worlds.
MORE_VERDICTS = tuple(v + NOT_IN_ALL for v in (WINS, AS_GOOD, LOSES))


def markdown(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table in Markdown."""
    lines = (f"| {' | '.join(row)} |" for row in rows)
    return "\n".join([f"| {' | '.join(heads)} |", "|" + "---|" * len(heads), *lines])


def titled(title: str, table: str, note: str = "") -> str:
    """A table under its title."""
    return f"**{title}**{note}\n\n{table}"


def best_shade(cells: Cells, level: str, opponent: str) -> float:
    """The yardstick's shade that won most points over all places (of those tried)."""
    curve = shade_curve(cells, RALLY, level, opponent, "points_won_per_100")
    return max(curve, key=lambda shade: curve[shade]["estimate"])


def scenes(cells: Cells) -> Iterator[tuple[str, str]]:
    """Each level with each opponent."""
    yield from product(cells.values("level"), cells.values("opponent"))


def claim_row(cells: Cells, level: str, opponent: str, place: str) -> list[str]:
    """One row: missed per 100 balls and points in 100 more than the middle, with intervals."""
    shade = best_shade(cells, level, opponent)
    best = "middle" if shade == 0 else f"{YARDSTICK}{shade:.2f}"

    def said(policy: str, outcome: str, sign: bool = False) -> str:
        cell = cells.get(RALLY, level, opponent, place, policy, outcome)
        if cell is None:
            return "-"
        return compared_words(cell) if sign else interval(cell)

    return [
        level,
        opponent,
        said("middle", MISSED),
        said("bisector", MISSED),
        f"{shade:.1f}: {said(best, MISSED)}",
        said("bisector", MORE, sign=True),
        said(best, MORE, sign=True),
    ]


def compared_words(cell: Mapping[Any, Any]) -> str:
    """A difference: estimate, interval of chance, verdict (by both intervals, where there are two),
    then the interval of worlds."""
    words = f"{interval(cell, sign=True)}, {verdict_by_both(cell)}"
    beside = world_words(cell).removeprefix("but not in all worlds: ")
    return f"{words}, {beside}" if beside else words


def verdicts_in(cells: Iterable[Mapping[Any, Any]]) -> tuple[str, ...]:
    """The verdicts that these cells may have."""
    return (*VERDICTS, *MORE_VERDICTS) if any(c.get("world_verdict") for c in cells) else VERDICTS


def claim_tables(cells: Cells) -> Iterator[str]:
    """The tables for the corner and for all places."""
    heads = ["level", "opponent", "middle misses", "bisector misses", "best shade (m/m) misses"]
    heads += ["bisector wins more", "best shade wins more"]
    for place, title in (("corner", "First ball from the corner"), (ALL, "Over all four places")):
        rows = (claim_row(cells, *scene, place) for scene in scenes(cells))
        yield titled(title, markdown(heads, rows))


def yardstick_table(cells: Cells, title: str, outcome: str, signed: bool) -> str:
    """An outcome over all places for each level, opponent and shade of the yardstick."""
    policies = ["middle", *(p for p in cells.values("policy") if p.startswith(YARDSTICK))]
    shades = ["0 (middle)", *(f"{float(p.split()[-1]):g}" for p in policies[1:])]
    rows = []
    for scene in scenes(cells):
        found = [cells.get(RALLY, *scene, ALL, p, outcome) for p in policies]
        rows.append([*scene, *("0" if c is None else interval(c, signed) for c in found)])
    return titled(title, markdown(["level", "opponent", *shades], rows))


COUNTED = (
    ("placed", FEWER, "one ball, missed"),
    (RALLY, FEWER, "rallies, missed"),
    (RALLY, MORE, "rallies, points"),
)


def count_table(cells: Cells) -> str:
    """How often each policy wins against the middle, by place, level and opponent."""
    rows, verdicts = [], verdicts_in(cells.all)
    for policy in cells.values("policy"):
        if policy == "middle":
            continue
        shown = [policy]
        for setting, outcome, _ in COUNTED:
            wanted = (setting, outcome, policy)
            said = Counter(
                verdict_by_both(c)
                for c in cells.all
                if (c["setting"], c["outcome"], c["policy"]) == wanted and c["place"] != ALL
            )
            shown.append(" / ".join(str(said[w]) for w in verdicts) if said else "-")
        rows.append(shown)
    title = "How often, cell by cell, against the middle"
    table = markdown(["policy", *(head for _, _, head in COUNTED)], rows)
    return titled(title, table, f" ({' / '.join(verdicts)})")


def exception_table(cells: Cells) -> str:
    """The cells in which the bisector does not win, and those in which a policy loses."""
    rows = []
    for c in cells.all:
        said = verdict_by_both(c)
        if (c["setting"], c["outcome"]) != (RALLY, MORE) or c["place"] == ALL or said == WINS:
            continue
        # One who stays loses nearly everywhere: the counts say it.
        if c["policy"] == "bisector" or (said == LOSES and c["policy"] != "stay"):
            labels = (c[name] for name in ("policy", "level", "opponent", "place"))
            rows.append([*labels, interval(c, True), said])
    heads = ("policy", "level", "opponent", "place", "points more", "verdict")
    title = "Where the bisector does not win, and where other policies lose, by points"
    return titled(title, markdown(heads, rows))


def choice_table(choices: pd.DataFrame) -> str:
    """What each modelling choice does to the main finding, from choices.csv."""

    def said(row: Any, name: str, sign: bool = False) -> str:
        return interval(choice_cell(row, name), sign)

    rows = [
        (
            row["choice"],
            said(row, "reference_missed_per_100"),
            said(row, "bisector_missed_per_100"),
            said(row, "bisector_points_more_per_100", True),
            row["best_shade"].split()[-1],
            said(row, "best_shade_points_more_per_100", True),
        )
        for _, row in choices.iterrows()
    ]
    heads = ("model", "middle misses", "bisector misses", "bisector wins more", "best shade")
    return titled("What each modelling choice does", markdown((*heads, "wins more"), rows))


def all_tables(folder: Path) -> str:
    """All tables of a study, from a result folder."""
    cells = read_cells(folder)
    missed = "Missed per 100 over the yardstick of shades, all places"
    points = "Points won per 100 rallies more than by the middle, all places"
    parts = [
        *claim_tables(cells),
        yardstick_table(cells, missed, MISSED, False),
        yardstick_table(cells, points, MORE, True),
        count_table(cells),
        exception_table(cells),
    ]
    if (folder / CHOICES_FILE).exists():
        parts.append(choice_table(read_table(sound(folder, CHOICES_FILE))))
    return "\n\n".join(parts)


def read_cells(folder: Path) -> Cells:
    """The cells of a result folder."""
    return Cells(ResultFolder.read(folder).rows)
