"""A ball from the side: axes in, artists out.

The hitter is on the left, the receiver on the right; metres from the net along the court, and
heights drawn EXAGGERATED times as large.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from experiments.answers.side.question import (
    FINE_S,
    Flight,
    Met,
    SideResult,
    SideShot,
    net_top_m,
    playable_times,
)
from experiments.drawing.spot_marks import HALO
from experiments.drawing.style import (
    BLACK,
    BLUE,
    FAINT,
    GREEN,
    GROUND,
    INK,
    ORANGE,
    SMALL_PT,
    SOFT,
    VERMILLION,
    WIDTH_IN,
    house_style,
    title,
)
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
PANEL_IN = WIDTH_IN - 0.62  # what axis numbers leave of our width
PANEL_HEAD_IN, HEADS_IN, KEY_IN = 0.45, 0.95, 0.57


def draw_side_court(
    ax: Axes, net_m: float, left_m: float, right_m: float, top_m: float
) -> list[Artist]:
    """Ground, net (as high as where the ball crosses it) and the lines' places, to a scale.

    The view runs from `left_m` to `right_m` along the court and up to `top_m`.
    """
    artists: list[Artist] = [
        ax.add_patch(
            Rectangle(
                (left_m, -GROUND_M), right_m - left_m, GROUND_M, facecolor=GROUND, edgecolor="none"
            )
        )
    ]
    artists += ax.plot((left_m, right_m), (0.0, 0.0), color=SOFT, linewidth=0.9, zorder=1)
    artists += ax.plot((0.0, 0.0), (0.0, net_m), color=INK, linewidth=1.8, zorder=1.5, gid="net")
    for y, name in LINES.items():
        if left_m <= y <= right_m:
            mark = (-0.12 if y else 0.0, 0.0)
            artists += ax.plot((y, y), mark, color=SOFT, linewidth=1.2, zorder=1, gid="line")
            artists.append(_said(ax, (y, 0.0), name, (0, -6), ("center", "top"), SOFT))
    ax.set_aspect(EXAGGERATED)
    ax.set_xlim(left_m, right_m)
    ax.set_ylim(-GROUND_M, top_m)
    ax.set_yticks(range(int(top_m) + 1))
    ax.set_ylabel("height (m)")
    return artists


def draw_window(ax: Axes, legs: Legs, from_m: float, to_m: float) -> list[Artist]:
    """The heights at which a ball is playable, faintly, and those that are best, more strongly."""
    bands = (
        ("playable", legs.playable_low_m, legs.playable_high_m, FAINT, 0.45),
        ("best", legs.best_low_m, legs.best_high_m, GREEN, 0.25),
    )
    artists: list[Artist] = []
    for gid, low, high, colour, alpha in bands:
        box = Rectangle(
            (from_m, low), to_m - from_m, high - low, facecolor=colour, alpha=alpha, linewidth=0
        )
        box.set(zorder=0.6, gid=gid)
        artists.append(ax.add_patch(box))
    return artists


def draw_flight(ax: Axes, flight: Flight, colour: str = BLUE) -> list[Artist]:
    """Path (solid to the bounce, dashed after it), contact, bounce, and a mark every MARK_S."""
    before = flight.points[flight.points[:, 0] <= flight.bounce_s]
    after = flight.points[flight.points[:, 0] >= flight.bounce_s]
    bounce = flight.at(flight.bounce_s)
    artists: list[Artist] = list(
        ax.plot(
            np.append(-before[:, 2], -bounce[1]),
            np.append(before[:, 3], bounce[2]),
            color=colour,
            zorder=3,
            gid="flight",
        )
    )
    dashes = (0, (2.5, 1.8))
    artists += ax.plot(-after[:, 2], after[:, 3], color=colour, linestyle=dashes, gid="after")
    marks = np.arange(MARK_S, flight.end_s, MARK_S)
    at = flight.at(marks)
    artists += ax.plot(-at[:, 1], at[:, 2], ".", color=colour, markersize=5, zorder=4, gid="time")
    if flight.bounce_s < flight.end_s:
        artists += ax.plot(-bounce[1], bounce[2], "o", color=colour, markersize=5, gid="bounce")
        artists[-1].set(markerfacecolor="white", zorder=4)
    start = flight.points[0]
    artists += ax.plot(-start[2], start[3], "o", color=BLACK, markersize=5, zorder=5, gid="contact")
    artists += [
        draw_time(ax, flight, float(t), colour) for t in marks[NAMED_EVERY - 1 :: NAMED_EVERY]
    ]
    return artists


def draw_time(ax: Axes, flight: Flight, time_s: float, colour: str) -> Artist:
    """The name of a time mark: above the path, after the bounce outward from the arc.

    Just after the bounce it stands inside the arc, away from the path that comes down.
    """
    _, y, z = flight.at(time_s)
    text = f"{time_s:g} s"
    rise = float(flight.at(time_s + FINE_S)[2] - flight.at(time_s - FINE_S)[2])
    steep = abs(rise) / (2 * FINE_S * GRAVITY_M_S2) > LEVEL_S  # that long from the top of the arc
    if time_s < flight.bounce_s or not steep:
        return _said(ax, (-y, z), text, (0, 5), ("center", "bottom"), colour)
    if rise > 0.0 and z < LOW_M:
        return _said(ax, (-y, max(z, LOWEST_M)), text, (7, -1), ("left", "center"), colour)
    aside, align = (-5, "right") if rise > 0.0 else (5, "left")
    return _said(ax, (-y, z), text, (aside, 1), (align, "bottom"), colour)


def draw_met(
    ax: Axes, flight: Flight, met: Met, legs: Legs, stand_m: tuple[float, float]
) -> list[Artist]:
    """The playable part of the path, where the ball is met, and who comes there from where."""
    times = playable_times(flight, legs)
    at = flight.at(times)
    artists: list[Artist] = list(
        ax.plot(
            -at[:, 1],
            at[:, 2],
            color=ORANGE,
            linewidth=4.5,
            alpha=0.55,
            zorder=2.5,
            gid="playable path",
        )
    )
    colour, marker = (GREEN, "D") if met.is_reached else (VERMILLION, "X")
    artists += ax.plot(
        -met.ball_m[1],
        met.ball_m[2],
        marker,
        color=colour,
        markersize=8,
        markeredgecolor="white",
        markeredgewidth=0.8,
        zorder=6,
        gid="met",
    )
    artists += ax.plot(-stand_m[1], 0.0, "^", color=INK, markersize=6, zorder=5, gid="waits")
    artists[-1].set_clip_on(False)
    return artists


def met_words(met: Met) -> str:
    """How a ball is met, in a line."""
    if not met.is_reached:
        return f"missed, {-met.spare_s:.2f} s late"
    return (
        f"met after {met.time_s:.2f} s, {met.ball_m[2]:.2f} m high, {met.spare_s:.2f} s to spare,"
        f" {met.grade}"
    )


def draw_side(
    ax: Axes, shot: SideShot, result: SideResult, view_m: tuple[float, float, float]
) -> list[Artist]:
    """One shot from the side; `view_m` are left, right and top of the view."""
    q, flight = result.question, shot.flight
    legs = q.scene.player.legs
    left, right, top = view_m
    artists = draw_side_court(ax, net_top_m(flight), left, right, top)
    artists += draw_window(ax, legs, -float(flight.at(flight.bounce_s)[1]), right)
    artists += draw_flight(ax, flight)
    artists += draw_met(ax, flight, shot.met, legs, q.stand_m)
    return artists


def view_of(
    flights: Sequence[Flight], reach_m: float = HALF_LENGTH_M
) -> tuple[float, float, float]:
    """A view that holds all flights and `reach_m` behind the net: left, right, top."""
    points = np.concatenate([f.points for f in flights])
    right = max(reach_m, HALF_LENGTH_M, float(-points[:, 2].min())) + ROOM_M
    left = min(-HALF_LENGTH_M, float(-points[:, 2].max())) - ROOM_M
    return left, right, float(points[:, 3].max()) + HEADROOM_M


def side_figure(result: SideResult) -> Figure:
    """The figure of compared shots, a panel each to one scale."""
    q, scene = result.question, result.question.scene
    place = scene.place
    view = view_of([s.flight for s in result.shots], -q.stand_m[1])
    with house_style():
        figure, axes = _panels(len(result.shots) + 1)
        for ax, shot in zip(axes, result.shots, strict=False):
            draw_side(ax, shot, result, view)
            f = shot.flight
            ax.set_title(
                f"{f.name}: {3.6 * f.speed_m_s:.0f} km/h, {f.topspin_rpm:.0f} rpm\n"
                f"{met_words(shot.met)}",
                fontsize=SMALL_PT,
            )
        draw_side_key(axes[-1], q.scene.player.legs)
        _finish(figure, axes[:-1], view, PANEL_HEAD_IN, KEY_IN)
        title(
            figure,
            f"{scene.opponent.name} strikes at x {place.x_m:.1f} m, y {place.y_m:.1f} m"
            f" ({scene.world.surface.name})\nHeights drawn {EXAGGERATED:g} times as large",
        )
    return figure


def flight_figure(flight: Flight) -> Figure:
    """The figure of one flight alone."""
    view = view_of([flight])
    with house_style():
        figure, (ax,) = _panels(1)
        draw_side_court(ax, net_top_m(flight), *view)
        draw_flight(ax, flight)
        _finish(figure, [ax], view, 0.2, 0.0)
        title(
            figure,
            f"{flight.name}: {3.6 * flight.speed_m_s:.0f} km/h, {flight.topspin_rpm:.0f} rpm\n"
            f"Heights drawn {EXAGGERATED:g} times as large, a mark every {MARK_S:g} s",
        )
    return figure


def _panels(count: int) -> tuple[Figure, list[Axes]]:
    figure = Figure(figsize=(WIDTH_IN, 6.0), layout="constrained")
    grid = figure.add_gridspec(count, 1)
    axes = [figure.add_subplot(grid[row]) for row in range(count)]
    for ax in axes:
        ax.set_anchor("W")  # a panel that its height narrows still leaves room for its numbers
    return figure, axes


def _finish(
    figure: Figure,
    panels: list[Axes],
    view: tuple[float, float, float],
    head_in: float,
    key_in: float,
) -> None:
    """Name the axis of the lowest panel alone and give panels and key their heights."""
    left, right, top = view
    for ax in panels[:-1]:
        ax.tick_params(labelbottom=False)
    panels[-1].set_xlabel("along the court (m from the net, receiver's side on the right)")
    tall = PANEL_IN * EXAGGERATED * (top + GROUND_M) / (right - left)
    subplot = panels[0].get_subplotspec()
    assert subplot is not None
    rows = [tall] * len(panels) + ([key_in] if key_in else [])
    subplot.get_gridspec().set_height_ratios(rows)
    figure.set_size_inches(WIDTH_IN, sum(rows) + head_in * len(panels) + HEADS_IN)


def draw_side_key(ax: Axes, legs: Legs) -> Legend:
    """What bands and marks mean, in an axes of its own."""
    ax.set_axis_off()
    low, high = legs.playable_low_m, legs.playable_high_m
    handles: list[Artist] = [
        Patch(facecolor=FAINT, alpha=0.45),
        Patch(facecolor=GREEN, alpha=0.25),
        Line2D([], [], color=ORANGE, linewidth=4.5, alpha=0.55),
        Line2D([], [], color=BLUE, marker=".", markersize=5),
        Line2D([], [], color=GREEN, marker="D", linestyle="", markersize=7),
        Line2D([], [], color=INK, marker="^", linestyle="", markersize=6),
    ]
    words = [
        f"playable height, {low:g} to {high:g} m",
        f"best height, {legs.best_low_m:g} to {legs.best_high_m:g} m",
        "playable part",
        f"every {MARK_S:g} s",
        "met (cross: missed)",
        "receiver waits",
    ]
    return ax.legend(
        handles,
        words,
        loc="upper left",
        borderaxespad=0.0,
        ncols=2,
        columnspacing=1.0,
        handletextpad=0.5,
        labelspacing=0.35,
    )


def _said(
    ax: Axes,
    at: tuple[float, float],
    text: str,
    offset: tuple[float, float],
    align: tuple[str, str],
    colour: str,
) -> Artist:
    return ax.annotate(
        text,
        at,
        offset,
        textcoords="offset points",
        ha=align[0],
        va=align[1],
        fontsize=SMALL_PT,
        color=colour,
        path_effects=HALO,
        zorder=5.5,
    )
