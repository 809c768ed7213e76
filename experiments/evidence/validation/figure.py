"""The picture of the table: every figure on the scale of its own tolerance."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure, SubFigure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.drawing import style
from experiments.evidence.labelled_rows import name_rows
from experiments.evidence.validation.answer import Table
from experiments.evidence.validation.rows import AGREES, CHECK, DISAGREES, INPUT, NOT_TESTABLE, Row
from experiments.evidence.validation.strokes_picture import draw_kinds, draw_ways, is_of_a_kind
from experiments.statistics.estimates import LEVEL

EDGE = 4.0  # tolerances from the middle; what lies beyond is drawn at the edge, as an arrow
ROW_IN, HEADS_IN, KINDS_IN, WAYS_IN = 0.19, 1.35, 3.6, 2.6
LOOKS = {
    AGREES: style.Look(style.BLUE, "o"),
    DISAGREES: style.Look(style.VERMILLION, "D"),
    NOT_TESTABLE: style.Look(style.ORANGE, "s"),
}
TITLES = {CHECK: "Checks", INPUT: "Inputs (no evidence)"}


def table_figure(table: Table) -> Figure:
    """Checks and inputs, a line each: tolerance, published figure, ours with its interval; then
    the kinds of stroke beside charts, and what strokes come to by the way to the ball.

    Verifications are left out: they compare the code with mathematics.
    """
    scaled_rows = [row for row in table.rows if not is_of_a_kind(row)]
    groups = {kind: [r for r in scaled_rows if r.kind == kind] for kind in TITLES}
    lines = sum(map(len, groups.values()))
    heights = (ROW_IN * (lines + 2) + HEADS_IN, KINDS_IN, WAYS_IN)
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, sum(heights)), layout="constrained")
        parts: Any = figure.subfigures(3, 1, height_ratios=heights)
        top, middle, bottom = parts
        draw_groups(top, groups)
        draw_kinds(middle, [row for row in table.rows if is_of_a_kind(row)])
        draw_ways(bottom, table.ways)
    return figure


def draw_groups(figure: SubFigure, groups: dict[str, list[Row]]) -> None:
    """The rows of each kind under its title, on one scale."""
    counts = [len(rows) for rows in groups.values()]
    axes = figure.subplots(2, 1, sharex=True, height_ratios=[n + 0.8 for n in counts])
    for ax, (kind, rows) in zip(axes, groups.items(), strict=True):
        draw_rows(ax, rows)
        ax.set_title(TITLES[kind], fontsize=style.TEXT_PT)
    axes[-1].set_xlabel("half widths of the tolerance, from its middle", loc="right")
    figure.suptitle(
        "How close the model is to published figures",
        x=0.02,
        ha="left",
        fontsize=style.TEXT_PT + 1,
        fontweight="bold",
    )
    figure.legend(
        handles=_key(),
        loc="outside lower left",
        ncols=3,
        fontsize=style.SMALL_PT,
        handlelength=1.4,
    )


def draw_rows(ax: Axes, rows: list[Row]) -> None:
    """The rows from the top down."""
    for y, row in enumerate(rows):
        draw_row(ax, y, row)
    name_rows(ax, [f"{r.quantity}  {r.key}" for r in rows], style.SMALL_PT - 1, 0.6, 0.4)
    ax.set_xlim(-EDGE - 0.35, EDGE + 0.35)
    ax.set_xticks(range(-4, 5))
    ax.set_facecolor(style.GROUND)


def draw_row(ax: Axes, y: int, row: Row) -> None:
    """One row at the height `y`."""
    low, high = (_clipped(scaled(row, v)) for v in row.accepted)
    ax.barh(y, high - low, left=low, height=0.74, color=style.FAINT, linewidth=0)
    marks = [_clipped(scaled(row, v)) for v in row.published]
    ax.plot(marks, [y] * len(marks), color=style.INK, marker="|", markersize=8, linewidth=0.8)
    look = LOOKS[row.verdict()]
    at = scaled(row, row.ours.value)
    if not math.isfinite(at):
        return
    ends = [_clipped(scaled(row, v)) for v in row.ours.interval(LEVEL)]
    ax.plot(ends, [y, y], color=look.colour, linewidth=1.6, solid_capstyle="butt")
    marker = look.marker if abs(at) <= EDGE else (">" if at > 0 else "<")
    face = "white" if row.verdict() == NOT_TESTABLE else look.colour
    ax.plot(
        [_clipped(at)], [y], marker=marker, color=look.colour, markerfacecolor=face, markersize=4.5
    )


def scaled(row: Row, value: float) -> float:
    """A value on the row's scale: the ends of the tolerance at -1 and 1.

    Where the tolerance has one end only, that end and the published figure set the scale.
    """
    low, high = row.accepted
    if math.isinf(high):
        centre, half = row.published[0], row.published[0] - low
    else:
        centre, half = 0.5 * (low + high), 0.5 * (high - low)
    return (value - centre) / half


def _clipped(value: float) -> float:
    return min(max(value, -EDGE - 0.15), EDGE + 0.15)


def _key() -> list[Line2D | Patch]:
    ours = [
        Line2D(
            [],
            [],
            color=look.colour,
            marker=look.marker,
            markersize=4.5,
            linewidth=1.6,
            markerfacecolor="white" if verdict == NOT_TESTABLE else look.colour,
            label=f"ours, {verdict}",
        )
        for verdict, look in LOOKS.items()
    ]
    return [
        *ours,
        Line2D([], [], color=style.INK, marker="|", markersize=8, linewidth=0, label="published"),
        Patch(color=style.FAINT, label="tolerance"),
        Line2D(
            [], [], color=style.SOFT, marker=">", markersize=4.5, linewidth=0, label="farther out"
        ),
    ]
