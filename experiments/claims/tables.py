"""README's tables of the main finding, from a stored result folder."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.tables import read_table
from experiments.report.findings import YARDSTICK, Cells, interval, shade_curve
from experiments.statistics.comparison import verdict_of
from experiments.study.result_folder import ALL_PLACES, ResultFolder
from experiments.study.store import CHOICES_FILE
from experiments.study.stored import sound

RALLY, ALL = "rally", ALL_PLACES
HEAD = (
    "| level | opponent | middle misses | bisector misses | best shade (m/m) misses"
    " | bisector wins more | best shade wins more |\n|---|---|---|---|---|---|---|"
)


def best_shade(cells: Cells, level: str, opponent: str) -> float:
    """The yardstick's shade that won most points over all places (of those tried)."""
    curve = shade_curve(cells, RALLY, level, opponent, "points_won_per_100")
    return max(curve, key=lambda shade: curve[shade]["estimate"])


def claim_row(cells: Cells, level: str, opponent: str, place: str) -> str:
    """One row: missed per 100 balls and points in 100 more than the middle, with intervals."""
    shade = best_shade(cells, level, opponent)
    best = "middle" if shade == 0 else f"linear-shade {shade:.2f}"

    def said(policy: str, outcome: str, sign: bool = False) -> str:
        cell = cells.get(RALLY, level, opponent, place, policy, outcome)
        if cell is None:
            return "-"
        words = f", {verdict_of(cell)}" if sign else ""
        return interval(cell, sign) + words

    missed, more = "missed_per_100", "points_more_than_middle_per_100"
    parts = [
        level,
        opponent,
        said("middle", missed),
        said("bisector", missed),
        f"{shade:.1f}: {said(best, missed)}",
        said("bisector", more, sign=True),
        said(best, more, sign=True),
    ]
    return f"| {' | '.join(parts)} |"


def claim_tables(cells: Cells) -> str:
    """The tables for the corner and for all places."""
    out = []
    titles = (("corner", "First ball from the corner"), ("all places", "Over all four places"))
    for place, title in titles:
        rows = [
            claim_row(cells, level, opponent, place)
            for level in cells.values("level")
            for opponent in cells.values("opponent")
        ]
        out.append("\n".join([f"**{title}**", "", HEAD, *rows]))
    return "\n\n".join(out)


def yardstick_table(cells: Cells, title: str, outcome: str, signed: bool) -> str:
    """An outcome over all places for each level, opponent and shade of the yardstick."""
    policies = ["middle", *(p for p in cells.values("policy") if p.startswith(YARDSTICK))]
    shades = ["0 (middle)", *(f"{float(p.split()[-1]):g}" for p in policies[1:])]
    lines = [f"**{title}**", "", f"| level | opponent | {' | '.join(shades)} |"]
    lines.append("|" + "---|" * (2 + len(policies)))
    for level in cells.values("level"):
        for opponent in cells.values("opponent"):
            found = [cells.get(RALLY, level, opponent, ALL, p, outcome) for p in policies]
            shown = ["0" if c is None else interval(c, signed) for c in found]
            lines.append(f"| {level} | {opponent} | {' | '.join(shown)} |")
    return "\n".join(lines)


COUNTED = (
    ("placed", "missed_fewer_than_middle_per_100", "one ball, missed"),
    (RALLY, "missed_fewer_than_middle_per_100", "rallies, missed"),
    (RALLY, "points_more_than_middle_per_100", "rallies, points"),
)
WORDS = ("wins", "as good", "not decided", "loses")


def count_table(cells: Cells) -> str:
    """How often each policy wins against the middle, by place, level and opponent."""
    heads = [head for _, _, head in COUNTED]
    lines = [
        "**How often, cell by cell, against the middle** (wins / as good / not decided / loses)"
    ]
    lines += ["", f"| policy | {' | '.join(heads)} |", "|" + "---|" * (1 + len(heads))]
    for policy in cells.values("policy"):
        if policy == "middle":
            continue
        shown = []
        for setting, outcome, _ in COUNTED:
            said = Counter(
                verdict_of(c)
                for c in cells.all
                if (c["setting"], c["outcome"], c["policy"]) == (setting, outcome, policy)
                and c["place"] != ALL
            )
            shown.append(" / ".join(str(said[w]) for w in WORDS) if said else "-")
        lines.append(f"| {policy} | {' | '.join(shown)} |")
    return "\n".join(lines)


def exception_table(cells: Cells) -> str:
    """The cells in which the bisector does not win, and those in which a policy loses."""
    lines = ["**Where the bisector does not win, and where other policies lose, by points**", ""]
    lines += ["| policy | level | opponent | place | points more | verdict |", "|" + "---|" * 6]
    for c in cells.all:
        if (c["setting"], c["outcome"]) != (RALLY, COUNTED[2][1]) or c["place"] == ALL:
            continue
        said = verdict_of(c)
        if said == "wins" or (c["policy"] != "bisector" and said != "loses"):
            continue
        if c["policy"] != "stay":  # loses nearly everywhere: the counts say it
            labels = " | ".join(c[name] for name in ("policy", "level", "opponent", "place"))
            lines.append(f"| {labels} | {interval(c, True)} | {said} |")
    return "\n".join(lines)


def choice_table(choices: pd.DataFrame) -> str:
    """What each modelling choice does to the main finding, from choices.csv."""

    def said(row: Any, name: str, sign: str = "") -> str:
        value, low, high = (row[f"{name}{end}"] for end in ("", "_low", "_high"))
        return f"{value:{sign}.1f} ({low:{sign}.1f} to {high:{sign}.1f})"

    lines = ["**What each modelling choice does**", ""]
    lines.append(
        "| model | middle misses | bisector misses | bisector wins more | best shade | wins more |"
    )
    lines.append("|" + "---|" * 6)
    for _, row in choices.iterrows():
        parts = (
            row["choice"],
            said(row, "reference_missed_per_100"),
            said(row, "bisector_missed_per_100"),
            said(row, "bisector_points_more_per_100", "+"),
            row["best_shade"].split()[-1],
            said(row, "best_shade_points_more_per_100", "+"),
        )
        lines.append(f"| {' | '.join(parts)} |")
    return "\n".join(lines)


def all_tables(folder: Path) -> str:
    """All tables that README shows, from a result folder."""
    cells = read_cells(folder)
    missed = yardstick_table(
        cells, "Missed per 100 over the yardstick of shades, all places", "missed_per_100", False
    )
    points = yardstick_table(
        cells,
        "Points won per 100 rallies more than by the middle, all places",
        "points_more_than_middle_per_100",
        True,
    )
    parts = [claim_tables(cells), missed, points, count_table(cells), exception_table(cells)]
    if (folder / CHOICES_FILE).exists():
        parts.append(choice_table(read_table(sound(folder, CHOICES_FILE))))
    return "\n\n".join(parts)


def read_cells(folder: Path) -> Cells:
    """The cells of a result folder."""
    return Cells(ResultFolder.read(folder).rows)
