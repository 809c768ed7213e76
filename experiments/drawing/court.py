"""The court from above and what happens on it: axes in, artists out.

The studied player is at the bottom (y < 0), the opponent at the top; metres on both axes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.axes._secondary_axes import SecondaryAxis
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from experiments.drawing.spot_marks import HALO, ROW_PT, Spot, best_spot, draw_spots, gathered
from experiments.drawing.style import (
    BLACK,
    BLUE,
    FAINT,
    GREEN,
    GROUND,
    INK,
    SMALL_PT,
    SOFT,
    WIDTH_IN,
    looks_of,
)
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, NET_SUPPORT_X_M, SERVICE_LINE_M
from sim.records import IN, X, Y
from sim.stroke import fly_drives

DOUBLES_HALF_WIDTH_M = 5.485
CENTRE_MARK_M = 0.10
STEP_M = 0.75
HALF_VIEW_M, TOP_VIEW_M = 6.9, 14.2
ROOM_M = 2.0  # around a contact that lies outside that view
COURT_IN = WIDTH_IN - 0.75  # what the names of the lines leave of our width
CENTRAL_M = 0.5
BELOW_M = 0.9


@dataclass(frozen=True)
class Angle:
    """The two extreme drives seen from above, left and right, and their bisector.

    contact_m: (x, y) of the ball at the opponent's strike. bounces_m: (2, 2), NaN for a drive that
    does not land in, which is not drawn. after_m: for each drive the path from its bounce to the
    second, (k, 2). bisector_x_m: on the line `line_m` from
    the net, where the player waits.
    """

    contact_m: tuple[float, float]
    bounces_m: np.ndarray
    after_m: tuple[np.ndarray, np.ndarray]
    bisector_x_m: float
    line_m: float

    @classmethod
    def of(cls, seen: Situation) -> Angle:
        """The angle of a situation of length one: its fastest extreme drives and its bisector."""
        drives = np.ascontiguousarray(seen.fastest_extremes[0])
        balls, paths = fly_drives(np.repeat(seen.contact, 2), drives, seen.world)
        bounces = np.stack([balls["landing_x_m"], balls["landing_y_m"]], axis=1)
        bounces[balls["outcome"] != IN] = np.nan
        tracks = []
        for ball, path in zip(balls, paths, strict=True):
            end = (ball["second_bounce_x_m"], ball["second_bounce_y_m"])
            tracks.append(np.vstack([path[: ball["points"]][:, [X, Y]], end]))
        at = (float(seen.contact["x_m"][0]), float(seen.contact["y_m"][0]))
        bisector = float(seen.bisector_x_m[0])
        return cls(at, bounces, (tracks[0], tracks[1]), bisector, float(seen.line_m))


def draw_court(
    ax: Axes,
    bottom_m: float = -19.0,
    top_m: float = TOP_VIEW_M,
    half_view_m: float = HALF_VIEW_M,
) -> list[Artist]:
    """The court to scale with its lines and net, in a view of that size; alleys faint."""
    w, n, s = HALF_WIDTH_M, HALF_LENGTH_M, SERVICE_LINE_M
    ground = Rectangle((-w, -n), 2 * w, 2 * n, facecolor=GROUND, edgecolor="none", zorder=0.5)
    artists: list[Artist] = [ax.add_patch(ground)]
    d = DOUBLES_HALF_WIDTH_M
    alleys = [((-d, -d), (-n, n)), ((d, d), (-n, n)), ((-d, d), (n, n)), ((-d, d), (-n, -n))]
    lines = [((-w, -w), (-n, n)), ((w, w), (-n, n)), ((-w, w), (n, n)), ((-w, w), (-n, -n))]
    lines += [((-w, w), (s, s)), ((-w, w), (-s, -s)), ((0, 0), (-s, s))]
    lines += [((0, 0), (side * n, side * (n - 2 * CENTRE_MARK_M))) for side in (-1, 1)]
    for parts, colour, width in ((alleys, FAINT, 0.7), (lines, SOFT, 0.9)):
        for x, y in parts:
            artists += ax.plot(x, y, color=colour, linewidth=width, zorder=1)
    net = NET_SUPPORT_X_M
    artists += ax.plot((-net, net), (0, 0), color=INK, linewidth=1.8, zorder=1.5, gid="net")
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

    def steps(metres: Any) -> Any:
        return metres / STEP_M

    def metres(steps: Any) -> Any:
        return steps * STEP_M

    above = ax.secondary_xaxis("top", functions=(steps, metres))
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


def draw_angle(ax: Axes, angle: Angle) -> list[Artist]:
    """The contact, the two extreme drives (solid in flight, dashed past the bounce), the bisector.

    Drives without sidespin in still air keep to a vertical plane: before the bounce the path seen
    from above is a straight line.
    """
    x, y = angle.contact_m
    artists: list[Artist] = []
    words = side_words(x)
    for k in range(2):
        bounce, after = angle.bounces_m[k], angle.after_m[k]
        if not np.isfinite(bounce).all():
            continue
        artists += ax.plot((x, bounce[0]), (y, bounce[1]), color=BLUE, zorder=3, gid="flight")
        artists += ax.plot(*after.T, color=BLUE, linestyle=(0, (2.5, 1.8)), zorder=3, gid="after")
        artists += ax.plot(
            *bounce, "o", color=BLUE, markerfacecolor="white", markersize=5, zorder=4, gid="bounce"
        )
        outward = -1 if k == 0 else 1
        artists.append(
            _label(ax, bounce, words[k], (outward * 6, 5), "right" if k == 0 else "left", BLUE)
        )
    spot = (angle.bisector_x_m, -angle.line_m)
    artists += ax.plot(
        (x, spot[0]), (y, spot[1]), color=SOFT, linestyle=(0, (6, 2, 1, 2)), linewidth=1.0, zorder=2
    )
    artists += ax.plot(x, y, "o", color=BLACK, markersize=6, zorder=5, gid="contact")
    inward = -1 if x > 0 else 1
    artists.append(_label(ax, (x, y), "opponent's contact", (0, 7), _aligned(x, inward), INK))
    artists.append(_along(ax, angle.contact_m, spot, 0.36, "bisector"))
    artists += draw_key(ax)
    return artists


def draw_key(ax: Axes) -> list[Artist]:
    """What circle and dashes mean, in the top left corner."""
    ring = ax.plot(0.012, 0.985, "o", color=BLUE, markerfacecolor="white", markersize=5)
    ring[0].set_transform(ax.transAxes)
    text = ax.text(
        0.035,
        0.985,
        "bounce, dashed after it",
        transform=ax.transAxes,
        va="center",
        fontsize=SMALL_PT,
        color=BLUE,
        path_effects=HALO,
    )
    return [*ring, text]


def _aligned(x_m: float, inward: int) -> str:
    if abs(x_m) < CENTRAL_M:
        return "center"
    return "right" if inward < 0 else "left"


def _label(
    ax: Axes, at: Sequence[float], text: str, offset: tuple[float, float], align: str, colour: str
) -> Text:
    return ax.annotate(
        text,
        (at[0], at[1]),
        offset,
        textcoords="offset points",
        ha=align,
        va="bottom",
        fontsize=SMALL_PT,
        color=colour,
        linespacing=0.95,
        path_effects=HALO,
        zorder=6,
    )


def _along(
    ax: Axes, start: tuple[float, float], end: tuple[float, float], share: float, text: str
) -> Text:
    """A text that runs along a line, a share of the way down it, read from left to right."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    turn = math.degrees(math.atan2(dy, dx)) % 180.0
    return ax.text(
        start[0] + share * dx,
        start[1] + share * dy,
        text,
        rotation=turn if turn <= 90.0 else turn - 180.0,
        rotation_mode="anchor",
        transform_rotates_text=True,
        ha="center",
        va="bottom",
        fontsize=SMALL_PT,
        color=SOFT,
        path_effects=HALO,
        zorder=6,
    )


def draw_best_range(ax: Axes, best_m: tuple[float, float], y: float, zorder: float = 1) -> Artist:
    """The best range of lateral places as a band around the height `y`."""
    low, high = best_m
    return ax.add_patch(
        Rectangle(
            (low, y - 0.28),
            max(high - low, 0.02),
            0.56,
            facecolor=GREEN,
            alpha=0.35,
            edgecolor=GREEN,
            linewidth=0.6,
            zorder=zorder,
            gid="best range",
        )
    )


def draw_waiting_line(ax: Axes, line_m: float, best_m: tuple[float, float] | None) -> list[Artist]:
    """The line on which places are compared, and on it the best range as a band."""
    artists: list[Artist] = [
        ax.axhline(-line_m, color=SOFT, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1.5)
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
) -> list[Artist]:
    """Spots from above: court, angle, waiting line with the best range, and who waits where.

    `spots_m` is policy name to lateral place on the waiting line; `best_m` the ends of the best
    range there; `below_m` the room between that line and the first label.
    """
    looks = looks_of(spots_m)
    spots = gathered([Spot(n, x, -angle.line_m, looks[n]) for n, x in spots_m.items()])
    if best_m is not None:
        spots.append(best_spot(best_m, -angle.line_m))
    x, y = angle.contact_m
    half, top = max(HALF_VIEW_M, abs(x) + ROOM_M), max(TOP_VIEW_M, y + ROOM_M)
    row_m = ROW_PT / 72 * 2 * half / COURT_IN
    bottom = -(angle.line_m + below_m + row_m * sum(bool(s.name) for s in spots))
    artists = [*draw_court(ax, bottom, top, half), *draw_angle(ax, angle)]
    artists += [*draw_waiting_line(ax, angle.line_m, best_m), *draw_spots(ax, spots)]
    ax.set_xlabel("lateral place (m from the centre mark)")
    steps_axis(ax)
    return artists


def court_height_in(ax: Axes) -> float:
    """Height that a court picture COURT_IN wide needs to keep its scale."""
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    return COURT_IN * (high - low) / (right - left)
