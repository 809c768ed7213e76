"""The fan of a contact on the court: axes in, artists out."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import Colormap
from matplotlib.figure import Figure

from experiments.answers.angle.answer import STEP_DEG, Fan
from experiments.drawing.court import (
    HALF_VIEW_M,
    LATERAL,
    ROOM_M,
    TOP_VIEW_M,
    court_page,
    draw_court,
    draw_waiting_line,
    steps_axis,
)
from experiments.drawing.style import BLACK

COLOURS, BELOW_M, HEADS_IN, EDGE_M = "cividis", 1.0, 1.7, 0.5


def draw_fan(ax: Axes, fan: Fan) -> list[Artist]:
    """The court, and a wedge a direction, shaded by the least time; a dot where that ball bounces.

    The first of the artists after the court's is the collection that a colour bar needs.
    """
    q = fan.scene
    x, y = q.place.x_m, q.place.y_m
    widest = float(np.abs(fan.end_m[:, 0]).max()) + EDGE_M
    half, top = max(HALF_VIEW_M, abs(x) + ROOM_M, widest), max(TOP_VIEW_M, y + ROOM_M)
    court = draw_court(ax, -q.line_m - BELOW_M, top, half)
    wedges = draw_wedges(ax, fan)
    artists: list[Artist] = [wedges, *court]
    artists += ax.plot(
        *fan.bounce_m.T, ".", color="white", markeredgecolor=BLACK, markersize=5, gid="bounce"
    )
    artists += ax.plot(x, y, "o", color=BLACK, markersize=6, zorder=5, gid="contact")
    artists += draw_waiting_line(ax, q.line_m, None)
    ax.set_xlabel(LATERAL)
    steps_axis(ax)
    return artists


def draw_wedges(
    ax: Axes,
    fan: Fan,
    colours: str | Colormap = f"{COLOURS}_r",
    alpha: float = 0.75,
    zorder: float = 1.7,
) -> PolyCollection:
    """A wedge a direction, shaded by the least time in the given colours."""
    wedges = PolyCollection(
        [wedge(fan, k) for k in range(len(fan.time_s))],
        array=fan.time_s,
        cmap=colours,
        alpha=alpha,
        zorder=zorder,
        gid="fan",
    )
    ax.add_collection(wedges, autolim=False)
    return wedges


def wedge(fan: Fan, k: int) -> np.ndarray:
    """Corners (3, 2) of one direction: from the contact as far as its ball's end is deep."""
    p = fan.scene.place
    edges = np.radians(np.floor(fan.heading_deg[k] / STEP_DEG) * STEP_DEG + [0.0, STEP_DEG])
    depth = fan.end_m[k, 1]
    return np.array(
        [(p.x_m, p.y_m), *((p.x_m + np.tan(e) * (p.y_m - depth), depth) for e in edges)]
    )


def fan_figure(fan: Fan) -> Figure:
    """The figure of a fan."""

    def draw(ax: Axes) -> None:
        wedges = draw_fan(ax, fan)[0]
        assert isinstance(wedges, PolyCollection)
        figure = ax.get_figure()
        assert isinstance(figure, Figure)
        bar = figure.colorbar(wedges, ax=ax, location="bottom", shrink=0.8, aspect=30)
        bar.set_label("least time to the waiting line, or a second bounce before it (s)")

    name, place = fan.scene.opponent.name, fan.scene.place
    return court_page(
        f"What a {name} can play from x {place.x_m:g} m, y {place.y_m:g} m\n"
        f"in with a chance of at least {100 * fan.least_in:.0f} %",
        HEADS_IN,
        draw,
    )
