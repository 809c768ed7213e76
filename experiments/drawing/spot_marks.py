"""Marked places and their labels, which never overlap: axes in, artists out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from matplotlib import patheffects
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.text import Annotation
from matplotlib.transforms import ScaledTranslation, Transform, blended_transform_factory

from experiments.drawing.style import GREEN, INK, SMALL_PT, Look
from experiments.study.policy_family import family_name, family_of

ROW_PT = 12.0
LONGEST_LABEL = 34
HALO = (patheffects.withStroke(linewidth=2.2, foreground="white"),)


@dataclass(frozen=True)
class Spot:
    """A marked place on a waiting line or a curve."""

    name: str
    x_m: float
    y: float
    look: Look


def gathered(spots: Sequence[Spot]) -> list[Spot]:
    """The spots with the yardstick family under one label, at the member farthest from the middle.

    A spot without a name is marked and not labelled.
    """
    family = family_of(s.name for s in spots)
    members = [s for s in spots if s.name in family]
    if not members:
        return list(spots)
    far = max(members, key=lambda s: abs(s.x_m))
    silent = [replace(s, name="") for s in members if s is not far]
    alone = [s for s in spots if s.name not in family]
    return [*silent, replace(far, name=family_name(family)), *alone]


def beside(
    ax: Axes,
    at: Sequence[float],
    text: str,
    offset_pt: tuple[float, float] = (0.0, 0.0),
    ha: str = "center",
    va: str = "center",
    colour: str = INK,
    **look: Any,
) -> Annotation:
    """A small text beside a point, `offset_pt` points away, readable on any ground."""
    usual = {"textcoords": "offset points", "fontsize": SMALL_PT, "path_effects": HALO, "zorder": 6}
    look = {**usual, "ha": ha, "va": va, "color": colour, **look}
    return ax.annotate(text, (at[0], at[1]), offset_pt, **look)


def draw_entries(ax: Axes, entries: Sequence[tuple[Artist, str]], **look: Any) -> Legend:
    """What is what, a mark and its words each, in an axes of its own."""
    ax.set_axis_off()
    marks, words = zip(*entries, strict=True)
    look = {"borderaxespad": 0.0, "labelspacing": 0.35, **look}
    return ax.legend(marks, words, loc="upper left", **look)


def draw_spots(ax: Axes, spots: Sequence[Spot]) -> list[Artist]:
    """Mark spots and label each with a name directly, one row a label, so that none overlap.

    The rows stand at the bottom of the axes, ROW_PT apart. From each marker a thin line falls to
    the row of its label, which runs outward from there: for labels that run right the rightmost
    spot has the top row, so that no line crosses a text.
    """
    named = [s for s in spots if s.name]
    centre = sum(s.x_m for s in named) / max(len(named), 1)
    outward = 1 if centre <= 0 else -1
    order = sorted(named, key=lambda s: -outward * s.x_m)
    artists: list[Artist] = [_marker(ax, s) for s in spots if s.look.marker]
    for i, spot in enumerate(order):
        artists += _row_label(ax, spot, (len(order) - i - 0.5) * ROW_PT, outward)
    return artists


def _marker(ax: Axes, spot: Spot) -> Line2D:
    thin, look = spot.look.marker == "|", spot.look
    (mark,) = ax.plot(spot.x_m, spot.y, look.marker, color=look.colour, gid=f"spot {spot.name}")
    size = {"|": 8, "*": 9}.get(look.marker, 6)
    mark.set(markeredgecolor=look.colour if thin else "white", markersize=size)
    mark.set(markeredgewidth=1.6 if thin else 0.6, zorder=4.5 if thin else 5)
    return mark


def _row_label(ax: Axes, spot: Spot, up_pt: float, outward: int) -> list[Artist]:
    """The label of a spot `up_pt` above the bottom of the axes, tied to the spot by a line.

    The marker is repeated at the label: spots may lie on top of each other.
    """
    figure = ax.get_figure()
    assert figure is not None
    in_row = blended_transform_factory(ax.transData, ax.transAxes)

    def shifted(right_pt: float) -> Transform:
        by = ScaledTranslation(outward * right_pt / 72, up_pt / 72, figure.dpi_scale_trans)
        return in_row + by

    look = spot.look
    text = beside(
        ax,
        (spot.x_m, spot.y),
        shortened(spot.name),
        (spot.x_m, 0.0),
        "left" if outward > 0 else "right",
        textcoords=shifted(12.0 if look.marker else 5.0),
        arrowprops={
            "arrowstyle": "-",
            "connectionstyle": "angle,angleA=0,angleB=90",
            "relpos": (0.0 if outward > 0 else 1.0, 0.5),
            "shrinkA": 0,
            "shrinkB": 0,
            "color": look.colour,
            "linewidth": 0.7,
        },
    )
    if not look.marker:
        return [text]
    key = _marker(ax, replace(spot, y=0.0, name=f"{spot.name} label"))
    key.set(transform=shifted(7.0), markersize=7 if look.marker == "*" else 5, zorder=6.5)
    return [text, key]


def shortened(name: str) -> str:
    """A name that fits beside its marker; people may choose longer ones."""
    return name if len(name) <= LONGEST_LABEL else f"{name[: LONGEST_LABEL - 1]}\u2026"


def best_spot(best_m: tuple[float, float], y: float) -> Spot:
    """The label of the best range, at its centre; the range itself is drawn as a band."""
    low, high = best_m
    words = f"best range {low:.1f} to {high:.1f} m".replace("-", "\u2212")
    return Spot(words, 0.5 * (low + high), y, Look(GREEN, ""))
