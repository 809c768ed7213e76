"""`python -m experiments.claims.directions`: where the verdict turns with where balls go.

Reads a stored study whose grid varies how often a hitter of habit goes down the line and short
crosscourt; prints a table and, with `--figure`, draws the verdicts over the shares from the corner,
with what published sources have. The shares are those of the forehand there.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.claims.register import mapped
from experiments.claims.tables import MORE, compared_words, markdown
from experiments.drawing import style
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, WINS
from sim.belief import DOWN_THE_LINE, MIDDLE, SHORT_ANGLE, Belief
from sim.errors import InputError

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
    crosscourt."""

    name: str
    line: float
    short: float | None


# Professional men, 3 to 4 m off the centre, landed balls: Tennis Australia, contest of 2017-18,
# computed; groundstrokes from everywhere: Match Charting Project, computed; a coaching article on
# seven right-handed men, second hand.
SOURCES = (
    Source("tracked ends", 0.26, 0.10),
    Source("charted matches", 0.15, None),
    Source("coaching article", 0.19, None),
)


def shares(line_gain: np.ndarray, short_gain: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Shares down the line and short crosscourt from the corner with these factors on the habit's.

    As `weigh_directions` of strategies.shots.choosing has them.
    """
    own = Belief().from_corner
    line, short = own[DOWN_THE_LINE] * line_gain, own[SHORT_ANGLE] * short_gain
    total = own[0] + own[MIDDLE] + line + short
    return line / total, short / total


def cells(folder: Path) -> pd.DataFrame:
    """The points that the bisector wins more at each point of the grid, with `line` and `short`.

    Raises:
        InputError: the folder holds no such grid.
    """
    table = mapped(folder)
    if not {LINE_GAIN, SHORT_GAIN} <= set(table.columns):
        raise InputError(f"{str(folder)!r} varies no directions; run `study directions`")
    table = table[table["outcome"] == MORE].copy()
    table["line"], table["short"] = shares(*table[[LINE_GAIN, SHORT_GAIN]].to_numpy(float).T)
    return table


def directions_table(table: pd.DataFrame) -> str:
    """Points more by the bisector over the share down the line, short balls as usual."""
    rows = []
    usual = table[table[SHORT_GAIN] == 1.0]
    for (level, gain), group in usual.groupby(["level", LINE_GAIN], sort=False):
        by = {row["setting"]: row for row in group.to_dict("records")}
        values = [compared_words(by[s]) for s in SETTINGS]
        share = float(shares(np.array(gain), np.array(1.0))[0])
        rows.append([str(level), f"{100 * share:.0f}", *values])
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
            handles=list(keys()),
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
            ax.axvline(100 * source.line, color=style.INK, linewidth=0.7, linestyle=dashes(source))
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


def dashes(source: Source) -> str:
    """How a source that says nothing of short balls is drawn."""
    return "--" if source is SOURCES[1] else ":"


def keys() -> Iterator[Line2D]:
    """What signs and lines mean."""
    for colour, marker, words in LOOKS.values():
        if words == "as good":  # no number of rallies here tells half a point
            continue
        yield Line2D([], [], linestyle="", color=colour, marker=marker, markersize=5, label=words)
    for source in SOURCES:
        if source.short is None:
            line: Any = {"color": style.INK, "linewidth": 0.7, "linestyle": dashes(source)}
            yield Line2D([], [], label=f"{source.name}: {100 * source.line:.0f}", **line)
        else:
            words = f"{source.name}: {100 * source.line:.0f} and {100 * source.short:.0f}"
            look: Any = {"marker": "*", "markersize": 9, "color": style.YELLOW, "mec": style.INK}
            yield Line2D([], [], linestyle="", label=words, **look)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("results/directions"))
@click.option("--figure", type=click.Path(path_type=Path), help="Also draw it.")
def main(folder: Path, figure: Path | None) -> None:
    """Where the verdict turns with the opponent's directions."""
    try:
        table = cells(folder)
        click.echo(directions_table(table))
        if figure is not None:
            style.save(directions_figure(table), figure)
    except InputError as error:
        click.echo(f"Error: {error}", err=True)
        sys.exit(2)


if __name__ == "__main__":
    main()
