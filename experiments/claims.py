"""README's tables of the main finding, from a stored result folder.

`python -m experiments.claims results/main` prints them; a test holds README to them.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from experiments.findings import Cells, interval, shade_curve, verdict

RALLY = "rally"
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
        words = f", {verdict(cell['low'], cell['high'])}" if sign else ""
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


def read_cells(folder: Path) -> Cells:
    """The cells of a result folder."""
    return Cells(json.loads((folder / "summary.json").read_text("utf-8")))


if __name__ == "__main__":
    print(claim_tables(read_cells(Path(sys.argv[1]))))
