"""Where players stood beside where policies stand: axes in, artists out."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.chart.stood import REMINDER, WHOLE, StoodAnswer, parts_of
from experiments.drawing.style import BLACK, FAINT, SOFT, WIDTH_IN, house_style, looks_of, title

TALL_IN = 4.6


def draw_stood(ax: Axes, found: StoodAnswer) -> list[Artist]:
    """Receiver's place over the opponent's contact, a dot a stroke; means by bin as lines."""
    parts = [inside for words, inside in parts_of(found.contact_x_m) if words != WHOLE]
    x = [float(found.contact_x_m[inside].mean()) for inside in parts]
    dots = ax.plot(found.contact_x_m, found.stood_x_m, ".", color=SOFT, alpha=0.6, gid="stroke")
    artists: list[Artist] = [*dots]
    for k, (name, look) in enumerate(looks_of(found.policies).items()):
        y = [float(found.policy_x_m[inside, k].mean()) for inside in parts]
        line = ax.plot(x, y, look.marker, linestyle=":", color=look.colour, markersize=5)
        line[0].set_label(name)
        line[0].set_gid(f"policy {name}")
        artists += line
    mean = [float(np.mean(found.stood_x_m[inside])) for inside in parts]
    artists += ax.plot(
        x, mean, "o-", color=BLACK, linewidth=2.2, zorder=5, label="stood (mean)", gid="mean"
    )
    ax.grid(color=FAINT, linewidth=0.5)
    ax.set_xlabel("opponent's contact (m to your right of the centre)")
    ax.set_ylabel("receiver (m to the right of the centre)")
    return artists


def stood_figure(found: StoodAnswer) -> Figure:
    """The figure of where players stood."""
    with house_style():
        figure = Figure(figsize=(WIDTH_IN, TALL_IN), layout="constrained")
        draw_stood(figure.add_subplot(), found)
        figure.legend(loc="outside lower center", ncols=3)
        title(figure, f"Where players stood ({found.chart.name})\n{REMINDER}")
    return figure
