"""A solved game on the court: axes in, artists out."""

from __future__ import annotations

from functools import partial

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.game.answer import GameAnswer
from experiments.answers.game.words import used
from experiments.drawing import style
from experiments.drawing.court import LATERAL, court_page, draw_court, steps_axis
from experiments.drawing.spot_marks import beside

TALLEST_BAR_M, LARGEST_PT2 = 2.4, 380.0
HEADS_IN = 1.6


def draw_game(ax: Axes, answer: GameAnswer) -> list[Artist]:
    """The court, the shots of the hitter's mix by share, and the receiver's mix as bars.

    A disc's area and a bar's height are shares; the lines run from the contact to the targets.
    """
    scene, grid, hidden = answer.question.scene, answer.question.grid, answer.hidden
    artists = draw_court(ax, -scene.line_m - TALLEST_BAR_M - 1.2)
    x, y = scene.place.x_m, scene.place.y_m
    artists += ax.plot(x, y, "o", color=style.BLACK, markersize=6, zorder=5, gid="contact")
    for k in used(hidden.columns):
        target, share = (-grid.shots[k, :2]).tolist(), hidden.columns[k]
        way = np.array([(x, y), target])
        artists += ax.plot(*way.T, color=style.BLUE, alpha=0.2 + 0.8 * share)
        disc = ax.scatter(target[0], target[1], LARGEST_PT2 * share, color=style.BLUE, zorder=4)
        disc.set_gid("shot")
        artists.append(disc)
        words = f"{100 * grid.shots[k, 2]:.0f} % speed"
        artists.append(beside(ax, target, words, (0, 7), va="bottom", colour=style.BLUE))
    artists += _draw_places(ax, answer)
    ax.set_xlabel(LATERAL)
    steps_axis(ax)
    return artists


def _draw_places(ax: Axes, answer: GameAnswer) -> list[Artist]:
    """Bars that hang from the waiting line, and the place for when it is seen."""
    x, shares = answer.question.grid.place_x_m, answer.hidden.rows
    line_m = answer.question.scene.line_m
    top = max(float(shares.max()), 1e-9)
    width = 0.8 * float(x[1] - x[0])
    bars = ax.bar(
        x, -TALLEST_BAR_M * shares / top, width, -line_m, color=style.GREEN, zorder=3, gid="places"
    )
    mark = ax.plot(answer.safest_x_m, -line_m, "v", color=style.VERMILLION, markersize=7, zorder=5)
    mark[0].set_gid("safest place")
    words = f"when seen: {answer.safest_x_m:.1f} m".replace("-", "\u2212")
    at = (answer.safest_x_m, -line_m)
    return [*bars, *mark, beside(ax, at, words, (0, 7), va="bottom", colour=style.VERMILLION)]


def game_figure(answer: GameAnswer) -> Figure:
    """The figure of a solved game."""
    scene = answer.question.scene
    text = (
        f"{scene.opponent.name} against {scene.player.name}: both hide their choice\n"
        f"hidden {100 * answer.hidden.value:.1f}, seen {100 * answer.seen.value:.1f}"
        " a hundred balls to the hitter"
    )
    return court_page(text, HEADS_IN, partial(draw_game, answer=answer))
