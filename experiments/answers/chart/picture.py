"""A chart on the court, and where its receivers stood: axes in, artists out."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.chart.answer import ChartAdvice
from experiments.answers.chart.stood import REMINDER, WHOLE, StoodAnswer, parts_of
from experiments.answers.spot.picture import spot_figure
from experiments.drawing import style
from experiments.drawing.spot_marks import beside

STOOD_IN = 4.6
FAINTEST, DOWN = 0.12, 0.22  # the faintest stroke; where the interval stands below the curve's top


def draw_chart(ax: Axes, advice: ChartAdvice) -> list[Artist]:
    """The strokes as lines from contact to bounce, fainter where they count less."""
    artists: list[Artist] = []
    bounced = advice.chart.directed
    for stroke, count in zip(bounced, advice.counts.tolist(), strict=True):
        x = np.array([stroke.contact_x_m, stroke.bounce_x_m], float)
        y = np.array([stroke.contact_y_m, stroke.bounce_y_m], float)
        look = {"color": style.ORANGE, "alpha": FAINTEST + (1.0 - FAINTEST) * 0.8 * count}
        artists += ax.plot(x, y, linewidth=0.7, zorder=1.8, gid="charted stroke", **look)
        artists += ax.plot(x[1], y[1], ".", markersize=5, zorder=1.9, gid="bounce", **look)
    return artists


def draw_precision(ax: Axes, advice: ChartAdvice) -> list[Artist]:
    """The range of resampled best places as a bar with ends, near the top of a spot's curve."""
    interval, (low, high) = advice.interval_m, ax.get_ylim()
    y = high - DOWN * (high - low)
    bar = ax.plot(interval, (y, y), color=style.PURPLE, marker="|", markersize=7, linewidth=1.4)
    bar[0].set(zorder=5, gid="resampled")
    words = "best place of 95 in 100\nresampled charts"
    return [*bar, beside(ax, (interval[0], y), words, (-6, 0), "right", colour=style.PURPLE)]


def advice_figure(advice: ChartAdvice) -> Figure:
    """The figure of a spot with the chart's strokes and the precision of its best place."""
    figure = spot_figure(advice.spot)
    court, curve = figure.axes[0], figure.axes[1]
    draw_chart(court, advice)
    draw_precision(curve, advice)
    return figure


def draw_stood(ax: Axes, found: StoodAnswer) -> list[Artist]:
    """Receiver's place over the opponent's contact, a dot a stroke; means by bin as lines."""
    parts = [inside for words, inside in parts_of(found.contact_x_m) if words != WHOLE]
    x = [float(found.contact_x_m[inside].mean()) for inside in parts]
    dots = ax.plot(
        found.contact_x_m, found.stood_x_m, ".", color=style.SOFT, alpha=0.6, gid="stroke"
    )
    artists: list[Artist] = [*dots]
    for k, (name, look) in enumerate(style.looks_of(found.policies).items()):
        y = [float(found.policy_x_m[inside, k].mean()) for inside in parts]
        line = ax.plot(x, y, look.marker, linestyle=":", color=look.colour, markersize=5)
        line[0].set_label(name)
        line[0].set_gid(f"policy {name}")
        artists += line
    mean = [float(np.mean(found.stood_x_m[inside])) for inside in parts]
    artists += ax.plot(
        x, mean, "o-", color=style.BLACK, linewidth=2.2, zorder=5, label="stood (mean)", gid="mean"
    )
    ax.grid(color=style.FAINT, linewidth=0.5)
    ax.set_xlabel("opponent's contact (m to your right of the centre)")
    ax.set_ylabel("receiver (m to the right of the centre)")
    return artists


def stood_figure(found: StoodAnswer) -> Figure:
    """The figure of where players stood."""
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, STOOD_IN), layout="constrained")
        draw_stood(figure.add_subplot(), found)
        figure.legend(loc="outside lower center", ncols=3)
        style.title(figure, f"Where players stood ({found.chart.name})\n{REMINDER}")
    return figure
