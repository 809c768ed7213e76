"""The pictures of the handout: no words in them, only numbers and marks. Axes in, artists out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes

from experiments.answers.handout.answer import Handout
from experiments.answers.spot.answer import MissedBalls
from experiments.answers.spot.picture import draw_missed
from experiments.balls.angle import Angle
from experiments.drawing.court import draw_best_range, draw_court, draw_flights, draw_waiting_line
from experiments.drawing.one_court import (
    RING_PT,
    draw_cone,
    draw_middle,
    steps_below,
    ticks_every,
)
from experiments.drawing.spot_marks import beside
from experiments.drawing.style import BLACK, FAINT, INK, SOFT
from experiments.scene.sides import STEP_M

HALF_VIEW_M = 6.2
ABOVE_M, BELOW_M = 2.2, 2.0  # around the outermost contact and the waiting line
NUMBER_PT, NUMBER_MARK_PT = 7.0, 10.0
SMALL_CONE_PT = 6.5
BEHIND_M, FAN_M = 4.6, 2.0  # room for the numbers behind the waiting line, and from cone to number


@dataclass(frozen=True)
class Cone:
    """A numbered contact place (x, y) and its cone and best range on the waiting line, in m."""

    number: str
    contact_m: tuple[float, float]
    cone_x_m: float
    best_m: tuple[float, float]


def cones_of(found: Handout) -> list[Cone]:
    """The places of a handout from left to right."""
    out = []
    for i, station in enumerate(found.stations):
        place, best = station.place, station.spot.best
        ends = (best.low_m, best.high_m)
        out.append(Cone(str(i + 1), (place.x_m, place.y_m), station.cone_x_m, ends))
    return out


def draw_one(ax: Axes, angle: Angle, cone: Cone, missed: MissedBalls) -> list[Artist]:
    """The court with the two extreme drives from one contact place, the cone and the middle.

    A cross stands where a ball bounces that is missed from the middle.
    """
    x, y = angle.contact_m
    half, top = _view([cone])
    artists = draw_court(ax, -(angle.line_m + BELOW_M), top, half)
    artists += draw_flights(ax, angle, RING_PT)
    artists += draw_missed(ax, missed)
    artists += draw_waiting_line(ax, angle.line_m, cone.best_m)
    artists += draw_middle(ax, -angle.line_m) + draw_cone(ax, cone.cone_x_m, -angle.line_m)
    artists += draw_number(ax, x, y, cone.number)
    return artists + steps_below(ax, ticks_every(half))


def draw_all(ax: Axes, cones: Sequence[Cone], line_m: float) -> list[Artist]:
    """The court with all contact places and their cones; numbers tie the two together."""
    half, top = _view(cones)
    artists = draw_court(ax, -(line_m + BEHIND_M), top, half)
    ax.set(xticks=[], yticks=[])
    artists += draw_waiting_line(ax, line_m, None)
    artists += draw_middle(ax, -line_m)
    ordered = sorted(cones, key=lambda c: (c.cone_x_m, c.number))
    apart = 2 * half / (len(ordered) + 0.5)
    for i, cone in enumerate(ordered):
        at = (i - (len(ordered) - 1) / 2) * apart
        artists += ax.plot(
            (cone.cone_x_m, at), (-line_m, -line_m - FAN_M), color=SOFT, linewidth=0.7, zorder=3
        )
        artists += draw_cone(ax, cone.cone_x_m, -line_m, SMALL_CONE_PT)
        artists += draw_number(ax, at, -line_m - FAN_M - 0.5, cone.number)
        artists += draw_number(ax, *cone.contact_m, cone.number)
    return artists


def draw_rows(ax: Axes, cones: Sequence[Cone]) -> list[Artist]:
    """A row for each contact place from the top: best range as a band, cone and middle marked."""
    artists: list[Artist] = [ax.axvline(0.0, color=INK, linewidth=0.8, zorder=2)]
    for i, cone in enumerate(cones):
        artists.append(draw_best_range(ax, cone.best_m, -i))
        artists += draw_middle(ax, -i) + draw_cone(ax, cone.cone_x_m, -i)
    widest = max(abs(v) for c in cones for v in (*c.best_m, c.cone_x_m))
    half = STEP_M * (np.ceil(widest / STEP_M) + 0.5)
    ax.set(xlim=(-half, half), ylim=(-len(cones) + 0.4, 0.6), yticks=[])
    ax.spines["left"].set_visible(False)
    steps_below(ax, 1 if half < 4 else 2)
    ax.grid(axis="x", color=FAINT, linewidth=0.5)
    ax.set_axisbelow(True)
    return artists


def draw_number(ax: Axes, x: float, y: float, number: str) -> list[Artist]:
    """A number in a circle."""
    (ring,) = ax.plot(x, y, "o", color=BLACK, gid=f"number {number}", clip_on=False)
    ring.set(markerfacecolor="white", markeredgewidth=0.9, markersize=NUMBER_MARK_PT, zorder=6)
    look: dict[str, Any] = {"fontsize": NUMBER_PT, "fontweight": "bold", "zorder": 7}
    return [ring, beside(ax, (x, y), number, va="center_baseline", path_effects=None, **look)]


def _view(cones: Sequence[Cone]) -> tuple[float, float]:
    """Half the width and the top of the view, with room around the outermost contacts."""
    widest = max(abs(c.contact_m[0]) for c in cones)
    farthest = max(c.contact_m[1] for c in cones)
    return max(HALF_VIEW_M, widest + 1.2), max(12.0 + ABOVE_M, farthest + ABOVE_M)
