"""Depth: points and balls reached by waiting depth; axes in, artists out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.depth.answer import Case, Depth
from experiments.answers.depth.short_balls import NO_SHORT, PAYS, USUAL
from experiments.answers.depth.words import CASE_WORDS
from experiments.drawing import style

LOOKS = {
    NO_SHORT: style.Look(style.BLUE, "^"),
    USUAL: style.Look(style.ORANGE, "s"),
    PAYS: style.Look(style.VERMILLION, "o"),
}
STYLES = {NO_SHORT: (0, (4, 1.5)), USUAL: (0, (1, 1)), PAYS: "-"}
HITTER_LOOKS, HITTER_STYLES = style.LOOKS[1:], ("-", (0, (4, 1.5)), (0, (1, 1)), (0, (5, 1, 1, 1)))
BAND_ALPHA, RANGE_ALPHA = 0.15, 0.22
HEIGHT_IN, HEAD_IN, ROW_IN = 5.6, 1.5, 1.75
AXIS = "metres behind the baseline"


def draw_depth(ax_points: Axes, ax_reached: Axes, found: Depth) -> list[Artist]:
    """Draw a depth answer: points by depth for each case on one axes, balls reached on the other.

    The depths within half a point of the best are shaded, the usual one is dotted. Returns the
    artists of both axes.
    """
    artists: list[Artist] = []
    for ax, what in ((ax_points, "points"), (ax_reached, "reached")):
        artists += _draw_lines(ax, found, what)
    ax_points.set_ylabel("points won of 100")
    ax_reached.set_ylabel("balls reached of 100")
    ax_reached.set_xlabel(AXIS)
    return artists


def draw_points(ax: Axes, found: Depth) -> list[Artist]:
    """Points by depth alone."""
    artists = _draw_lines(ax, found, "points")
    ax.set_ylabel("points won of 100")
    ax.set_xlabel(AXIS)
    return artists


def _draw_lines(ax: Axes, found: Depth, what: str) -> list[Artist]:
    best = found.answer.best
    span = ax.axvspan(best.low_m, best.high_m, color=style.GREEN, alpha=RANGE_ALPHA, lw=0)
    span.set_gid("range")
    artists: list[Artist] = [span, *_baseline(ax), _usual(ax, found.answer.usual_m)]
    for name, case in found.cases.items():
        artists += _draw_case(ax, case, what, LOOKS[name], STYLES[name])
    _frame(ax, found.answer)
    return artists


def _draw_case(
    ax: Axes, case: Case, what: str, look: style.Look, dashes: object, label: str = ""
) -> list[Artist]:
    """One line with its band of 95 %."""
    x = np.array([row.depth_m for row in case.rows])
    found = [getattr(row, what) for row in case.rows]
    low, high = np.array([(e.low, e.high) for e in found]).T
    band = ax.fill_between(x, low, high, color=look.colour, alpha=BAND_ALPHA, linewidth=0)
    (line,) = ax.plot(
        x,
        [e.value for e in found],
        color=look.colour,
        marker=look.marker,
        linestyle=dashes,
        markersize=3.5,
        markeredgecolor="white",
        markeredgewidth=0.4,
        linewidth=1.1,
        zorder=3,
        gid=f"{label or case.name} {what}",
    )
    return [band, line]


def _baseline(ax: Axes) -> list[Artist]:
    return [ax.axvline(0.0, color=style.INK, linewidth=1.3, zorder=2, gid="baseline")]


def _usual(ax: Axes, usual_m: float) -> Artist:
    return ax.axvline(usual_m, color=style.SOFT, linewidth=1.0, ls=(0, (1, 2)), gid="usual")


def _frame(ax: Axes, case: Case) -> None:
    first, last = case.rows[0].depth_m, case.rows[-1].depth_m
    slack = 0.03 * (last - first)
    ax.set_xlim(first - slack, last + slack)
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:g}".replace("-", "\u2212"))
    ax.grid(axis="y", color=style.FAINT, linewidth=0.5)
    ax.set_axisbelow(True)


def _mark(look: style.Look, dashes: object, label: str) -> Line2D:
    return Line2D(
        [],
        [],
        color=look.colour,
        marker=look.marker,
        linestyle=dashes,  # type: ignore[arg-type]
        markersize=4.0,
        linewidth=1.1,
        label=label,
    )


def _lines_key() -> list[Artist]:
    dots = (0, (1, 2))
    return [
        Line2D([], [], color=style.INK, linewidth=1.3, label="the baseline"),
        Line2D([], [], color=style.SOFT, linewidth=1.0, linestyle=dots, label="usual depth"),
        Patch(color=style.SOFT, alpha=BAND_ALPHA + 0.1, linewidth=0, label="95 % interval"),
    ]


def lines_key(found: Depth) -> list[Artist]:
    """The marks of the cases for a legend."""
    return [_mark(LOOKS[name], STYLES[name], CASE_WORDS[name]) for name in found.cases]


def depth_figure(found: Depth) -> Figure:
    """The figure of one cell: points above, balls reached below."""
    scene = found.question.scene
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, HEIGHT_IN), layout="constrained")
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(1.4, 1.0))
        draw_depth(upper, lower, found)
        marks = lines_key(found)
        shade = Patch(
            color=style.GREEN, alpha=RANGE_ALPHA, linewidth=0, label="within half a point of best"
        )
        text = (
            f"How far back to wait: points won, and balls reached\n{scene.player.name},"
            f" {scene.hitter.name} opponent, {scene.world.surface.name} court"
        )
        style.titled_key(figure, text, [*marks, shade, *_lines_key()])
    return figure


def multiples_figure(found: Sequence[Depth]) -> Figure:
    """Small multiples: rows levels, columns surfaces, lines hitters; the case that answers.

    A triangle on each panel's upper edge is the best depth, a hollow one that without short balls.
    """
    levels = list(dict.fromkeys(f.question.scene.player.name for f in found))
    surfaces = list(dict.fromkeys(f.question.scene.world.surface.name for f in found))
    hitters = list(dict.fromkeys(f.question.scene.hitter.name for f in found))
    looks = {
        name: (HITTER_LOOKS[i % len(HITTER_LOOKS)], HITTER_STYLES[i % len(HITTER_STYLES)])
        for i, name in enumerate(hitters)
    }
    with style.house_style():
        height = HEAD_IN + ROW_IN * len(levels)
        figure = Figure(figsize=(style.WIDTH_IN, height), layout="constrained")
        axes = figure.subplots(len(levels), len(surfaces), squeeze=False, sharex=True, sharey="row")
        for one in found:
            scene = one.question.scene
            i, j = levels.index(scene.player.name), surfaces.index(scene.world.surface.name)
            draw_cell(axes[i, j], one, *looks[scene.hitter.name])
            axes[i, j].set_title(f"{scene.player.name}, {scene.world.surface.name}")
        for ax in axes[:, 0]:
            ax.set_ylabel("points won of 100")
        figure.supxlabel(AXIS, fontsize=style.SMALL_PT, color=style.INK)
        marks: list[Artist] = [_mark(*looks[name], f"{name} opponent") for name in hitters]
        triangles = (("best depth", style.SOFT), ("best without short balls", "none"))
        marks += [
            Line2D([], [], color=style.SOFT, marker="v", mfc=fill, linestyle="", label=words)
            for words, fill in triangles
        ]
        text = f"How far back to wait: points by depth, {CASE_WORDS[found[0].answer.name]}"
        style.titled_key(figure, text, [*marks, *_lines_key()])
    return figure


def draw_cell(ax: Axes, found: Depth, look: style.Look, dashes: object) -> list[Artist]:
    """One hitter's line in a panel, with the best depths on the upper edge."""
    case, name = found.answer, found.question.scene.hitter.name
    artists = [*_baseline(ax), _usual(ax, case.usual_m)]
    artists += _draw_case(ax, case, "points", look, dashes, name)
    edge = ax.get_xaxis_transform()
    for which, fill in ((case, look.colour), (found.cases[NO_SHORT], "none")):
        artists += ax.plot(
            which.best.depth_m,
            0.96,
            marker="v",
            markersize=5.5,
            color=look.colour,
            markerfacecolor=fill,
            linestyle="",
            transform=edge,
            gid=f"{name} best, {which.name}",
            zorder=4,
        )
    _frame(ax, case)
    return artists
