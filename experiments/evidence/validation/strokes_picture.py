"""The pictures of strokes in the table: each kind beside charts, and errors by the way."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import SubFigure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.drawing import style
from experiments.evidence.labelled_rows import name_rows
from experiments.evidence.validation.by_way import WayClass
from experiments.evidence.validation.rows import Row
from experiments.statistics.estimates import LEVEL

SEXES = {
    "men": (style.Look(style.BLUE, "o"), -0.19),
    "women": (style.Look(style.ORANGE, "s"), 0.19),
}
MEASURES = {
    "share": "of strokes after\nthe serve, %",
    "won": "of these, point\nwon, %",
    "ending": "of these, point\nended, %",
}
LEAST_PCT, MOST_PCT = 0.03, 30.0  # the ends of the scale of shares
LOOKS = {
    "forced_error_pct": ("forced error", style.Look(style.VERMILLION, "D")),
    "unforced_error_pct": ("unforced error", style.Look(style.BLACK, "s")),
    "winner_pct": ("winner", style.Look(style.BLUE, "o")),
}


def is_of_a_kind(row: Row) -> bool:
    """Whether a row is of one kind of stroke: its quantity then reads "kind, sex, measure, %"."""
    return row.key.startswith("K")


def draw_kinds(figure: SubFigure, rows: list[Row]) -> None:
    """Shares of kinds, what they bring and how often they end the point, beside charts."""
    panels: Any = figure.subplots(1, len(MEASURES), sharey=True)
    axes: dict[str, Axes] = dict(zip(MEASURES, panels, strict=True))
    kinds = list(dict.fromkeys(row.quantity.split(", ")[0] for row in rows))
    for row in rows:
        kind, sex, *said = row.quantity.removesuffix(", %").split(", ")
        draw_kind(axes[said[0] if said else "share"], kinds.index(kind), sex, row)
    for measure, ax in axes.items():
        name_rows(ax, kinds, style.SMALL_PT, 0.6, 0.4)
        ax.set_xlabel(MEASURES[measure])
        ax.set_facecolor(style.GROUND)
        if measure == "share":
            ax.set_xscale("log")
            ax.set_xlim(LEAST_PCT, MOST_PCT)
            ax.set_xticks([0.1, 1.0, 10.0], ["0.1", "1", "10"])
        else:
            ax.set_xlim(-3.0, 103.0)
    figure.suptitle("Kinds of stroke", x=0.02, ha="left", fontsize=style.TEXT_PT, weight="bold")
    figure.legend(handles=_kinds_key(), loc="outside lower left", ncols=4, fontsize=style.SMALL_PT)


def draw_kind(ax: Axes, y: float, sex: str, row: Row) -> None:
    """Tolerance, published figure and ours with its interval."""
    look, aside = SEXES[sex]
    low, high = row.accepted
    at = y + aside
    ax.barh(at, high - low, left=low, height=0.34, color=style.FAINT, linewidth=0)
    ax.plot(row.published, [at], color=style.INK, marker="|", markersize=7, linewidth=0)
    if not math.isfinite(row.ours.value):
        return
    ends = row.ours.interval(LEVEL)
    ax.plot(ends, [at, at], color=look.colour, linewidth=1.2, solid_capstyle="butt")
    ax.plot([row.ours.value], [at], color=look.colour, marker=look.marker, markersize=4)


def _kinds_key() -> list[Line2D | Patch]:
    ours = [
        Line2D([], [], color=look.colour, marker=look.marker, markersize=4, label=f"ours, {sex}")
        for sex, (look, _) in SEXES.items()
    ]
    charts = Line2D([], [], color=style.INK, marker="|", markersize=7, linewidth=0, label="charts")
    return [*ours, charts, Patch(color=style.FAINT, label="tolerance")]


def draw_ways(figure: SubFigure, ways: list[WayClass]) -> None:
    """What strokes came to, by the way to the ball, with intervals."""
    ax = figure.subplots()
    for n, (field, (label, look)) in enumerate(LOOKS.items()):
        shares = [getattr(way, field) for way in ways]
        at = [i + 0.08 * (n - 1) for i in range(len(ways))]
        values = [share.value for share in shares]
        ax.plot(at, values, color=look.colour, marker=look.marker, markersize=4, label=label)
        for x, share in zip(at, shares, strict=True):
            ax.plot([x, x], share.interval(LEVEL), color=look.colour, linewidth=1.0)
    ax.set_xticks(range(len(ways)), [way.words for way in ways])
    ax.set_xlabel("way to the ball, m")
    ax.set_ylabel("of strokes, %")
    ax.set_ylim(bottom=0.0)
    ax.legend(loc="upper left", ncols=1)
    title = "What strokes come to, by the way to the ball (ours, men)"
    figure.suptitle(title, x=0.02, ha="left", fontsize=style.TEXT_PT, weight="bold")
