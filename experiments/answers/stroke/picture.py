"""Own strokes and what follows: the court from above, how far one gets, what is lost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.stroke.answer import BEST, AfterStroke
from experiments.answers.stroke.strokes import StrokeQuestion
from experiments.answers.stroke.words import REFERENCE
from experiments.drawing import style
from experiments.drawing.court import DOUBLES_HALF_WIDTH_M, draw_court
from experiments.drawing.spot_marks import shortened
from experiments.drawing.study_marks import draw_rows, legend_marks
from experiments.drawing.style import titled_key
from experiments.statistics.words import estimate_json

MARGIN_M, ROW_CHARACTERS = 0.9, 14
ROW_IN, LOST_ROW_IN, HEADS_IN, LABELS_IN = 0.2, 0.36, 2.75, 0.95
WRAPPED = {
    "crosscourt": "crosscourt\ndrive",
    "middle": "drive to\nthe middle",
    "down-the-line": "drive down\nthe line",
    "high": "high\nslow ball",
}
View = tuple[float, tuple[float, float]]  # half the width in m, and the ends along the court
LOST_WORDS = {"missed": "missed per 100", "not_returned": "not returned per 100"}


def looks_of_policies(found: Sequence[AfterStroke]) -> dict[str, style.Look]:
    """A look for each policy that any of the answers has; the best aim is green as elsewhere."""
    names = list(dict.fromkeys(p.name for one in found for p in one.policies))
    looks = style.looks_of(name for name in names if name != BEST)
    return {name: looks.get(name, style.Look(style.GREEN, "D")) for name in names}


def draw_stroke(ax: Axes, one: AfterStroke, view: View | None = None) -> list[Artist]:
    """One own stroke from above: the ball, the opponent's run, and the run to the bisector.

    The ball is dashed after its bounce; the opponent runs from the ring to the square.
    """
    s, (half_m, ends_m) = one.stroke, view or view_of([one])
    artists = draw_court(ax, *ends_m, half_m)
    ax.set_yticks([])
    flight, after = s.path_m[:2], s.path_m[1:]
    artists += ax.plot(*flight.T, color=style.BLUE, zorder=3, gid="flight")
    artists += ax.plot(*after.T, color=style.BLUE, linestyle=(0, (2, 1.2)), zorder=3, gid="after")
    artists += ax.plot(
        *s.bounce_m, "o", color=style.BLUE, mfc="white", ms=3.5, zorder=4, gid="bounce"
    )
    artists += ax.plot(
        *flight[0], "o", color=style.BLACK, markersize=4, zorder=5, gid="own contact"
    )
    artists += ax.plot(
        *s.waits_m, "s", color=style.SOFT, mfc="white", markersize=4, zorder=4, gid="opponent waits"
    )
    if s.meets is None:
        return artists
    met = s.meets_m[:2]
    run = np.array([s.waits_m, met])
    artists += ax.plot(*run.T, color=style.SOFT, linewidth=1.0, zorder=2, gid="opponent's run")
    artists += ax.plot(
        *met, "s", color=style.SOFT, markersize=4, zorder=5, gid="opponent's contact"
    )
    run = np.array([one.start_m, one.by_name[REFERENCE].reached_m])
    artists += ax.plot(*run.T, color=style.BLACK, linewidth=2.2, zorder=4, gid="own run")
    return artists


def draw_reach(
    ax: Axes, one: AfterStroke, looks: dict[str, style.Look] | None = None
) -> list[Artist]:
    """By policy, a row each: where it aims (ring) and how far it gets in time (filled)."""
    artists: list[Artist] = []
    looks = looks or looks_of_policies([one])
    names = list(looks)
    if one.best is not None:
        low, high = one.best.low_m, one.best.high_m
        artists.append(
            ax.axvspan(low, high, color=style.GREEN, alpha=0.2, linewidth=0, gid="best range")
        )
    for policy in one.policies:
        row, look = names.index(policy.name), looks[policy.name]
        x = (one.start_m[0], policy.reached_m[0])
        artists += ax.plot(x, (row, row), color=look.colour, linewidth=1.6, gid="run")
        rest = (policy.reached_m[0], policy.spot_m[0])
        artists += ax.plot(rest, (row, row), ":", color=look.colour, linewidth=1.2, gid="short")
        marks = (
            ("aim", policy.spot_m, "white", 5.5),
            ("reached", policy.reached_m, look.colour, 3.2),
        )
        for word, place, face, size in marks:
            (mark,) = ax.plot(place[0], row, look.marker, color=look.colour, mfc=face, ms=size)
            mark.set(zorder=3, gid=f"{word} {policy.name}")
            artists.append(mark)
    ax.axvline(0.0, color=style.FAINT, linewidth=0.8, zorder=0)
    ax.set_ylim(len(names) - 0.4, -0.6)
    ax.set_yticks(range(len(names)), [style.wrapped(name, ROW_CHARACTERS) for name in names])
    ax.tick_params(axis="y", length=0)
    return artists


def draw_stroke_losses(
    ax: Axes, found: Sequence[AfterStroke], column: str, looks: dict[str, style.Look] | None = None
) -> list[Artist]:
    """Balls `missed` or `not_returned` of 100, by stroke and policy, with intervals."""
    rows = [(WRAPPED[one.stroke.name], one) for one in found]
    return draw_losses_by(ax, rows, column, looks or looks_of_policies(found))


def draw_losses_by(
    ax: Axes,
    found: Sequence[tuple[str, AfterStroke]],
    column: str,
    looks: dict[str, style.Look],
) -> list[Artist]:
    """Balls `missed` or `not_returned` of 100, by row, as named, and policy."""
    names = [name for name, _ in found]
    cells = [
        {"row": name, "policy": p.name, **estimate_json(p.lost(column))}
        for name, one in found
        for p in one.policies
    ]
    columns = ["row", "policy", "estimate", "low", "high"]
    rows = ("row", names), ("policy", looks)
    artists = draw_rows(ax, pd.DataFrame(cells, columns=columns), *rows)
    ax.set_xlim(left=-0.03 * ax.get_xlim()[1])
    ax.set_xlabel(LOST_WORDS[column])
    return artists


def key_marks(looks: dict[str, style.Look]) -> list[Artist]:
    """The marks that a legend of this picture needs."""
    marks: list[Artist] = [*legend_marks(looks)]
    for mark in marks:
        mark.set_label(shortened(str(mark.get_label())))
    marks += [
        Patch(color=style.GREEN, alpha=0.2, linewidth=0, label="best aims"),
        *key_of_court(),
        Line2D(
            [],
            [],
            color=style.BLACK,
            marker="o",
            ls="",
            mfc="white",
            label="aimed at; filled: reached",
        ),
    ]
    return marks


def key_of_court() -> list[Artist]:
    """The marks of `draw_stroke`."""
    return [
        Line2D([], [], color=style.BLUE, linewidth=1.4, label="ball, dashed after the bounce"),
        Line2D([], [], color=style.SOFT, marker="s", markersize=4, lw=1.0, label="opponent's run"),
        Line2D([], [], color=style.BLACK, linewidth=2.2, label="your run to the bisector"),
    ]


def stroke_figure(question: StrokeQuestion, found: Sequence[AfterStroke]) -> Figure:
    """Four courts side by side, under each how far one gets, and below what is lost."""
    looks = looks_of_policies(found)
    half, (low, high) = view_of(found)
    with style.house_style():
        court = (style.WIDTH_IN - LABELS_IN) / len(found) * (high - low) / (2 * half)
        rows = (court, ROW_IN * len(looks) + 0.1, LOST_ROW_IN * len(found))
        figure = Figure(figsize=(style.WIDTH_IN, sum(rows) + HEADS_IN), layout="constrained")
        grid = figure.add_gridspec(3, len(found), height_ratios=rows)
        for k, one in enumerate(found):
            above, below = figure.add_subplot(grid[0, k]), figure.add_subplot(grid[1, k])
            draw_stroke(above, one, (half, (low, high)))
            time = "not reached" if one.stroke.meets is None else f"{one.stroke.time_s:.2f} s"
            above.set_title(f"{WRAPPED[one.stroke.name]}\n{time}", fontsize=style.SMALL_PT)
            above.set_xticks([])
            draw_reach(below, one, looks)
            below.set_xlim(-half, half)
            below.set_xticks((-4, 0, 4), ("\u22124", "0", "4 m"))
            if k:
                below.set_yticks([])
        parts = (slice(None, len(found) // 2), slice(len(found) // 2, None))
        for part, column in zip(parts, LOST_WORDS, strict=True):
            ax = figure.add_subplot(grid[2, part])
            draw_stroke_losses(ax, found, column, looks)
            if part.start:
                ax.tick_params(labelleft=False)
        scene = question.scene
        text = (
            f"Which own stroke buys the time to recover\n{scene.player.name},"
            f" {scene.hitter.name} opponent, {scene.world.surface.name} court"
        )
        titled_key(figure, text, key_marks(looks))
    return figure


def view_of(found: Sequence[AfterStroke]) -> View:
    """One view for all courts: half its width, and its ends along the court."""
    points = np.array(
        [
            point
            for one in found
            for s in [one.stroke]
            for point in (*s.path_m[:2], s.meets_m[:2], one.start_m, s.waits_m)
        ]
    )
    half = max(DOUBLES_HALF_WIDTH_M, float(np.abs(points[:, 0]).max())) + 0.3
    depths = [*points[:, 1], *(p.reached_m[1] for one in found for p in one.policies)]
    return half, (min(depths) - MARGIN_M, max(depths) + MARGIN_M)
