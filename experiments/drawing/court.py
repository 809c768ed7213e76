"""The court from above, its areas, and what happens on it: axes in, artists out.

The studied player is at the bottom (y < 0), the opponent at the top; metres on both axes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.axes._secondary_axes import SecondaryAxis
from matplotlib.contour import QuadContourSet
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from experiments.balls.angle import Angle
from experiments.balls.standing import StandingMap
from experiments.drawing import style
from experiments.drawing.spot_marks import ROW_PT, Spot, beside, best_spot, draw_spots, gathered
from experiments.drawing.style import GREEN
from experiments.scene.sides import STEP_M
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, NET_SUPPORT_X_M, SERVICE_LINE_M

DOUBLES_HALF_WIDTH_M = 5.485
CENTRE_MARK_M = 0.10
HALF_VIEW_M, TOP_VIEW_M = 6.9, 14.2
ROOM_M = 2.0  # around a contact that lies outside that view
COURT_IN = style.WIDTH_IN - 0.75  # what the names of the lines leave of our width
CENTRAL_M = 0.5
TIGHT: dict[str, Any] = {"linespacing": 0.95}
DASHES = (0, (2.5, 1.8))  # of a ball past its bounce
ALONG = 0.36  # where the bisector has its name
BELOW_M = 0.9
LATERAL = "lateral place (m from the centre mark)"
Part = tuple[float, Callable[[Axes], object]]  # inches high, and what draws it


def court_page(text: str, heads_in: float, draw: Callable[[Axes], object], *below: Part) -> Figure:
    """A titled page of our width: a court to scale and, below it, further parts.

    `heads_in` is what titles and the names of axes take.
    """
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, 9.0), layout="constrained")
        grid = figure.add_gridspec(1 + len(below), 1)
        court, *others = (figure.add_subplot(grid[row, 0]) for row in range(1 + len(below)))
        draw(court)
        for ax, (_, also) in zip(others, below, strict=True):
            also(ax)
        tall = [court_height_in(court), *(high for high, _ in below)]
        grid.set_height_ratios(tall)
        figure.set_size_inches(style.WIDTH_IN, sum(tall) + heads_in)
        style.title(figure, text)
    return figure


def draw_court(
    ax: Axes,
    bottom_m: float = -19.0,
    top_m: float = TOP_VIEW_M,
    half_view_m: float = HALF_VIEW_M,
) -> list[Artist]:
    """The court to scale with its lines and net, in a view of that size; alleys faint."""
    w, n, s = HALF_WIDTH_M, HALF_LENGTH_M, SERVICE_LINE_M
    ground = Rectangle((-w, -n), 2 * w, 2 * n, facecolor=style.GROUND, edgecolor="none", zorder=0.5)
    artists: list[Artist] = [ax.add_patch(ground)]
    d = DOUBLES_HALF_WIDTH_M
    alleys = [((-d, -d), (-n, n)), ((d, d), (-n, n)), ((-d, d), (n, n)), ((-d, d), (-n, -n))]
    lines = [((-w, -w), (-n, n)), ((w, w), (-n, n)), ((-w, w), (n, n)), ((-w, w), (-n, -n))]
    lines += [((-w, w), (s, s)), ((-w, w), (-s, -s)), ((0, 0), (-s, s))]
    lines += [((0, 0), (side * n, side * (n - 2 * CENTRE_MARK_M))) for side in (-1, 1)]
    for parts, colour, width in ((alleys, style.FAINT, 0.7), (lines, style.SOFT, 0.9)):
        for x, y in parts:
            artists += ax.plot(x, y, color=colour, linewidth=width, zorder=1)
    net = NET_SUPPORT_X_M
    artists += ax.plot((-net, net), (0, 0), color=style.INK, linewidth=1.8, zorder=1.5, gid="net")
    ax.set_aspect("equal")
    named = {-n: "baseline", -s: "service\nline", 0: "net", s: "service\nline", n: "baseline"}
    seen = {y: name for y, name in named.items() if bottom_m <= y <= top_m}
    ax.set_yticks(list(seen), list(seen.values()))
    ax.set_xlim(-half_view_m, half_view_m)
    ax.set_ylim(bottom_m, top_m)
    ax.tick_params(length=0, axis="y")
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    return artists


def steps_axis(ax: Axes) -> SecondaryAxis:
    """A second axis above `ax` that reads its lateral metres as steps from the centre mark."""
    scale: Any = (lambda metres: metres / STEP_M, lambda steps: steps * STEP_M)
    above = ax.secondary_xaxis("top", functions=scale)
    low, high = ax.get_xlim()
    most = int(min(abs(low), high) / STEP_M) // 2 * 2
    above.set_xticks(range(-most, most + 1, 2))
    above.set_xlabel(f"steps from the centre mark (1 step = {STEP_M:g} m)")
    return above


def side_words(contact_x_m: float) -> tuple[str, str]:
    """What a player calls the two extreme drives from there, left and right in the picture."""
    if abs(contact_x_m) < CENTRAL_M:
        return "widest to\nthe left", "widest to\nthe right"
    words = ("sharpest\ncrosscourt", "down\nthe line")
    return words if contact_x_m > 0 else (words[1], words[0])


def draw_flights(ax: Axes, angle: Angle, ring_pt: float = 5.0) -> list[Artist]:
    """The two extreme drives, solid in flight, dashed past the bounce, a ring where they bounce.

    Drives without sidespin in still air keep to a vertical plane: before the bounce the path seen
    from above is a straight line.
    """
    x, y = angle.contact_m
    artists: list[Artist] = []
    for bounce, after in zip(angle.bounces_m, angle.after_m, strict=True):
        if not np.isfinite(bounce).all():
            continue
        artists += ax.plot((x, bounce[0]), (y, bounce[1]), color=style.BLUE, zorder=3, gid="flight")
        artists += ax.plot(*after.T, color=style.BLUE, linestyle=DASHES, zorder=3, gid="after")
        artists += ax.plot(
            *bounce, "o", color=style.BLUE, markersize=ring_pt, zorder=4, gid="bounce"
        )
        artists[-1].set(markerfacecolor="white")
    return artists


def draw_angle(ax: Axes, angle: Angle) -> list[Artist]:
    """The contact, the two extreme drives with their names, the bisector and a key."""
    x, y = angle.contact_m
    artists = draw_flights(ax, angle)
    sides = ((-1, "right"), (1, "left"))
    for bounce, words, (outward, ha) in zip(angle.bounces_m, side_words(x), sides, strict=True):
        if np.isfinite(bounce).all():
            at = (outward * 6, 5)
            artists.append(beside(ax, bounce, words, at, ha, "bottom", style.BLUE, **TIGHT))
    spot = (angle.bisector_x_m, -angle.line_m)
    artists += ax.plot(
        (x, spot[0]),
        (y, spot[1]),
        color=style.SOFT,
        linestyle=(0, (6, 2, 1, 2)),
        linewidth=1.0,
        zorder=2,
    )
    artists += ax.plot(x, y, "o", color=style.BLACK, markersize=6, zorder=5, gid="contact")
    inward = "center" if abs(x) < CENTRAL_M else "right" if x > 0 else "left"
    artists.append(beside(ax, (x, y), "opponent's contact", (0, 7), inward, "bottom", **TIGHT))
    dx, dy = spot[0] - x, spot[1] - y
    turn = 90.0 - (90.0 - math.degrees(math.atan2(dy, dx))) % 180.0  # read from left to right
    turned: dict[str, Any] = {"rotation": turn, "rotation_mode": "anchor"}
    along = (x + ALONG * dx, y + ALONG * dy)
    artists.append(beside(ax, along, "bisector", va="bottom", colour=style.SOFT, **turned))
    return artists + draw_key(ax)


def draw_key(ax: Axes) -> list[Artist]:
    """What circle and dashes mean, in the top left corner."""
    ring = ax.plot(0.012, 0.985, "o", color=style.BLUE, markerfacecolor="white", markersize=5)
    ring[0].set_transform(ax.transAxes)
    words = "bounce, dashed after it"
    at = (0.035, 0.985)
    return [*ring, beside(ax, at, words, ha="left", colour=style.BLUE, xycoords="axes fraction")]


def draw_best_range(
    ax: Axes, best_m: tuple[float, float], y: float, zorder: float = 1, tall_m: float = 0.56
) -> Artist:
    """The best range of lateral places as a band around the height `y`."""
    low, high = best_m
    corner = (low, y - tall_m / 2)
    band = Rectangle(corner, max(high - low, 0.02), tall_m, zorder=zorder, alpha=0.35)
    band.set(facecolor=style.GREEN, edgecolor=style.GREEN, linewidth=0.6, gid="best range")
    return ax.add_patch(band)


def draw_waiting_line(ax: Axes, line_m: float, best_m: tuple[float, float] | None) -> list[Artist]:
    """The line on which places are compared, and on it the best range as a band."""
    artists: list[Artist] = [
        ax.axhline(-line_m, color=style.SOFT, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1.5)
    ]
    if best_m is not None:
        artists.append(draw_best_range(ax, best_m, -line_m, zorder=2))
    return artists


def draw_court_spots(
    ax: Axes,
    angle: Angle,
    spots_m: Mapping[str, float],
    best_m: tuple[float, float] | None,
    below_m: float = BELOW_M,
    depths_m: Mapping[str, float] | None = None,
) -> list[Artist]:
    """Spots from above: court, angle, waiting line with the best range, and who waits where.

    `spots_m` is policy name to lateral place on the waiting line; `best_m` the ends of the best
    range there; `below_m` the room between that line and the first label; `depths_m` the place
    along the court of those that wait elsewhere than on it.
    """
    looks = style.looks_of(spots_m)
    y_of = dict.fromkeys(spots_m, -angle.line_m) | dict(depths_m or {})
    spots = gathered([Spot(n, x, y_of[n], looks[n]) for n, x in spots_m.items()])
    if best_m is not None:
        spots.append(best_spot(best_m, -angle.line_m))
    x, y = angle.contact_m
    half, top = max(HALF_VIEW_M, abs(x) + ROOM_M), max(TOP_VIEW_M, y + ROOM_M)
    row_m = ROW_PT / 72 * 2 * half / COURT_IN
    bottom = min(y_of.values(), default=-angle.line_m)
    bottom = min(bottom, -angle.line_m) - (below_m + row_m * sum(bool(s.name) for s in spots))
    artists = [*draw_court(ax, bottom, top, half), *draw_angle(ax, angle)]
    artists += [*draw_waiting_line(ax, angle.line_m, best_m), *draw_spots(ax, spots)]
    ax.set_xlabel(LATERAL)
    steps_axis(ax)
    return artists


def court_height_in(ax: Axes) -> float:
    """Height that a court picture COURT_IN wide needs to keep its scale."""
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    return COURT_IN * (high - low) / (right - left)


def draw_area(
    ax: Axes, area: StandingMap, colour: str = GREEN, fill: bool = True
) -> list[QuadContourSet]:
    """The best area of a map: its edge, and a tint inside.

    Where the map ends the area has no edge: it was not looked at farther.
    """
    x, y = area.grid.x_m, -HALF_LENGTH_M - area.grid.depth_m
    field, edge = area.missed_per_100, area.edge_per_100
    out = []
    if fill:
        levels = (-1.0, edge)
        out.append(ax.contourf(x, y, field, levels, colors=[colour], alpha=0.35, zorder=1.9))
        out[-1].set_gid("best area")
    if field.min() < edge < field.max():
        out.append(ax.contour(x, y, field, (edge,), colors=[colour], linewidths=1.5, zorder=2.1))
        out[-1].set_gid("best area edge")
    return out
