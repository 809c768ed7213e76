"""`python -m experiments.claims.in_and_out`: the tables of depth and net, from stored folders.

The folders are those that `rally-recovery depth --out` and `rally-recovery net --out` write.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import click
import pandas as pd

from experiments.answers.depth.short_balls import NO_SHORT, PAYS, USUAL
from experiments.answers.net.answer import NAMED
from experiments.answers.net.turning import CORNER
from experiments.claims.tables import markdown
from experiments.output.tables import read_table
from experiments.statistics.words import said

DEPTH, NET = "how-far-back", "at-the-net"


class Ends(NamedTuple):
    """A number with its interval."""

    value: float
    low: float
    high: float


def ends(row: pd.Series, name: str) -> Ends:
    """A column and those of its interval."""
    return Ends(*(float(row[name + end]) for end in ("", "_low", "_high")))


def who(row: pd.Series, names: tuple[str, ...]) -> str:
    return ", ".join(str(row[name]) for name in names)


def depth_table(results: Path) -> str:
    """The best depth by case, and what usual and most reached depths lose."""
    best = read_table(results / DEPTH / "best.csv")
    keys, rows = ("player", "surface", "hitter"), []
    for _, cell in best.groupby(list(keys), sort=False):
        by_case = {row["case"]: row for _, row in cell.iterrows()}
        pays, none = by_case[PAYS], by_case[NO_SHORT]
        depths = (_depth(by_case[case]) for case in (NO_SHORT, USUAL, PAYS))
        loses = said(ends(none, "most_reached_loses_per_100"))
        away = f"{none['most_reached_depth_m']:.1f} m: {loses}"
        rows.append([who(pays, keys), *depths, said(ends(pays, "usual_loses_per_100")), away])
    heads = ["player, court, opponent", "no short balls", "as usual", "when they pay"]
    lost = ["usual depth loses", "without them most balls are reached at, and that loses"]
    return markdown([*heads, *lost], rows)


def _depth(row: pd.Series) -> str:
    low, high = row["best_depth_low_m"], row["best_depth_high_m"]
    return said(Ends(row["best_depth_m"], low, high))


def adaptive_table(results: Path) -> str:
    """Points and balls reached of policies that choose their depth, less the best fixed place."""
    adaptive = read_table(results / DEPTH / "adaptive.csv")
    keys, rows, names = ("player", "surface", "hitter"), [], []
    for _, cell in adaptive.groupby(list(keys), sort=False):
        fixed, others = cell.iloc[0], cell.iloc[1:]
        names = [str(row["recovery"]) for _, row in others.iterrows()]
        place = f"{fixed['recovery']}, {fixed['fixed_depth_m']:.1f} m"
        more = (
            f"{said(ends(row, 'points_more_per_100'))}; {said(ends(row, 'reached_more_per_100'))}"
            for _, row in others.iterrows()
        )
        rows.append([who(fixed, keys), place, *more])
    heads = ["player, court, opponent", "best fixed place"]
    return markdown([*heads, *(f"{name}: points; balls" for name in names)], rows)


def hits(opponent: object) -> str:
    """The opponent's shot model without what a case adds to it."""
    return str(opponent).partition(" ")[0]


def net_table(results: Path, surface: str = "hard") -> str:
    """Points that the named places lose to the best one across, by player and way of passing."""
    places = read_table(results / NET / "places.csv")
    rows = []
    here = places[places["surface"] == surface]
    for (level, opponent, way), cell in here.groupby(["level", "opponent", "passes"], sort=False):
        named = {row["name"]: row for _, row in cell.iterrows()}
        lost = [said(ends(named[name], "points_loss_per_100")) for name in NAMED]
        rows.append([f"{level}, {hits(opponent)}", str(way), *lost])
    return markdown(["player, opponent", "passes", *NAMED], rows)


def turning_table(results: Path, level: str = "college-man", surface: str = "hard") -> str:
    """Bisector and measured best place by distance from the net, the ball unhurried in the
    corner; minus is the other side from the ball."""
    turning = read_table(results / NET / "turning.csv")
    here = (turning["level"] == level) & (turning["surface"] == surface)
    here &= turning["contact"] == CORNER
    rows: dict[float, list[str]] = {}
    heads = ["m from the net", "middle of the angle"]
    for (opponent, way), cell in turning[here].groupby(["opponent", "passes"], sort=False):
        heads.append(f"{hits(opponent)}, passes {way}")
        for _, row in cell.iterrows():
            start = [f"{row['from_net_m']:g}", f"{row['bisector_x_m']:.1f}"]
            best = said(Ends(row["best_x_m"], row["low_x_m"], row["high_x_m"]))
            rows.setdefault(row["from_net_m"], start).append(best)
    return markdown(heads, list(rows.values()))


TABLES = (depth_table, adaptive_table, net_table, turning_table)


@click.command()
@click.argument("results", type=click.Path(path_type=Path), default=Path("results"))
def main(results: Path) -> None:
    """The tables of depth and net."""
    for table in TABLES:
        click.echo(f"{table(results)}\n")


if __name__ == "__main__":
    main()
