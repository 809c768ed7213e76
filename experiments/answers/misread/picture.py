"""Misread: what an error costs over its size, a panel for each kind; axes in, artists out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, NullLocator

from experiments.answers.misread.answer import BEST, Misread
from experiments.drawing import style
from experiments.statistics.comparison import MARGIN

COLUMNS, ROW_IN, HEAD_IN = 2, 1.5, 1.1
BAND = 0.14
LEAST_Y = (-0.25, 1.1)  # balls in 100, so that what is nothing looks like nothing
FACTORS = (0.25, 0.5, 1.0, 2.0, 3.0)
TWO_LOOKS = (style.Look(style.GREEN, "D"), style.Look(style.VERMILLION, "o"))


def draw_misread(ax: Axes, found: Misread, name: str, way: str, look: style.Look) -> list[Artist]:
    """What an error of that name costs over its size, for one way of choosing, with its band."""
    series, costs = found.series[name], found.costs(name, way)
    ends = np.array([(e.low, e.high) for e in costs])
    band = ax.fill_between(series.sizes, *ends.T, color=look.colour, alpha=BAND, linewidth=0)
    (line,) = ax.plot(
        series.sizes,
        [e.value for e in costs],
        marker=look.marker,
        color=look.colour,
        markersize=3.5,
        linewidth=1.1,
        markeredgecolor="white",
        markeredgewidth=0.4,
    )
    return [band, line]


def misread_figure(answers: Sequence[Misread]) -> Figure:
    """One answer: the best place and the policy; several: the best place of each player."""
    first = answers[0]
    names = list(first.series)
    rows = -(-len(names) // COLUMNS)
    lines = _lines(answers)
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, HEAD_IN + ROW_IN * rows), layout="constrained")
        axes = figure.subplots(rows, COLUMNS, squeeze=False, sharey="row").ravel()
        for ax, name in zip(axes, names, strict=False):
            for found, way, look in lines.values():
                if name in found.series and way in found.series[name].spots:
                    draw_misread(ax, found, name, way, look)
        for ax, name in zip(axes, names, strict=False):
            _frame(ax, first, name)
        for ax in axes[len(names) :]:
            ax.set_visible(False)
        figure.supylabel("balls missed in 100 more than knowing", fontsize=style.SMALL_PT)
        style.titled_key(figure, _title(answers), _key(lines))
    return figure


Lines = dict[str, tuple[Misread, str, style.Look]]


def _lines(answers: Sequence[Misread]) -> Lines:
    if len(answers) > 1:
        looks = (style.LOOKS[i % len(style.LOOKS)] for i in range(len(answers)))
        pairs = zip(answers, looks, strict=True)
        return {a.question.scene.player.name: (a, BEST, look) for a, look in pairs}
    (found,) = answers
    return {
        f"{way} by what is believed": (found, way, look)
        for way, look in zip(found.hitters, TWO_LOOKS, strict=True)
    }


def _frame(ax: Axes, found: Misread, name: str) -> None:
    series = found.series[name]
    low, high = ax.get_ylim()
    ax.set_ylim(min(low, LEAST_Y[0]), max(high, LEAST_Y[1]))
    ax.axhline(0.0, color=style.INK, linewidth=0.7)
    ax.axhline(MARGIN, color=style.SOFT, linewidth=0.9, linestyle=(0, (1, 2)))
    right = series.sizes[series.right]
    ax.axvline(right, color=style.FAINT, linewidth=0.9, zorder=0)
    ax.set_xlabel(f"{series.kind.axis} ({series.kind.unit})")
    if right:
        ax.set_xscale("log")
        ax.xaxis.set_major_locator(FixedLocator(FACTORS))
        ax.xaxis.set_minor_locator(NullLocator())
    ax.xaxis.set_major_formatter(lambda x, _: f"{x:g}".replace("-", "\u2212"))
    ax.yaxis.set_major_formatter(lambda y, _: f"{y:g}".replace("-", "\u2212"))


def _title(answers: Sequence[Misread]) -> str:
    scene = answers[0].question.scene
    who = f"{scene.player.name}, " if len(answers) == 1 else "the best place; "
    return (
        "What it costs to misjudge, by the size of the error\n"
        f"{who}{scene.hitter.name} opponent, {scene.world.surface.name} court"
    )


def _key(lines: Lines) -> list[Artist]:
    marks: list[Artist] = [
        Line2D([], [], color=look.colour, marker=look.marker, markersize=4, label=label)
        for label, (_, _, look) in lines.items()
    ]
    marks.append(Patch(color=style.SOFT, alpha=2 * BAND, linewidth=0, label="95 % interval"))
    dots = Line2D([], [], color=style.SOFT, linewidth=0.9, linestyle=(0, (1, 2)))
    dots.set_label("half a ball in 100")
    return [*marks, dots]
