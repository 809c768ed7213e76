"""The claims that README makes: each with the stored folder that it rests on and how to get that.

A value is read from the folder's tables; nothing here is a number.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.claims.tables import RALLY, best_shade, read_cells
from experiments.comparison import verdict_of
from experiments.findings import Cells, interval
from experiments.sensitivity import draws, together, turning
from experiments.store import DESIGNED_FILE, POINTS_FILE
from sim.errors import InputError

MISSED, MORE = "missed_per_100", "points_more_than_middle_per_100"
FEWER = "missed_fewer_than_middle_per_100"
ALL, CORNER = "all places", "corner"
COLLEGE, CLUB, PROFESSIONAL = "college-man", "club-adult", "professional-man"


@dataclass(frozen=True)
class Claim:
    """One claim: its words, the folder in results/, its value and the command that makes that.

    `value` gets the folder and returns the number with its interval as a text. Without a command of
    its own, the folder is a study's and is played again, to the byte, from its resolved study.
    """

    words: str
    folder: str
    value: Callable[[Path], str]
    made_by: str = ""

    @property
    def command(self) -> str:
        """The command that makes the folder."""
        return self.made_by or f"rally-recovery study results/{self.folder}/study.toml --out again"


def of_cell(
    level: str, opponent: str, place: str, policy: str, outcome: str, setting: str = RALLY
) -> Callable[[Path], str]:
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


def counts(policy: str, outcome: str, setting: str = RALLY) -> Callable[[Path], str]:
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


def best_shades(opponent: str) -> Callable[[Path], str]:
    """The best shade of the yardstick by level, all places."""

    def value(folder: Path) -> str:
        cells: Cells = read_cells(folder)
        parts = [f"{v} {best_shade(cells, v, opponent):.1f}" for v in cells.values("level")]
        return ", ".join(parts)

    return value


def designed(folder: Path) -> pd.DataFrame:
    """The cells at the points of a study's factors, with the factors' values."""
    points = pd.read_csv(folder / POINTS_FILE)
    return pd.read_csv(folder / DESIGNED_FILE).merge(points, on=["level", "point"])


def over_points(policy: str, outcome: str, setting: str = RALLY) -> Callable[[Path], str]:
    """The smallest and the largest estimate over all points, and the verdicts."""

    def value(folder: Path) -> str:
        table = rows_of(designed(folder), policy=policy, outcome=outcome, setting=setting)
        found = [verdict_of(row) for row in table.to_dict("records")]
        least, most = table["estimate"].min(), table["estimate"].max()
        return f"{least:+.1f} to {most:+.1f}; {counted(found)}"

    return value


def of_point(policy: str, outcome: str, at: dict[str, Any]) -> Callable[[Path], str]:
    """The value of the one cell with these labels and factors, of whole rallies if not said."""

    def value(folder: Path) -> str:
        where = {"policy": policy, "outcome": outcome, "setting": RALLY, **at}
        rows = rows_of(designed(folder), **where).to_dict("records")
        return said({str(k): v for k, v in rows[0].items()} if len(rows) == 1 else None)

    return value


def turned(setting: str, outcome: str) -> Callable[[Path], str]:
    """The verdicts over the cells of a map."""

    def value(folder: Path) -> str:
        table = rows_of(pd.read_csv(folder / turning.FILE), setting=setting, outcome=outcome)
        return counted(list(table["verdict"]))

    return value


def of_draws(outcome: str) -> Callable[[Path], str]:
    """How an outcome scatters over whole parameter draws, and how often it is not above zero."""

    def value(folder: Path) -> str:
        row = rows_of(pd.read_csv(folder / draws.FILE), outcome=outcome).iloc[0]
        count = round(row["not_better"] * row["draws"])
        return (
            f"{row['mean']:+.1f}, of 100 draws 90 within {row['low_5']:+.1f} and"
            f" {row['high_95']:+.1f}; not above 0 in {count} of {row['draws']:.0f}"
        )

    return value


def most_moving(outcome: str, count: int = 2) -> Callable[[Path], str]:
    """The parameters with the largest shares of the variance, interplay included."""

    def value(folder: Path) -> str:
        table = rows_of(pd.read_csv(folder / together.FILE), outcome=outcome)
        top = table.sort_values("total", ascending=False).head(count)
        parts = [
            f"{r.words} {r.total:.2f} ({r.total_low:.2f} to {r.total_high:.2f})"
            for r in top.itertuples()
        ]
        return "; ".join(parts)

    return value


def lost(policy: str, opponent: str, place: str) -> Callable[[Path], str]:
    """Balls that do not come back against one opponent, more than from the best place."""

    def value(folder: Path) -> str:
        table = pd.read_csv(folder / "losses.csv")
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


CORNER_SCENE = {"level": COLLEGE, "opponent": "habit", "place": CORNER}
SPEED = "studied legs.top_speed_m_s"
DEMO_SHOTS, DEMO_POLICY = "charted", "best-for-belief chart=demo"
CLAIMS: tuple[Claim, ...] = (
    Claim(
        "missed of 100 balls by college men, habit, first ball from the corner: to the middle",
        "main",
        of_cell(COLLEGE, "habit", CORNER, "middle", MISSED),
    ),
    Claim(
        "the same, going to the bisector",
        "main",
        of_cell(COLLEGE, "habit", CORNER, "bisector", MISSED),
    ),
    Claim(
        "points in 100 rallies that the bisector wins more there",
        "main",
        of_cell(COLLEGE, "habit", CORNER, "bisector", MORE),
    ),
    Claim(
        "the same for club players",
        "main",
        of_cell(CLUB, "habit", CORNER, "bisector", MORE),
    ),
    Claim(
        "the bisector against the middle in all cells, by points",
        "main",
        counts("bisector", MORE),
    ),
    Claim(
        "the same by balls missed",
        "main",
        counts("bisector", FEWER),
    ),
    Claim(
        "best shade (m/m) against the hitter who seeks the open court",
        "main",
        best_shades("open-court"),
    ),
    Claim(
        "best shade against fixed habits",
        "main",
        best_shades("habit"),
    ),
    Claim(
        "too far over: shade 0.6, professional men, open-court, all places: points more",
        "main",
        of_cell(PROFESSIONAL, "open-court", ALL, "linear-shade 0.60", MORE),
    ),
    Claim(
        "points more by the bisector, corner, habit, college legs 1 m/s slower (6.5)",
        "footspeed",
        of_point("bisector", MORE, {**CORNER_SCENE, SPEED: 6.5}),
    ),
    Claim(
        "the same, 1 m/s faster (8.5)",
        "footspeed",
        of_point("bisector", MORE, {**CORNER_SCENE, SPEED: 8.5}),
    ),
    Claim(
        "one ball, standing at the spot: missed in 100 from the bisector with legs of 6.5 m/s",
        "footspeed",
        of_point("bisector", MISSED, {**CORNER_SCENE, "setting": "placed", SPEED: 6.5}),
    ),
    Claim(
        "the same from the middle with legs of 8.5 m/s",
        "footspeed",
        of_point("middle", MISSED, {**CORNER_SCENE, "setting": "placed", SPEED: 8.5}),
    ),
    Claim(
        "points more over all legs tried (three levels, three opponents, corner)",
        "footspeed",
        over_points("bisector", MORE),
    ),
    Claim(
        "points more on clay, hard and grass, at 0 and 1600 m, at 10 and 35 degrees",
        "surfaces",
        over_points("bisector", MORE),
    ),
    Claim(
        "points more with each of 69 assumptions at the ends of its range",
        "one-at-a-time",
        over_points("bisector", MORE),
    ),
    Claim(
        "points more over draws of all 69 together",
        "sensitivity",
        of_draws(MORE),
    ),
    Claim(
        "what moves the points most (share of the variance, interplay included)",
        "sensitivity",
        most_moving(MORE),
    ),
    Claim(
        "over contact place, footspeed, ball speed and opponent: points in rallies",
        "turning",
        turned(RALLY, MORE),
    ),
    Claim(
        "the same: balls missed on the way back from an own stroke",
        "turning",
        turned("recovery", FEWER),
    ),
    Claim(
        "points more by knowing the charted player's habits, college men, corner",
        "coach-chart",
        of_cell(COLLEGE, DEMO_SHOTS, CORNER, DEMO_POLICY, MORE),
    ),
    Claim(
        "by the bisector there",
        "coach-chart",
        of_cell(COLLEGE, DEMO_SHOTS, CORNER, "bisector", MORE),
    ),
    Claim(
        "balls in 100 lost to the best reply from the bisector, more than from the best place",
        "against-whom",
        lost("bisector", "best-reply", CORNER),
        "rally-recovery opponents --player college-man --seed 3 --out again",
    ),
)


def claims_table(results: Path) -> str:
    """All claims as a table: claim, value with its 95 % interval, folder, command.

    Raises:
        InputError: a folder is missing or holds no such number.
    """
    lines = ["| claim | value (95 % interval) | folder | made by |", "|---|---|---|---|"]
    for claim in CLAIMS:
        folder = results / claim.folder
        if not folder.exists():
            raise InputError(f"{str(folder)!r} does not exist; make it by: {claim.command}")
        lines.append(
            f"| {claim.words} | {claim.value(folder)} | [{claim.folder}](results/{claim.folder}) |"
            f" `{claim.command}` |"
        )
    return "\n".join(lines)
