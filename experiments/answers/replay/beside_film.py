"""The film of two places on the same balls: two courts beside each other, ball after ball."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle
from matplotlib.text import Text

from experiments.answers.replay.animation import (
    BALL_PT,
    EVERY_S,
    PATH_S,
    PT_PER_M,
    SHADOW_M_PER_M,
    moving_line,
)
from experiments.answers.replay.beside import Beside, Shown, outcome_words, rule_words
from experiments.answers.replay.film import write_moving
from experiments.drawing.court import draw_court
from experiments.drawing.one_court import draw_cone, draw_middle
from experiments.drawing.style import BLACK, BLUE, INK, SMALL_PT, SOFT, TEXT_PT, VERMILLION, YELLOW
from experiments.drawing.text_boxes import wrapped
from sim.court import HALF_LENGTH_M
from sim.records import STUDIED

RATES = (20, 10)  # frames in a second
WIDTH_IN, SIDE_IN, GAP_IN = 4.8, 0.06, 0.12
HEAD_IN, FOOT_IN, KEY_IN = 0.66, 1.08, 0.66  # the key: its height in the foot
LEAST_HALF_VIEW_M, ROOM_M, ABOVE_M = 5.8, 1.5, 1.0
MOST_HALF_VIEW_M, BALL_ROOM_M = 8.0, 0.4
NAME_PT = 10.0
BODY_PT, SQUARE_PT, TRIANGLE_PT, CONTACT_PT = 14.0, 5.5, 7.0, 7.0  # a mark stands on the body
CLOSE_M, ROUNDING_S = 0.05, 1e-9


@dataclass
class Side:
    """The artists of one court, moved together."""

    which: int
    trail: Line2D
    body: Line2D
    reach: Circle
    path: Line2D
    bounce: Line2D
    shadow: Line2D
    ball: Line2D
    outcome: Text
    mark: Artist
    contact: Line2D

    @property
    def is_at_middle(self) -> bool:
        return self.mark.get_gid() == "middle"

    @property
    def artists(self) -> list[Artist]:
        """Back to front; the mark of the place, which stays, so that no body hides it."""
        moved = [self.reach, self.trail, self.path, self.body, self.mark, self.bounce]
        return [*moved, self.shadow, self.ball, self.outcome]

    def show(self, shown: Shown, time_s: float) -> None:
        """The ball and the player at that time after the strike; both stop where it ends."""
        track, stroke = shown.tracks[self.which], shown.strokes[self.which]
        at = min(time_s, stroke.end_s)
        x, y, z = track.ball_at(at) if at < stroke.end_s else stroke.way[-1, 1:]
        self.ball.set_data([x], [y])
        self.ball.set_markersize(BALL_PT + PT_PER_M * z)
        self.shadow.set_data([x + SHADOW_M_PER_M * z], [y - SHADOW_M_PER_M * z])
        flown = np.append(np.arange(max(at - PATH_S, 0.0), at, EVERY_S), at)
        self.path.set_data(*np.array([track.ball_at(t)[:2] for t in flown[:-1]] + [(x, y)]).T)
        down = stroke.bounced and stroke.landing_s <= at
        self.bounce.set_data(*(([v] for v in stroke.landing_m) if down else ([], [])))
        times = np.append(np.arange(0.0, at, EVERY_S), at)
        way = track.players[STUDIED].bodies(times)[:, :2]
        self.trail.set_data(*way.T)
        self.body.set_data(*way[-1:].T)
        self.reach.set_center(tuple(way[-1]))
        done = time_s >= stroke.end_s
        self.outcome.set_text(outcome_words(stroke) if done else "")
        self.outcome.set_fontweight("normal" if stroke.met else "bold")


@dataclass
class Pair:
    """Both courts at one moment of the film."""

    beside: Beside
    sides: tuple[Side, Side]
    count: Text

    @property
    def artists(self) -> list[Artist]:
        return [*(a for side in self.sides for a in side.artists), self.count]

    def show(self, time_s: float) -> list[Artist]:
        """Move all to a time of the film."""
        k, after = ball_at(self.beside, time_s)
        for side in self.sides:
            side.show(self.beside.shown[k], after)
        shown = self.beside.shown[k]
        words = f"{k + 1}. {shown.stands_for}"
        self.count.set_text(_fitting(words, WIDTH_IN - 2 * SIDE_IN, NAME_PT, bold=False))
        return self.artists


def ball_at(beside: Beside, time_s: float) -> tuple[int, float]:
    """Which ball is shown at a time of the film, and how long after its strike that is."""
    for k, ball in enumerate(beside.shown):
        lasts = ball.lasts_s + beside.rest_s
        if time_s < lasts or k == len(beside.shown) - 1:
            return k, time_s
        time_s -= lasts
    raise ValueError("no ball is shown")


def beside_figure(beside: Beside) -> tuple[Figure, Pair]:
    """The figure of the film, and what moves on it."""
    half, bottom, top = view_of(beside)
    wide = (WIDTH_IN - 2 * SIDE_IN - GAP_IN) / 2
    tall = wide * (top - bottom) / (2 * half)
    high = round(50 * (tall + HEAD_IN + FOOT_IN)) / 50  # an even number of pixels
    figure = Figure(figsize=(WIDTH_IN, high))
    sides = []
    for k, name in enumerate(beside.names):
        left = SIDE_IN + k * (wide + GAP_IN)
        ax = figure.add_axes((left / WIDTH_IN, FOOT_IN / high, wide / WIDTH_IN, tall / high))
        draw_court(ax, bottom, top, half)
        ax.set(xticks=[], yticks=[])
        missed = f"misses {beside.missed[k]} of {beside.landed}"
        line = f"{_fitting(name, wide, NAME_PT)}\n"
        up = 1 - 0.44 / high
        figure.text(left / WIDTH_IN, up, line.strip(), fontsize=NAME_PT, fontweight="bold")
        figure.text(left / WIDTH_IN, up - 0.17 / high, missed, fontsize=SMALL_PT, color=SOFT)
        sides.append(_side(ax, k, beside))
    rule = "\n".join(wrapped(f"{_who(beside)} {rule_words(beside)}", WIDTH_IN - 0.2, SMALL_PT)[:4])
    look: dict[str, Any] = {"fontsize": SMALL_PT, "color": SOFT, "va": "bottom"}
    figure.text(SIDE_IN / WIDTH_IN, 0.06 / high, rule, **look)
    count = figure.text(SIDE_IN / WIDTH_IN, 1 - 0.13 / high, "", fontsize=NAME_PT, va="center")
    _draw_key(figure, sides, KEY_IN / high)
    pair = Pair(beside, (sides[0], sides[1]), count)
    pair.show(0.0)
    return figure, pair


def _fitting(name: str, width: float, size: float, bold: bool = True) -> str:
    """The first line of a name in that width."""
    lines = wrapped(name, width, size, bold)
    return lines[0] if len(lines) == 1 else f"{lines[0][:-1]}\u2026"


def _draw_key(figure: Figure, sides: Sequence[Side], height: float) -> None:
    """What the marks stand for, in a row at that height of the figure."""
    row: dict[str, Artist] = {}
    for side in sides:
        row.setdefault("middle" if side.is_at_middle else "the other place", side.mark)
    if len(row) < len(sides):  # neither is the middle
        row = {"where the player waits": sides[0].mark}
    row |= {"player": sides[0].body, "opponent strikes": sides[0].contact}
    figure.legend(
        [_in_the_key(line) for line in row.values()],
        list(row),
        loc="lower left",
        bbox_to_anchor=(0.0, height),
        ncols=len(row),
        handletextpad=0.4,
        columnspacing=1.2,
        borderaxespad=0.0,
        borderpad=0.2,
    )


def _in_the_key(line: Artist) -> Line2D:
    """The same mark without a place."""
    out = Line2D([], [])
    out.update_from(line)
    return out


def _who(beside: Beside) -> str:
    """Who plays: the name in a player file with the level that it rests on, or a level."""
    game = beside.replay.game
    me = game.studied.player
    level = f" (level {me.level})" if me.level and me.level != me.name else ""
    return f"{me.name}{level}, {game.opponent.shots.name} opponent; model results."


def view_of(beside: Beside) -> tuple[float, float, float]:
    """Half the width, the bottom and the top (m) that hold the players, the contact and, in a width
    that can still be seen, the balls."""
    runs = []
    for ball in beside.shown:
        for track, stroke in zip(ball.tracks, ball.strokes, strict=True):
            times = np.linspace(0.0, stroke.end_s, 20)
            runs.append(track.players[STUDIED].bodies(times)[:, :2])
    places, contact = np.vstack(runs), beside.shown[0].strokes[0].way[0, 1:3]
    widest = max(float(np.abs(places[:, 0]).max()), abs(float(contact[0])))
    bottom = min(float(places[:, 1].min()), -HALF_LENGTH_M) - ROOM_M
    ways = np.vstack([stroke.way[:, 1:3] for ball in beside.shown for stroke in ball.strokes])
    flown = float(np.abs(ways[ways[:, 1] > bottom, 0]).max())
    half = max(LEAST_HALF_VIEW_M, widest + ROOM_M, min(flown + BALL_ROOM_M, MOST_HALF_VIEW_M))
    return half, bottom, max(float(contact[1]), HALF_LENGTH_M) + ABOVE_M


def _side(ax: Axes, which: int, beside: Beside) -> Side:
    radius = beside.shown[0].tracks[which].players[STUDIED].reach_m[1]
    reach = Circle((0.0, 0.0), radius, facecolor=BLUE, alpha=0.18, edgecolor=BLUE, zorder=3)
    ax.add_patch(reach)
    look: dict[str, Any] = {"transform": ax.transAxes, "fontsize": TEXT_PT, "va": "top"}
    contact = beside.shown[0].strokes[which].way[0, 1:3, None]
    return Side(
        which,
        moving_line(ax, "", "trail", BLUE, 3.5, linestyle="-", linewidth=1.8),
        moving_line(ax, "o", "body", BLUE, 6, markeredgecolor="white", markersize=BODY_PT),
        reach,
        moving_line(ax, "", "path", INK, 5, linestyle="-", linewidth=1.2),
        moving_line(ax, "o", "bounce", INK, 3.2, markerfacecolor="white", markersize=6),
        moving_line(ax, "o", "shadow", INK, 6.5, markersize=4, alpha=0.4, markeredgewidth=0),
        moving_line(ax, "o", "ball", BLACK, 7, markerfacecolor=YELLOW, markeredgewidth=0.9),
        ax.text(0.5, -0.012, "", ha="center", **look),
        _mark(ax, *beside.shown[0].strokes[which].receiver_m),
        moving_line(ax, "X", "contact", VERMILLION, 4, markersize=CONTACT_PT, data=contact),
    )


def _mark(ax: Axes, x: float, y: float) -> Artist:
    """The place where the player waits: a square at the middle, else a triangle, over the body."""
    if abs(x) < CLOSE_M:
        (mark,) = draw_middle(ax, y, SQUARE_PT)
        mark.set(markeredgecolor="white")
    else:
        (mark,) = draw_cone(ax, x, y, TRIANGLE_PT)
    mark.set_zorder(6.2)
    return mark


def write_beside(beside: Beside, path: Path, slowed: float = 1.0) -> Path:
    """Write the film.

    Raises:
        InputError: as `write_film`.
    """
    draw = partial(beside_figure, beside)
    return write_moving(path, draw, beside.end_s, slowed, RATES, rests_of(beside))


def rests_of(beside: Beside) -> list[tuple[float, float]]:
    """From when to when nothing moves: after each ball, at last for good."""
    ends = np.cumsum([ball.lasts_s + beside.rest_s for ball in beside.shown]).tolist()
    begins = [end - beside.rest_s + ROUNDING_S for end in ends]
    return list(zip(begins, [*ends[:-1], math.inf], strict=True))
