"""The chance to see the foretold difference, by the number of balls fed."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.trial.answer import Trial
from experiments.answers.trial.plan_words import where
from experiments.drawing import style
from experiments.drawing.style import (
    BLACK,
    BLUE,
    FAINT,
    GREEN,
    ORANGE,
    SKY,
    SOFT,
    VERMILLION,
)

POINTS = 16
LOOKS = ((BLUE, "o"), (SKY, "s"), (GREEN, "^"), (ORANGE, "D"), (VERMILLION, "v"))


def draw_trial(ax: Axes, trial: Trial) -> list[Artist]:
    """A curve for each place whose cone is not the middle, and one for those chosen together."""
    asked, step = trial.question, trial.question.practice.pairs_a_set
    most = trial.most_pairs // step
    pairs = np.unique(np.linspace(1, most, min(POINTS, most)).astype(int)) * step
    artists: list[Artist] = [
        ax.axhline(100 * asked.power, color=SOFT, linewidth=0.8, linestyle=":")
    ]
    for feed in (f for f in trial.places if f.compares):
        colour, marker = LOOKS[feed.number - 1]
        seen = [100 * trial.chance([feed], int(n)) for n in pairs]
        label = f"{feed.number}: {where(feed)}"
        artists += ax.plot(2 * pairs, seen, color=colour, marker=marker, markersize=3, label=label)
    if len(trial.feeds) > 1:
        seen = [100 * trial.chance(trial.feeds, int(n)) for n in pairs]
        names = " and ".join(str(f.number) for f in trial.feeds)
        artists += ax.plot(2 * pairs, seen, color=BLACK, linewidth=2, label=f"{names} together")
    ax.set(ylim=(0, 101), xlim=(0, 2 * trial.most_pairs))
    ax.set(xlabel="balls fed, half from the cone", ylabel="trials of 100 that show it")
    ax.grid(color=FAINT, linewidth=0.5)
    return artists


def power_figure(trial: Trial) -> Figure:
    """The picture with its title and key."""
    scene, asked = trial.question.scene, trial.question
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, 4.2), layout="constrained")
        ax = figure.add_subplot()
        draw_trial(ax, trial)
        text = (
            f"How many fed balls show cone against middle: {scene.player.name},"
            f" {asked.policy.name}, balls {asked.counts}"
        )
        style.title(figure, text)
        if handles := ax.get_legend_handles_labels()[0]:
            figure.legend(
                handles=handles,
                loc="outside lower center",
                ncols=2,
                title="fed from",
                title_fontsize=style.SMALL_PT,
            )
    return figure
