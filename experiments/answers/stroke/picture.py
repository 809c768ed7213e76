"""Own strokes and what follows: the court from above, how far one gets, what is lost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.stroke.answer import BEST, REFERENCE
from experiments.answers.stroke.recovery import AfterStroke
from experiments.answers.stroke.strokes import StrokeQuestion
from experiments.drawing.court import DOUBLES_HALF_WIDTH_M, draw_court
from experiments.drawing.spot_marks import shortened
from experiments.drawing.study_marks import dodge
from experiments.drawing.style import (
    BLACK,
    BLUE,
    FAINT,
    GREEN,
    SMALL_PT,
    SOFT,
    TEXT_PT,
    WIDTH_IN,
    Look,
    house_style,
    looks_of,
    wrapped,
)

MARGIN_M, HEAD_CHARACTERS, ROW_CHARACTERS = 0.9, 52, 14
ROW_IN, LOST_ROW_IN, HEADS_IN, LABELS_IN = 0.2, 0.36, 2.75, 0.95
WRAPPED = {
    "crosscourt": "crosscourt\ndrive",
    "middle": "drive to\nthe middle",
    "down-the-line": "drive down\nthe line",
    "high": "high\nslow ball",
}
LOST_WORDS = {"missed": "missed per 100", "not_returned": "not returned per 100"}


def looks_of_policies(found: Sequence[AfterStroke]) -> dict[str, Look]:
    """A look for each policy that any of the answers has; the best aim is green as elsewhere."""
    names = list(dict.fromkeys(p.name for one in found for p in one.policies))
    looks = looks_of(name for name in names if name != BEST)
    return {name: looks.get(name, Look(GREEN, "D")) for name in names}


def draw_stroke(
    ax: Axes, one: AfterStroke, half_view_m: float, ends_m: tuple[float, float]
) -> list[Artist]:
    """One own stroke from above: the ball, the opponent's run, and the run to the bisector.

    The ball is dashed after its bounce; the opponent runs from the ring to the square.
    """
    s = one.stroke
    artists = draw_court(ax, *ends_m, half_view_m)
    ax.set_yticks([])
    flight, after = s.path_m[:2], s.path_m[1:]
    artists += ax.plot(*flight.T, color=BLUE, zorder=3, gid="flight")
    artists += ax.plot(*after.T, color=BLUE, linestyle=(0, (2, 1.2)), zorder=3, gid="after")
    artists += ax.plot(
        *s.bounce_m,
        "o",
        color=BLUE,
        markerfacecolor="white",
        markersize=3.5,
        zorder=4,
        gid="bounce",
    )
    artists += ax.plot(*flight[0], "o", color=BLACK, markersize=4, zorder=5, gid="own contact")
    artists += ax.plot(
        *s.waits_m, "s", color=SOFT, mfc="white", markersize=4, zorder=4, gid="opponent waits"
    )
    if s.meets is None:
        return artists
    x, y, _ = s.meets_m
    artists += ax.plot(
        (s.waits_m[0], x),
        (s.waits_m[1], y),
        color=SOFT,
        linewidth=1.0,
        zorder=2,
        gid="opponent's run",
    )
    artists += ax.plot(x, y, "s", color=SOFT, markersize=4, zorder=5, gid="opponent's contact")
    to = one.by_name[REFERENCE]
    run = np.array([one.start_m, to.reached_m])
    artists += ax.plot(*run.T, color=BLACK, linewidth=2.2, zorder=4, gid="own run")
    return artists


def draw_reach(ax: Axes, one: AfterStroke, looks: dict[str, Look]) -> list[Artist]:
    """By policy, a row each: where it aims (ring) and how far it gets in time (filled)."""
    artists: list[Artist] = []
    names = list(looks)
    if one.best is not None:
        low, high = one.best.low_m, one.best.high_m
        artists.append(ax.axvspan(low, high, color=GREEN, alpha=0.2, linewidth=0, gid="best range"))
    for policy in one.policies:
        row, look = names.index(policy.name), looks[policy.name]
        x = (one.start_m[0], policy.reached_m[0])
        artists += ax.plot(x, (row, row), color=look.colour, linewidth=1.6, gid="run")
        rest = (policy.reached_m[0], policy.spot_m[0])
        artists += ax.plot(rest, (row, row), ":", color=look.colour, linewidth=1.2, gid="short")
        artists += ax.plot(
            policy.spot_m[0],
            row,
            look.marker,
            color=look.colour,
            markerfacecolor="white",
            markersize=5.5,
            zorder=3,
            gid=f"aim {policy.name}",
        )
        artists += ax.plot(
            policy.reached_m[0],
            row,
            look.marker,
            color=look.colour,
            markersize=3.2,
            zorder=4,
            gid=f"reached {policy.name}",
        )
    ax.axvline(0.0, color=FAINT, linewidth=0.8, zorder=0)
    ax.set_ylim(len(names) - 0.4, -0.6)
    ax.set_yticks(range(len(names)), [wrapped(name, ROW_CHARACTERS) for name in names])
    ax.tick_params(axis="y", length=0)
    return artists


def draw_stroke_losses(
    ax: Axes, found: Sequence[AfterStroke], looks: dict[str, Look], column: str
) -> list[Artist]:
    """Balls `missed` or `not_returned` of 100, by stroke and policy, with intervals."""
    artists: list[Artist] = []
    for row, one in enumerate(found):
        for policy in one.policies:
            look, e = looks[policy.name], policy.lost(column)
            at = row + dodge(list(looks).index(policy.name), len(looks))
            drawn = ax.errorbar(
                e.value,
                at,
                xerr=np.maximum([[e.value - e.low], [e.high - e.value]], 0.0),
                fmt=look.marker,
                color=look.colour,
                markersize=4.0,
                markeredgecolor="white",
                markeredgewidth=0.5,
                elinewidth=1.0,
            )
            artists += drawn.get_children()
    for edge in np.arange(len(found) - 1) + 0.5:
        artists.append(ax.axhline(edge, color=FAINT, linewidth=0.6, zorder=0.5))
    ax.set_ylim(len(found) - 0.5, -0.5)
    ax.set_yticks(range(len(found)), [WRAPPED[one.stroke.name] for one in found])
    ax.tick_params(axis="y", length=0)
    ax.grid(axis="x", color=FAINT, linewidth=0.5)
    ax.set_axisbelow(True)
    ax.set_xlim(left=-0.03 * ax.get_xlim()[1])
    ax.set_xlabel(LOST_WORDS[column])
    return artists


def key_marks(looks: dict[str, Look]) -> list[Artist]:
    """The marks that a legend of this picture needs."""
    marks: list[Artist] = [
        Line2D(
            [],
            [],
            color=look.colour,
            marker=look.marker,
            markersize=4.5,
            ls="",
            label=shortened(name),
        )
        for name, look in looks.items()
    ]
    marks += [
        Patch(color=GREEN, alpha=0.2, linewidth=0, label="best aims"),
        Line2D([], [], color=BLUE, linewidth=1.4, label="ball, dashed after the bounce"),
        Line2D([], [], color=SOFT, marker="s", markersize=4, lw=1.0, label="opponent's run"),
        Line2D([], [], color=BLACK, linewidth=2.2, label="your run to the bisector"),
        Line2D(
            [], [], color=BLACK, marker="o", ls="", mfc="white", label="aimed at; filled: reached"
        ),
    ]
    return marks


def stroke_figure(question: StrokeQuestion, found: Sequence[AfterStroke]) -> Figure:
    """Four courts side by side, under each how far one gets, and below what is lost."""
    looks = looks_of_policies(found)
    half, (low, high) = _view(found)
    with house_style():
        court = (WIDTH_IN - LABELS_IN) / len(found) * (high - low) / (2 * half)
        rows = (court, ROW_IN * len(looks) + 0.1, LOST_ROW_IN * len(found))
        figure = Figure(figsize=(WIDTH_IN, sum(rows) + HEADS_IN), layout="constrained")
        grid = figure.add_gridspec(3, len(found), height_ratios=rows)
        for k, one in enumerate(found):
            above, below = figure.add_subplot(grid[0, k]), figure.add_subplot(grid[1, k])
            draw_stroke(above, one, half, (low, high))
            time = "not reached" if one.stroke.meets is None else f"{one.stroke.time_s:.2f} s"
            above.set_title(f"{WRAPPED[one.stroke.name]}\n{time}", fontsize=SMALL_PT)
            above.set_xticks([])
            draw_reach(below, one, looks)
            below.set_xlim(-half, half)
            below.set_xticks((-4, 0, 4), ("\u22124", "0", "4 m"))
            if k:
                below.set_yticks([])
        parts = (slice(None, len(found) // 2), slice(len(found) // 2, None))
        for part, column in zip(parts, LOST_WORDS, strict=True):
            ax = figure.add_subplot(grid[2, part])
            draw_stroke_losses(ax, found, looks, column)
            if part.start:
                ax.tick_params(labelleft=False)
        _head(figure, question, looks)
    return figure


def _head(figure: Figure, question: StrokeQuestion, looks: dict[str, Look]) -> None:
    figure.legend(
        handles=key_marks(looks),
        loc="outside upper left",
        ncols=2,
        title=wrapped(
            f"Which own stroke buys the time to recover\n{question.player.name},"
            f" {question.hitter.name} opponent, {question.world.surface.name} court",
            HEAD_CHARACTERS,
        ),
        alignment="left",
        title_fontproperties={"size": TEXT_PT + 1, "weight": "bold"},
    )


def _view(found: Sequence[AfterStroke]) -> tuple[float, tuple[float, float]]:
    """One view for all courts: half its width, and its ends along the court."""
    parts = [
        np.vstack(
            [one.stroke.path_m[:2], [one.stroke.meets_m[:2], one.start_m, one.stroke.waits_m]]
        )
        for one in found
    ]
    points = np.concatenate(parts)
    half = max(DOUBLES_HALF_WIDTH_M, float(np.abs(points[:, 0]).max())) + 0.3
    depths = [*points[:, 1], *(p.reached_m[1] for one in found for p in one.policies)]
    return half, (min(depths) - MARGIN_M, max(depths) + MARGIN_M)
