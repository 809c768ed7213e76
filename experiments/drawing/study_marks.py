"""Pictures of a study's cells: axes and a table of cells in, artists out.

Every estimate is drawn with its 95 % interval, in rows also with that of worlds, if it has one:
then that of chance is thick and that of worlds thin.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from experiments.drawing import style
from experiments.study.result_folder import DIFFERENCE, HALF_BALL, plateau

WORDS = {
    "missed_per_100": "balls missed per 100",
    "set_per_100": "balls set per 100",
    "points_won_per_100": "points won per 100",
    "missed_fewer_than_middle_per_100": "balls missed per 100 fewer than by the {reference}",
    "points_more_than_middle_per_100": "points per 100 more than by the {reference}",
}
LEVEL_COLOURS = (style.BLUE, style.ORANGE, style.PURPLE, style.GREEN)
LEVEL_MARKERS = ("o", "s", "^", "D", "v", "P")
GROUP_SHARE = 0.78
THICK, THIN = 2.4, 0.8  # points; intervals of chance and of worlds


def dodge(index: int, count: int) -> float:
    """Where the `index`-th of `count` marks stands around the middle of its row."""
    return ((index + 0.5) / count - 0.5) * GROUP_SHARE


def interval_marks(
    ax: Axes, at: np.ndarray, cells: pd.DataFrame, look: style.Look, size: float = 4.2
) -> list[Artist]:
    """Estimates with their intervals along x, one at each height in `at`."""
    over_worlds = "world_low" in cells.columns and bool(cells["world_low"].notna().any())
    spread = {"xerr": spread_of(cells), "elinewidth": THICK if over_worlds else 1.0, "zorder": 3}
    artists = _marks(ax, cells["estimate"], at, look, markersize=size, **spread)
    if over_worlds:
        ends = cells["world_low"], cells["world_high"]
        kind: dict[str, Any] = {"color": look.colour, "gid": "worlds", "zorder": 2.5}
        artists.append(ax.hlines(at, *ends, linewidth=THIN, **kind))
        for end in ends:  # seen where the thin line lies inside the thick one
            artists += ax.plot(end, at, linestyle="", marker="|", markeredgewidth=THIN, **kind)
    return artists


def spread_of(cells: pd.DataFrame) -> np.ndarray:
    """How far the intervals reach below and above the estimates, (2, n)."""
    middle = cells["estimate"]
    return np.maximum([middle - cells["low"], cells["high"] - middle], 0.0)


def _marks(ax: Axes, x: Any, y: Any, look: style.Look, **more: Any) -> list[Artist]:
    more = {"markeredgecolor": "white", "markeredgewidth": 0.5, **more}
    return list(ax.errorbar(x, y, fmt=look.marker, color=look.colour, **more).get_children())


def draw_rows(
    ax: Axes,
    cells: pd.DataFrame,
    rows: tuple[str, Sequence[str]],
    marks: tuple[str, Mapping[str, style.Look]],
) -> list[Artist]:
    """A dot chart of one outcome: a row for each name of one label, a mark for each of another.

    `rows` and `marks` are (label, names); what the cells lack is left out.
    """
    artists: list[Artist] = []
    row_label, names = rows
    mark_label, looks = marks
    for i, (name, look) in enumerate(looks.items()):
        own = cells[(cells[mark_label] == name) & cells[row_label].isin(names)]
        if len(own):
            at = np.array([names.index(r) for r in own[row_label]]) + dodge(i, len(looks))
            artists += interval_marks(ax, at, own, look)
    for edge in np.arange(len(names) - 1) + 0.5:
        artists.append(ax.axhline(edge, color=style.FAINT, linewidth=0.6, zorder=0.5))
    name_rows(ax, names)
    return artists


def name_rows(ax: Axes, names: Sequence[str]) -> None:
    """Rows from the top with these names, over a grid of the scale along x."""
    ax.set_ylim(len(names) - 0.5, -0.5)
    ax.set_yticks(range(len(names)), names)
    ax.tick_params(axis="y", length=0)
    ax.grid(axis="x", color=style.FAINT, linewidth=0.5)
    ax.set_axisbelow(True)


def draw_missed(
    ax: Axes,
    cells: pd.DataFrame,
    places: Sequence[str] | None = None,
    looks: Mapping[str, style.Look] | None = None,
) -> list[Artist]:
    """Balls missed per 100, a row a place, a mark a policy; `cells` of one panel's scenario.

    Places and policies that are not given are those of the cells.
    """
    chosen = cells[cells["outcome"] == "missed_per_100"]
    places = list(chosen["place"].unique()) if places is None else places
    looks = style.looks_of(chosen["policy"]) if looks is None else looks
    artists = draw_rows(ax, chosen, ("place", places), ("policy", looks))
    ax.set_xlim(left=0)
    return artists


def draw_difference(
    ax: Axes,
    cells: pd.DataFrame,
    outcome: str = DIFFERENCE,
    policies: Sequence[str] | None = None,
    levels: Mapping[str, style.Look] | None = None,
) -> list[Artist]:
    """A difference from the reference policy, a row a policy, a mark a level.

    Right of zero is better than the reference; inside the band counts as good as it. Policies and
    levels that are not given are those of the cells, which belong to one panel's scenario.
    """
    chosen = cells[cells["outcome"] == outcome]
    policies = list(chosen["policy"].unique()) if policies is None else policies
    levels = level_looks(chosen["level"].unique()) if levels is None else levels
    band = ax.axvspan(
        -HALF_BALL, HALF_BALL, color=style.FAINT, alpha=0.6, linewidth=0, gid="as good"
    )
    zero = ax.axvline(0, color=style.SOFT, linewidth=0.9)
    return [band, zero, *draw_rows(ax, chosen, ("policy", policies), ("level", levels))]


def draw_parts(
    ax: Axes, cells: pd.DataFrame, parts: Sequence[str], looks: Mapping[str, style.Look]
) -> list[Artist]:
    """What each part of a split brings, as bars with their intervals: a row a part, a bar an
    opponent; `cells` of one outcome and split. Right of zero is better than the reference."""
    artists: list[Artist] = [ax.axvline(0, color=style.SOFT, linewidth=0.9)]
    high = GROUP_SHARE / len(looks)
    for i, (opponent, look) in enumerate(looks.items()):
        own = cells[cells["opponent"] == opponent]
        at = np.array([parts.index(part) for part in own["part"]]) + dodge(i, len(looks))
        artists += ax.barh(at, own["estimate"], high, color=look.colour, gid="part")
        line: dict[str, Any] = {"fmt": "none", "ecolor": style.INK, "elinewidth": 0.9}
        bars = ax.errorbar(own["estimate"], at, xerr=spread_of(own), **line)
        artists += bars.get_children()
    name_rows(ax, parts)
    return artists


def draw_yardstick(
    ax: Axes,
    curve: pd.DataFrame,
    marked: pd.DataFrame | None = None,
    looks: Mapping[str, style.Look] | None = None,
    more_is_better: bool = False,
) -> list[Artist]:
    """An outcome over the shade: the curve with its intervals, its plateau, and policies on it.

    `curve` and `marked` have the columns policy, shade, estimate, low, high. The plateau, shaded,
    is the range of shades within half in 100 of the best.
    """
    low, high = plateau(curve, more_is_better)
    pad = 0.01
    artists: list[Artist] = [
        ax.axvspan(
            low - pad, high + pad, color=style.GREEN, alpha=0.16, linewidth=0, gid="plateau"
        ),
        ax.fill_between(
            curve["shade"], curve["low"], curve["high"], color=style.SKY, alpha=0.35, linewidth=0
        ),
    ]
    artists += ax.plot(
        curve["shade"],
        curve["estimate"],
        color=style.SKY,
        marker=".",
        markersize=4,
        gid="yardstick",
    )
    marked = curve[:0] if marked is None else marked
    looks = style.looks_of(marked["policy"]) if looks is None else looks
    for policy, cell in marked.groupby("policy", sort=False):
        more = {"yerr": spread_of(cell), "markersize": 5, "elinewidth": 0.9, "zorder": 4}
        artists += _marks(ax, cell["shade"], cell["estimate"], looks[str(policy)], **more)
    ax.grid(axis="y", color=style.FAINT, linewidth=0.5)
    ax.set_axisbelow(True)
    return artists


def level_looks(
    levels: Iterable[str], colours: Sequence[str] = LEVEL_COLOURS
) -> dict[str, style.Look]:
    """A colour and a marker for each level."""
    return {
        name: style.Look(colours[i % len(colours)], LEVEL_MARKERS[i % len(LEVEL_MARKERS)])
        for i, name in enumerate(levels)
    }


def legend_marks(looks: Mapping[str, style.Look]) -> list[Line2D]:
    """Legend entries: one marker a name."""
    return [
        Line2D(
            [], [], linestyle="", marker=look.marker, color=look.colour, label=name, markersize=5
        )
        for name, look in looks.items()
    ]
