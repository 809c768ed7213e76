"""The picture of the record: every figure's gap in tolerances, a panel a section."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.drawing import style
from experiments.evidence.labelled_rows import name_rows
from experiments.evidence.record.answer import Row, Table
from experiments.evidence.record.figures import MOST_IN_A_SECTION

EDGE = 6.0  # tolerances; what lies beyond is drawn at the edge
ROW_IN, PANEL_IN, HEADS_IN = 0.15, 0.42, 1.1
# Shape tells what of a distribution, so that the picture reads in grey; colour repeats the place.
MARKERS = {"p5": "<", "p25": "4", "p50": "D", "p75": "3", "p95": ">"}
MEAN = "o"  # and shares and numbers


def table_figure(table: Table) -> Figure:
    """A line for each quantity, a mark for each of its figures, the tolerance as a band."""
    groups = {name: _lines(table, name) for name in table.fit.sections}
    counts = [len(lines) for lines in groups.values()]
    height = sum(counts) * ROW_IN + len(counts) * PANEL_IN + HEADS_IN
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, height), layout="constrained")
        panels: Any = figure.subplots(
            len(groups), 1, sharex=True, height_ratios=[n + 0.8 for n in counts]
        )
        for ax, (name, lines) in zip(panels, groups.items(), strict=True):
            draw_section(ax, lines)
            gap = table.fit.sections[name]
            fits = "fits" if gap <= MOST_IN_A_SECTION else "does not fit"
            ax.set_title(f"{name.capitalize()}: root mean square {gap:.2f}, {fits}")
        panels[-1].set_xlabel("ours less the record's, in tolerances", loc="right")
        figure.suptitle(
            "How close the model is to a record of professionals",
            x=0.02,
            ha="left",
            fontsize=style.TEXT_PT + 1,
            fontweight="bold",
        )
        figure.legend(handles=_key(), loc="outside lower left", ncols=4, handlelength=1.2)
    return figure


def _lines(table: Table, section: str) -> dict[str, list[Row]]:
    lines: dict[str, list[Row]] = {}
    for row in table.rows:
        if row.figure.section == section:
            lines.setdefault(row.figure.line, []).append(row)
    return lines


def draw_section(ax: Axes, lines: dict[str, list[Row]]) -> None:
    """The quantities of a section from the top down."""
    ax.axvspan(-1.0, 1.0, color=style.FAINT, linewidth=0)
    ax.axvline(0.0, color=style.INK, linewidth=0.8)
    for y, rows in enumerate(lines.values()):
        for row in rows:
            draw_gap(ax, y, row)
    name_rows(ax, list(lines), style.SMALL_PT - 1.5, 0.6, 0.4)
    ax.set_xlim(-EDGE - 0.3, EDGE + 0.3)
    ax.set_xticks(range(-6, 7, 2))
    ax.set_facecolor(style.GROUND)


def draw_gap(ax: Axes, y: float, row: Row) -> None:
    """One figure; nothing where the model has none."""
    if not math.isfinite(row.gap):
        return
    colour = style.BLUE if abs(row.gap) <= 1.0 else style.VERMILLION
    at = min(max(row.gap, -EDGE), EDGE)
    marker = MARKERS.get(row.figure.of, MEAN)
    ax.plot([at], [y], marker=marker, color=colour, markersize=4, linewidth=0)


def _key() -> list[Line2D | Patch]:
    def mark(marker: str, label: str, colour: str = style.INK) -> Line2D:
        return Line2D([], [], color=colour, marker=marker, markersize=4, linewidth=0, label=label)

    return [
        mark(MEAN, "mean or share"),
        *(mark(marker, name) for name, marker in MARKERS.items()),
        mark(MEAN, "outside", style.VERMILLION),
        Patch(color=style.FAINT, label="tolerance"),
    ]
