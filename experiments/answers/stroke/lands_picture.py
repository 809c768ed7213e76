"""One drive deep and short: the opponent's angle from above, and what each depth costs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from experiments.answers.stroke.lands import LandsAt, LandsQuestion, met
from experiments.answers.stroke.picture import (
    View,
    draw_losses_by,
    draw_stroke,
    key_of_court,
    looks_of_policies,
    view_of,
)
from experiments.answers.stroke.words import NAMES, REFERENCE
from experiments.drawing import style
from experiments.drawing.court import draw_flights
from experiments.drawing.spot_marks import shortened
from experiments.drawing.study_marks import draw_rows, legend_marks
from experiments.drawing.style import titled_key
from experiments.statistics.words import estimate_json

ROW_IN, HEADS_IN, LABELS_IN, LEAST_ROWS_IN = 0.4, 2.5, 0.8, 0.9
ANGLE, BISECTOR_LOOK = style.PURPLE, style.looks_of((REFERENCE,))[REFERENCE]


def draw_short(ax: Axes, one: LandsAt, view: View | None = None) -> list[Artist]:
    """One depth from above: the ball, where the opponent meets it, and the opponent's angle."""
    artists = draw_stroke(ax, one.after, view)
    if one.angle is not None:
        drives = draw_flights(ax, one.angle, 3.0)
        for line in drives:
            line.set(color=ANGLE, linewidth=1.1, gid=f"angle {line.get_gid()}")
        ends = np.array([one.angle.contact_m, (one.angle.bisector_x_m, -one.angle.line_m)])
        artists += drives
        artists += ax.plot(*ends.T, ":", color=ANGLE, linewidth=1.0, zorder=2.5, gid="bisector")
    angle = "not reached" if one.angle is None else f"angle {one.angle_deg:.1f}\N{DEGREE SIGN}"
    ax.set_title(f"lands {one.lands_m:g} m from the net\n{angle}", fontsize=style.SMALL_PT)
    ax.set_xticks([])
    return artists


def draw_points(
    ax: Axes, found: Sequence[LandsAt], look: style.Look = BISECTOR_LOOK
) -> list[Artist]:
    """Points won of 100 in whole rallies, the bisector throughout, by depth, with intervals."""
    names = [_row(one) for one in found]
    cells = [{"lands": _row(o), "of": "points won", **estimate_json(o.points)} for o in met(found)]
    columns = ["lands", "of", "estimate", "low", "high"]
    frame = pd.DataFrame(cells, columns=columns)
    artists = draw_rows(ax, frame, ("lands", names), ("of", {"points won": look}))
    ax.set_xlabel("points won of 100")
    return artists


def _row(one: LandsAt) -> str:
    return f"{one.lands_m:g} m"


def lands_figure(question: LandsQuestion, found: Sequence[LandsAt]) -> Figure:
    """The deepest and the shortest ball side by side, and below what all depths cost."""
    pair, strokes = (found[0], found[-1]), [one.after for one in found]
    looks = looks_of_policies(strokes)
    half, (low, high) = view_of(strokes)
    with style.house_style():
        court = (style.WIDTH_IN - LABELS_IN) / 3 * (high - low) / (2 * half)
        below = max(ROW_IN * len(found), LEAST_ROWS_IN)
        figure = Figure(figsize=(style.WIDTH_IN, court + below + HEADS_IN), layout="constrained")
        grid = figure.add_gridspec(2, 2, height_ratios=(court, below))
        for k, one in enumerate(pair):
            draw_short(figure.add_subplot(grid[0, k]), one, (half, (low, high)))
        losses, points = figure.add_subplot(grid[1, 0]), figure.add_subplot(grid[1, 1])
        draw_losses_by(losses, [(_row(o), o.after) for o in found], "not_returned", looks)
        losses.set_ylabel("lands at")
        draw_points(points, found, looks.get(REFERENCE, BISECTOR_LOOK))
        points.tick_params(labelleft=False)
        scene = question.asked.scene
        text = (
            f"What a short ball costs: {NAMES[question.drive]}\n{scene.player.name},"
            f" {scene.hitter.name} opponent, {scene.world.surface.name} court"
        )
        titled_key(figure, text, _key(looks))
    return figure


def _key(looks: dict[str, style.Look]) -> list[Artist]:
    marks: list[Artist] = [*legend_marks(looks)]
    for mark in marks:
        mark.set_label(shortened(str(mark.get_label())))
    opponent = (
        ("-", "opponent's outermost drives"),
        (":", "bisector of their angle"),
    )
    drives = [
        Line2D([], [], color=ANGLE, linewidth=1.1, ls=line, label=label) for line, label in opponent
    ]
    return [*marks, *key_of_court(), *drives]
