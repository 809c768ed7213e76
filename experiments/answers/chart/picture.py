"""A chart on the court: axes in, artists out."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.chart.answer import ChartAdvice, ChartQuestion
from experiments.answers.spot.picture import spot_figure
from experiments.drawing.spot_marks import HALO
from experiments.drawing.style import ORANGE, PURPLE, SMALL_PT
from strategies.charts.reading import Chart
from strategies.directions import hand_of

FAINTEST = 0.12


def draw_chart(ax: Axes, chart: Chart, counts: list[float]) -> list[Artist]:
    """The strokes as lines from contact to bounce, fainter where they count less.

    `counts` holds how much each stroke that bounced counts, from 0 to 1, in the order of the chart.
    """
    artists: list[Artist] = []
    bounced = [s for s in chart.strokes if s.bounce_x_m is not None]
    for stroke, count in zip(bounced, counts, strict=True):
        x = np.array([stroke.contact_x_m, stroke.bounce_x_m], float)
        y = np.array([stroke.contact_y_m, stroke.bounce_y_m], float)
        alpha = FAINTEST + (1.0 - FAINTEST) * 0.8 * count
        artists += ax.plot(
            x, y, color=ORANGE, linewidth=0.7, alpha=alpha, zorder=1.8, gid="charted stroke"
        )
        artists += ax.plot(
            x[1], y[1], ".", color=ORANGE, markersize=5, alpha=alpha, zorder=1.9, gid="bounce"
        )
    return artists


def draw_precision(ax: Axes, interval_m: tuple[float, float], y: float) -> list[Artist]:
    """The range of resampled best places as a bar with ends, at height `y` of the axes' data."""
    bar = ax.plot(interval_m, (y, y), color=PURPLE, marker="|", markersize=7, linewidth=1.4)
    bar[0].set(zorder=5, gid="resampled")
    text = ax.annotate(
        "best place of 95 in 100\nresampled charts",
        (interval_m[0], y),
        (-6, 0),
        textcoords="offset points",
        ha="right",
        va="center",
        fontsize=SMALL_PT,
        color=PURPLE,
        path_effects=HALO,
        zorder=6,
    )
    return [*bar, text]


def advice_figure(advice: ChartAdvice) -> Figure:
    """The figure of a spot with the chart's strokes and the precision of its best place."""
    question = advice.spot.question
    assert isinstance(question, ChartQuestion)
    figure = spot_figure(advice.spot)
    court, curve = figure.axes[0], figure.axes[1]
    near = question.belief.nearness(question.contact, hand_of(question.opponent))[0]
    draw_chart(court, question.charted.strokes, [float(v) for v in near])
    low, high = curve.get_ylim()
    draw_precision(curve, advice.interval_m, high - 0.22 * (high - low))
    return figure
