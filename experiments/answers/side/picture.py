"""A ball from the side: axes in, artists out.

The hitter is on the left, the receiver on the right; metres from the net along the court, and
heights drawn EXAGGERATED times as large.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from experiments.answers.side.answer import (
    FINE_S,
    Flight,
    Met,
    SideResult,
    SideShot,
    net_top_m,
    playable_times,
)
from experiments.drawing import style
from experiments.drawing.court import DASHES
from experiments.drawing.spot_marks import beside, draw_entries
from sim.court import HALF_LENGTH_M, SERVICE_LINE_M
from sim.legs import Legs

EXAGGERATED = 2.5
MARK_S, NAMED_EVERY, LEVEL_S = 0.25, 2, 0.1
LOW_M, LOWEST_M = 0.8, 0.3
GRAVITY_M_S2 = 9.81
ROOM_M, HEADROOM_M, GROUND_M = 2.2, 0.9, 0.9
LINES = {
    -HALF_LENGTH_M: "baseline",
    -SERVICE_LINE_M: "service line",
    0.0: "net",
    SERVICE_LINE_M: "service line",
    HALF_LENGTH_M: "baseline",
}
PANEL_IN = style.WIDTH_IN - 0.62  # what axis numbers leave of our width
PANEL_HEAD_IN, HEADS_IN, KEY_IN = 0.45, 0.95, 0.57
BANDS = {
    "playable": (style.FAINT, 0.45),
    "best": (style.GREEN, 0.25),
}  # of heights: colour, how strong
View = tuple[float, float, float]  # left and right along the court and top, m
Draw = Callable[[Axes], object]


def _draw_court(ax: Axes, flight: Flight, view_m: View) -> list[Artist]:
    """Ground, net (as high as where the ball crosses it) and the lines' places, to a scale."""
    left, right, top = view_m
    ground = Rectangle((left, -GROUND_M), right - left, GROUND_M, color=style.GROUND, linewidth=0)
    artists: list[Artist] = [ax.add_patch(ground)]
    artists += ax.plot((left, right), (0.0, 0.0), color=style.SOFT, linewidth=0.9, zorder=1)
    net = (0.0, net_top_m(flight))
    artists += ax.plot((0.0, 0.0), net, color=style.INK, linewidth=1.8, zorder=1.5, gid="net")
    for y, name in LINES.items():
        if left <= y <= right:
            mark = (-0.12 if y else 0.0, 0.0)
            artists += ax.plot((y, y), mark, color=style.SOFT, linewidth=1.2, zorder=1, gid="line")
            artists.append(beside(ax, (y, 0.0), name, (0, -6), va="top", colour=style.SOFT))
    ax.set_aspect(EXAGGERATED)
    ax.set(xlim=(left, right), ylim=(-GROUND_M, top), yticks=range(int(top) + 1))
    ax.set_ylabel("height (m)")
    return artists


def _draw_window(ax: Axes, legs: Legs, from_m: float, to_m: float) -> list[Artist]:
    """The heights at which a ball is playable, faintly, and those that are best, more strongly."""
    artists: list[Artist] = []
    for gid, (colour, alpha) in BANDS.items():
        low, high = _heights(legs, gid)
        box = Rectangle((from_m, low), to_m - from_m, high - low, facecolor=colour, alpha=alpha)
        box.set(zorder=0.6, gid=gid, linewidth=0)
        artists.append(ax.add_patch(box))
    return artists


def _heights(legs: Legs, band: str) -> tuple[float, float]:
    return getattr(legs, f"{band}_low_m"), getattr(legs, f"{band}_high_m")


def draw_flight(ax: Axes, flight: Flight, colour: str = style.BLUE) -> list[Artist]:
    """Path (solid to the bounce, dashed after it), contact, bounce, and a mark every MARK_S."""
    before = flight.points[flight.points[:, 0] <= flight.bounce_s]
    after = flight.points[flight.points[:, 0] >= flight.bounce_s]
    bounce = flight.at(flight.bounce_s)
    x, z = np.append(-before[:, 2], -bounce[1]), np.append(before[:, 3], bounce[2])
    artists: list[Artist] = list(ax.plot(x, z, color=colour, zorder=3, gid="flight"))
    artists += ax.plot(-after[:, 2], after[:, 3], color=colour, linestyle=DASHES, gid="after")
    marks = np.arange(MARK_S, flight.end_s, MARK_S)
    at = flight.at(marks)
    artists += ax.plot(-at[:, 1], at[:, 2], ".", color=colour, markersize=5, zorder=4, gid="time")
    if flight.bounce_s < flight.end_s:
        artists += ax.plot(-bounce[1], bounce[2], "o", color=colour, markersize=5, gid="bounce")
        artists[-1].set(markerfacecolor="white", zorder=4)
    start = flight.points[0]
    artists += ax.plot(
        -start[2], start[3], "o", color=style.BLACK, markersize=5, zorder=5, gid="contact"
    )
    named = marks[NAMED_EVERY - 1 :: NAMED_EVERY]
    return artists + [_draw_time(ax, flight, float(t), colour) for t in named]


def _draw_time(ax: Axes, flight: Flight, time_s: float, colour: str) -> Artist:
    """The name of a time mark: above the path, after the bounce outward from the arc.

    Just after the bounce it stands inside the arc, away from the path that comes down.
    """
    _, y, z = flight.at(time_s)
    rise = float(flight.at(time_s + FINE_S)[2] - flight.at(time_s - FINE_S)[2])
    steep = abs(rise) / (2 * FINE_S * GRAVITY_M_S2) > LEVEL_S  # that long from the top of the arc
    offset, ha, va = (0, 5), "center", "bottom"
    if time_s >= flight.bounce_s and steep:
        offset, ha = ((-5, 1), "right") if rise > 0.0 else ((5, 1), "left")
        if rise > 0.0 and z < LOW_M:
            z, offset, ha, va = max(z, LOWEST_M), (7, -1), "left", "center"
    return beside(ax, (-y, z), f"{time_s:g} s", offset, ha, va, colour)


def _draw_met(ax: Axes, shot: SideShot, legs: Legs, stand_m: tuple[float, float]) -> list[Artist]:
    """The playable part of the path, where the ball is met, and who comes there from where."""
    at, met = shot.flight.at(playable_times(shot.flight, legs)), shot.met
    path = ax.plot(-at[:, 1], at[:, 2], color=style.ORANGE, alpha=0.55, gid="playable path")
    path[0].set(linewidth=4.5, zorder=2.5)
    colour, marker = (style.GREEN, "D") if met.is_reached else (style.VERMILLION, "X")
    mark = ax.plot(-met.ball_m[1], met.ball_m[2], marker, color=colour, markersize=8, gid="met")
    mark[0].set(markeredgecolor="white", markeredgewidth=0.8, zorder=6)
    waits = ax.plot(-stand_m[1], 0.0, "^", color=style.INK, markersize=6, zorder=5, gid="waits")
    waits[0].set_clip_on(False)
    return [*path, *mark, *waits]


def met_words(met: Met) -> str:
    """How a ball is met, in a line."""
    if not met.is_reached:
        return f"missed, {-met.spare_s:.2f} s late"
    return (
        f"met after {met.time_s:.2f} s, {met.ball_m[2]:.2f} m high, {met.spare_s:.2f} s to spare,"
        f" {met.grade}"
    )


def draw_side(ax: Axes, result: SideResult, shot: int = 0) -> list[Artist]:
    """One shot of an answer from the side; all of them have one view."""
    found, question = result.shots[shot], result.question
    flight, legs = found.flight, question.scene.player.legs
    view = view_of([s.flight for s in result.shots], -question.stand_m[1])
    artists = _draw_court(ax, flight, view)
    artists += _draw_window(ax, legs, -float(flight.at(flight.bounce_s)[1]), view[1])
    artists += draw_flight(ax, flight)
    return artists + _draw_met(ax, found, legs, question.stand_m)


def view_of(flights: Sequence[Flight], reach_m: float = HALF_LENGTH_M) -> View:
    """A view that holds all flights and `reach_m` behind the net: left, right, top."""
    points = np.concatenate([f.points for f in flights])
    right = max(reach_m, HALF_LENGTH_M, float(-points[:, 2].min())) + ROOM_M
    left = min(-HALF_LENGTH_M, float(-points[:, 2].max())) - ROOM_M
    return left, right, float(points[:, 3].max()) + HEADROOM_M


def side_figure(result: SideResult) -> Figure:
    """The figure of compared shots, a panel each to one scale."""
    scene, stand = result.question.scene, result.question.stand_m
    view = view_of([s.flight for s in result.shots], -stand[1])

    def panel(k: int, ax: Axes) -> None:
        draw_side(ax, result, k)
        shot = result.shots[k]
        ax.set_title(f"{_named(shot.flight)}\n{met_words(shot.met)}", fontsize=style.SMALL_PT)

    return _page(
        f"{scene.opponent.name} strikes at x {scene.place.x_m:.1f} m, y {scene.place.y_m:.1f} m"
        f" ({scene.world.surface.name})\nHeights drawn {EXAGGERATED:g} times as large",
        view,
        [partial(panel, k) for k in range(len(result.shots))],
        PANEL_HEAD_IN,
        partial(draw_side_key, result=result),
    )


def flight_figure(flight: Flight) -> Figure:
    """The figure of one flight alone."""
    view = view_of([flight])

    def panel(ax: Axes) -> None:
        _draw_court(ax, flight, view)
        draw_flight(ax, flight)

    scale = f"Heights drawn {EXAGGERATED:g} times as large, a mark every {MARK_S:g} s"
    return _page(f"{_named(flight)}\n{scale}", view, [panel], 0.2)


def _named(flight: Flight) -> str:
    return f"{flight.name}: {3.6 * flight.speed_m_s:.0f} km/h, {flight.topspin_rpm:.0f} rpm"


def _page(
    text: str, view_m: View, panels: Sequence[Draw], head_in: float, key: Draw | None = None
) -> Figure:
    """Panels below each other to one scale, the lowest with the axis's name, and their key."""
    left, right, top = view_m
    tall = [PANEL_IN * EXAGGERATED * (top + GROUND_M) / (right - left)] * len(panels)
    rows = tall if key is None else [*tall, KEY_IN]
    high = sum(rows) + head_in * len(panels) + HEADS_IN
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, high), layout="constrained")
        grid = figure.add_gridspec(len(rows), 1, height_ratios=rows)
        axes = [figure.add_subplot(grid[row, 0]) for row in range(len(rows))]
        for ax, draw in zip(axes, [*panels, key], strict=False):
            assert draw is not None
            draw(ax)
            ax.set_anchor("W")  # a panel that its height narrows still leaves room for its numbers
        for ax in axes[: len(panels) - 1]:
            ax.tick_params(labelbottom=False)
        axes[len(panels) - 1].set_xlabel(
            "along the court (m from the net, receiver's side on the right)"
        )
        style.title(figure, text)
    return figure


def draw_side_key(ax: Axes, result: SideResult) -> Legend:
    """What bands and marks mean, in an axes of its own."""
    legs = result.question.scene.player.legs
    entries: list[tuple[Artist, str]] = []
    for band, (colour, alpha) in BANDS.items():
        low, high = _heights(legs, band)
        patch = Patch(facecolor=colour, alpha=alpha)
        entries.append((patch, f"{band} height, {low:g} to {high:g} m"))
    marks: list[tuple[dict[str, Any], str]] = [
        ({"color": style.ORANGE, "linewidth": 4.5, "alpha": 0.55}, "playable part"),
        ({"color": style.BLUE, "marker": ".", "markersize": 5}, f"every {MARK_S:g} s"),
        (
            {"color": style.GREEN, "marker": "D", "linestyle": "", "markersize": 7},
            "met (cross: missed)",
        ),
        ({"color": style.INK, "marker": "^", "linestyle": "", "markersize": 6}, "receiver waits"),
    ]
    entries += [(Line2D([], [], **look), words) for look, words in marks]
    return draw_entries(ax, entries, ncols=2, columnspacing=1.0, handletextpad=0.5)
