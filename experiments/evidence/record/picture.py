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
from experiments.statistics.estimates import LEVEL

EDGE = 6.0  # tolerances; what lies beyond is drawn at the edge
ROW_IN, PANEL_IN, HEADS_IN = 0.15, 0.42, 1.1
# Shape and filling tell what of a distribution, so that the picture reads in grey; colour repeats
# the place.
MARKERS = {"p5": ("<", True), "p25": ("<", False), "p50": ("D", True)}
MARKERS |= {"p75": (">", False), "p95": (">", True)}
MEAN = ("o", True)  # and shares and numbers


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
            ax.set_title(f"{name.capitalize()}: {gap:.2f}, {fits}", fontsize=style.TEXT_PT)
        panels[-1].set_xlabel("ours less the record's, in tolerances", loc="right")
        figure.suptitle(
            "How close the model is to a record of professionals\n"
            f"(root mean square gap: {table.fit.overall:.2f}, and of each section)",
            x=0.02,
            ha="left",
            fontsize=style.TEXT_PT,
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
    if row.figure.of not in MARKERS:
        ends = [(v - row.figure.value) / row.figure.tolerance for v in row.ours.interval(LEVEL)]
        ax.plot([_clipped(v) for v in ends], [y, y], color=colour, linewidth=1.0)
    _mark(ax, _clipped(row.gap), y, MARKERS.get(row.figure.of, MEAN), colour)


def _clipped(gap: float) -> float:
    return min(max(gap, -EDGE), EDGE)


def _mark(
    ax: Axes | None, x: float, y: float, shape: tuple[str, bool], colour: str, label: str = ""
) -> Line2D:
    marker, filled = shape
    face = colour if filled else "white"
    line = Line2D([x], [y], marker=marker, color=colour, markerfacecolor=face, label=label)
    line.set(markersize=4, linewidth=0, markeredgewidth=0.8)
    if ax is not None:
        ax.add_line(line)
    return line


def _key() -> list[Line2D | Patch]:
    def mark(shape: tuple[str, bool], label: str, colour: str = style.INK) -> Line2D:
        return _mark(None, 0.0, 0.0, shape, colour, label)

    return [
        mark(MEAN, "mean, share"),
        *(mark(shape, name) for name, shape in MARKERS.items()),
        mark(MEAN, "outside", style.VERMILLION),
        Patch(color=style.FAINT, label="tolerance"),
    ]
