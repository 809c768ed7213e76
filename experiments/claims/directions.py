"""`python -m experiments.claims.directions`: where the verdict turns with where balls go.

Reads a stored study whose grid varies how often a hitter of habit goes down the line and short
crosscourt; prints a table and, with `--figure`, draws the verdicts over the shares from the corner,
with what published sources have. The shares are those of the forehand there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.claims.register import mapped
from experiments.claims.shown import command
from experiments.claims.tables import MORE, compared_words, markdown
from experiments.drawing import style
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, WINS
from sim.belief import CORNER_X_M, DOWN_THE_LINE, SHORT_ANGLE
from sim.contracts import ShotSituation, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.players import player
from sim.records import FOREHAND
from sim.world import World
from strategies.shots.habit import Habit

LINE_GAIN, SHORT_GAIN = "opponent shots.line_gain", "opponent shots.short_gain"
SETTINGS = {
    "rally": "first ball from the corner",
    "returning": "whole points, returning",
    "serving": "whole points, serving",
}
LOOKS = {
    WINS: (style.BLUE, "o", "bisector wins"),
    AS_GOOD: (style.GREEN, "s", "as good"),
    NOT_DECIDED: (style.FAINT, "o", "not decided"),
    LOSES: (style.VERMILLION, "X", "middle wins"),
}


@dataclass(frozen=True)
class Source:
    """What a source has of balls from the corner: shares down the line and, if known, short
    crosscourt; else how its line is drawn."""

    name: str
    line: float
    short: float | None = None
    dash: str = ""


# Professional men, 3 to 4 m off the centre, landed balls: Tennis Australia, contest of 2017-18,
# computed; groundstrokes from everywhere: Match Charting Project, computed; a coaching article on
# seven right-handed men, second hand.
SOURCES = (
    Source("tracked ends", 0.26, 0.10),
    Source("charted matches", 0.15, dash="--"),
    Source("coaching article", 0.19, dash=":"),
)


def shares(gains: np.ndarray) -> np.ndarray:
    """Shares down the line and short crosscourt (n, 2) of a forehand from the corner, with such
    factors (n, 2) on them, as the hitter of habit itself has them."""
    someone, one = player("professional-man"), np.ones(1)
    contact = contacts_at(CORNER_X_M * one, -HALF_LENGTH_M * one, one, np.array([FOREHAND]), 1.0)
    nobody = bodies_at(0.0 * one, HALF_LENGTH_M * one)
    seen = ShotSituation(someone, someone, World().turned_numbers, contact, nobody)
    hitters = (Habit(line_gain=float(line), short_gain=float(short)) for line, short in gains)
    return np.array([h.shares(seen)[0, [DOWN_THE_LINE, SHORT_ANGLE]] for h in hitters])


def cells(folder: Path) -> pd.DataFrame:
    """The points that the bisector wins more at each point of the grid, with `line` and `short`.

    Raises:
        InputError: the folder holds no such grid.
    """
    table = mapped(folder)
    if not {LINE_GAIN, SHORT_GAIN} <= set(table.columns):
        raise InputError(f"{str(folder)!r} varies no directions; run `study directions`")
    table = table[table["outcome"] == MORE].copy()
    gains = table[[LINE_GAIN, SHORT_GAIN]].drop_duplicates()
    gains[["line", "short"]] = shares(gains.to_numpy(float))
    return table.merge(gains, on=[LINE_GAIN, SHORT_GAIN])


def directions_table(table: pd.DataFrame) -> str:
    """Points more by the bisector over the share down the line, short balls as usual."""
    rows = []
    usual = table[table[SHORT_GAIN] == 1.0]
    for (level, _), group in usual.groupby(["level", "line"], sort=False):
        by = {row["setting"]: row for row in group.to_dict("records")}
        values = [compared_words(by[s]) for s in SETTINGS]
        rows.append([str(level), f"{100 * group['line'].iloc[0]:.0f}", *values])
    return markdown(
        ["level", "of 100 balls from the corner down the line", *SETTINGS.values()], rows
    )


def directions_figure(table: pd.DataFrame) -> Figure:
    """Verdicts over the two shares, a column of panels a setting and a row a level."""
    levels = list(dict.fromkeys(table["level"]))
    with style.house_style():
        size = (style.WIDTH_IN, 1.75 * len(levels) + 1.15)
        figure = Figure(figsize=size, layout="constrained")
        panels = figure.subplots(
            len(levels), len(SETTINGS), squeeze=False, sharex=True, sharey=True
        )
        for row, level in zip(panels, levels, strict=True):
            for ax, setting in zip(row, SETTINGS, strict=True):
                draw(ax, table[(table["level"] == level) & (table["setting"] == setting)])
            row[0].set_ylabel(level, fontweight="bold")
        for ax, words in zip(panels[0], SETTINGS.values(), strict=True):
            ax.set_title(words.replace(", ", ",\n").replace("ball ", "ball\n"), loc="left")
        figure.supxlabel("of 100 balls from the corner: down the line", fontsize=style.SMALL_PT)
        figure.supylabel("short crosscourt", fontsize=style.SMALL_PT)
        figure.legend(
            handles=list(keys(table)),
            loc="outside upper left",
            ncols=3,
            title="The bisector against the middle, by the opponent's directions",
            alignment="left",
            title_fontproperties={"size": style.TEXT_PT, "weight": "bold"},
        )
    return figure


def draw(ax: Axes, table: pd.DataFrame) -> None:
    """One panel: a sign for each cell, and where the sources are."""
    for source in SOURCES:
        if source.short is None:
            ax.axvline(100 * source.line, color=style.INK, linewidth=0.7, linestyle=source.dash)
        else:
            at = 100 * source.line, 100 * source.short
            ax.plot(*at, marker="*", color=style.YELLOW, mec=style.INK, markersize=11, zorder=3)
    for verdict, (colour, marker, _) in LOOKS.items():
        found = table[table["verdict"] == verdict]
        ax.scatter(
            100 * found["line"], 100 * found["short"], s=22, c=colour, marker=marker, linewidths=0.4
        )
    ax.set_xlim(0, 65)
    ax.set_ylim(0, None)


def keys(table: pd.DataFrame) -> Iterator[Line2D]:
    """What the signs that are there and the lines mean."""
    for colour, marker, words in (look for v, look in LOOKS.items() if v in set(table["verdict"])):
        yield Line2D([], [], linestyle="", color=colour, marker=marker, markersize=5, label=words)
    for source in SOURCES:
        if source.short is None:
            line: Any = {"color": style.INK, "linewidth": 0.7, "linestyle": source.dash}
            yield Line2D([], [], label=f"{source.name}: {100 * source.line:.0f}", **line)
        else:
            words = f"{source.name}: {100 * source.line:.0f} and {100 * source.short:.0f}"
            look: Any = {"marker": "*", "markersize": 9, "color": style.YELLOW, "mec": style.INK}
            yield Line2D([], [], linestyle="", label=words, **look)


main = command(
    "results/directions",
    "Where the verdict turns with the opponent's directions.",
    cells,
    directions_table,
    directions_figure,
)

if __name__ == "__main__":
    main()
