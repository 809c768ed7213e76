"""The round robin as a heat map: axes in, artists out."""

from __future__ import annotations

from textwrap import fill

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.opponents.answer import Answer
from experiments.drawing.style import INK, SMALL_PT, WIDTH_IN, house_style, title

COLOURS = "cividis"  # even in lightness, the same to readers with any colour vision
DARK = 0.5
ROW_IN, HEADS_IN = 0.36, 1.7


def draw_robin(ax: Axes, answer: Answer) -> list[Artist]:
    """Points won of 100 by policy (down) and opponent (across), with half the 95 % interval."""
    policies = [p.name for p in answer.field.policies]
    opponents = [o.name for o in answer.field.opponents]
    found = {(m.policy, m.opponent): m.points for m in answer.meetings}
    value = np.array([[found[p, o].value for o in opponents] for p in policies])
    image = ax.imshow(value, COLOURS, aspect="auto", gid="round robin")
    artists: list[Artist] = [image]
    middle = value.min() + DARK * (value.max() - value.min())
    for (i, j), points in np.ndenumerate(value):
        e = found[policies[i], opponents[j]]
        light = points < middle
        artists.append(
            ax.text(
                j,
                i,
                f"{points:.0f}\n\u00b1{0.5 * (e.high - e.low):.0f}",
                ha="center",
                va="center",
                fontsize=SMALL_PT,
                linespacing=0.95,
                color="white" if light else INK,
            )
        )
    ax.set_xticks(range(len(opponents)), [o.replace("-", "-\n") for o in opponents])
    ax.set_yticks(range(len(policies)), [fill(p, 16) for p in policies])
    ax.xaxis.tick_top()
    ax.tick_params(length=0)
    for spine in ax.spines.values():
        spine.set_visible(False)
    return artists


def robin_figure(answer: Answer) -> Figure:
    """The figure of the round robin."""
    with house_style():
        tall = ROW_IN * len(answer.field.policies) + HEADS_IN
        figure = Figure(figsize=(WIDTH_IN, tall), layout="constrained")
        draw_robin(figure.add_subplot(), answer)
        words = "Points won of 100 by where you recover to (down)\nand who you play (across)"
        title(figure, words)
    return figure
