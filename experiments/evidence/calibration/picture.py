"""The picture of a calibration: where in its range each parameter may lie, the record allowing."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.drawing import style
from experiments.evidence.calibration.answer import Found, pinned
from experiments.evidence.labelled_rows import name_rows

ROW_IN, HEADS_IN = 0.17, 1.3


def pinned_figure(found: Found) -> Figure:
    """A line a parameter, from what the record pins most to what it says nothing of."""
    rows = sorted(pinned(found), key=lambda row: row.left)
    with style.house_style():
        figure = Figure(
            figsize=(style.WIDTH_IN, len(rows) * ROW_IN + HEADS_IN), layout="constrained"
        )
        ax = figure.subplots()
        for y, row in enumerate(rows):
            width = row.high - row.low
            draw_row(ax, y, *((v - row.low) / width for v in (row.sets_low, row.sets_high)))
            ax.plot((row.middle - row.low) / width, y, "o", color=style.BLUE, markersize=4)
            ax.plot((row.usual - row.low) / width, y, "|", color=style.INK, markersize=8)
        names = [f"{r.parameter}  {r.range_text}" for r in rows]
        name_rows(ax, names, style.SMALL_PT - 1.5, 0.6, 0.4)
        ax.set_xlim(-0.03, 1.03)
        ax.set_xticks([0, 0.5, 1], ["lowest", "middle of its range", "highest"])
        ax.set_facecolor(style.GROUND)
        figure.suptitle(
            f"What the record leaves open: {len(found.points)} sets that fit it"
            if found.fitting == len(found.points)
            else f"The {len(found.points)} sets that come nearest to the record",
            x=0.02,
            ha="left",
            fontsize=style.TEXT_PT,
            fontweight="bold",
        )
        figure.legend(handles=_key(), loc="outside lower left", ncols=3, handlelength=1.6)
    return figure


def draw_row(ax: Axes, y: float, low: float, high: float) -> None:
    """The middle 95 % of the sets over the whole range, which is 0 to 1."""
    ax.plot([0, 1], [y, y], color=style.FAINT, linewidth=5, solid_capstyle="butt")
    ax.plot([low, high], [y, y], color=style.SKY, linewidth=5, solid_capstyle="butt")


def _key() -> list[Line2D]:
    return [
        Line2D([], [], color=style.SKY, linewidth=5, label="95 of 100 sets"),
        Line2D([], [], color=style.BLUE, marker="o", linewidth=0, markersize=4, label="middle"),
        Line2D([], [], color=style.INK, marker="|", linewidth=0, markersize=8, label="as it was"),
    ]
