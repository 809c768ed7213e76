"""One court for a player: the fan of the extreme drives, one band, the cone and the middle.

No words stand in it but the opponent's, so that it reads at the size of a phone and from a wall.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle

from experiments.balls.angle import Angle
from experiments.drawing.court import draw_best_range, draw_court, draw_flights, draw_waiting_line
from experiments.drawing.style import BLACK, GREEN, ORANGE, SKY
from experiments.scene.sides import STEP_M

CONE_PT, MIDDLE_PT, RING_PT, TICK_PT = 8.0, 5.0, 4.5, 7.0
HALF_VIEW_M, ABOVE_M, BELOW_M = 6.2, 1.5, 1.4  # around contact and waiting line
ASIDE_M, WIDE_M = 1.2, 8.0  # beside a contact wide of the court; a wide view has fewer ticks
FAN_ALPHA, BAND_ALPHA = 0.22, 0.35
BAND_TALL_M = 2.0  # taller than the cone that stands on it


def draw_one_court(
    ax: Axes, angle: Angle, best_m: tuple[float, float], cone_x_m: float | None, size: float = 1.0
) -> list[Artist]:
    """The court with the fan, the best range (its ends in m), the cone (m) and the middle.

    `size` makes the marks that much larger; without a cone (None) the middle is as large as one.
    """
    x, y = angle.contact_m
    half, top = max(HALF_VIEW_M, abs(x) + ASIDE_M), max(12.0, y) + ABOVE_M
    artists = draw_court(ax, -(angle.line_m + BELOW_M), top, half)
    artists += draw_fan(ax, angle)
    artists += draw_flights(ax, angle, RING_PT * size)
    artists += draw_waiting_line(ax, angle.line_m, None)
    artists.append(draw_best_range(ax, best_m, -angle.line_m, 2, BAND_TALL_M))
    middle_pt = CONE_PT if cone_x_m is None else MIDDLE_PT
    artists += draw_middle(ax, -angle.line_m, middle_pt * size)
    if cone_x_m is not None:
        artists += draw_cone(ax, cone_x_m, -angle.line_m, CONE_PT * size)
    artists += ax.plot(x, y, "o", color=BLACK, markersize=6 * size, zorder=5, gid="contact")
    return artists + steps_below(ax, ticks_every(half), TICK_PT * size)


def has_fan(angle: Angle) -> bool:
    """Whether there are two extreme drives, and so a fan between them."""
    return bool(np.isfinite(angle.bounces_m).all())


def draw_key_mark(ax: Axes, mark: str, y: float, tall: float, size: float = 1.0) -> list[Artist]:
    """A mark at a height of an axes that is 2 wide around 0: cone, band, fan, the middle beside a
    cone, or the mark, which is the middle where no cone stands. Areas are `tall` high."""
    if mark == "cone":
        return draw_cone(ax, 0.0, y, CONE_PT * size)
    if mark in ("middle", "mark"):
        return draw_middle(ax, y, (CONE_PT if mark == "mark" else MIDDLE_PT) * size)
    look: dict[str, Any] = {"facecolor": SKY, "alpha": FAN_ALPHA}
    if mark == "band":
        look = {"facecolor": GREEN, "edgecolor": GREEN, "alpha": BAND_ALPHA}
    return [ax.add_patch(Rectangle((-0.6, y - tall / 2), 1.2, tall, **look))]


def draw_fan(ax: Axes, angle: Angle) -> list[Artist]:
    """The ground between the two extreme drives, to the waiting line; nothing where one is none."""
    if not has_fan(angle):
        return []
    left, right = (_to_the_line(angle, k) for k in (0, 1))
    corners = np.vstack([[angle.contact_m], left, right[::-1]])
    fan = Polygon(corners, facecolor=SKY, alpha=FAN_ALPHA, edgecolor="none", zorder=0.9, gid="fan")
    return [ax.add_patch(fan)]


def _to_the_line(angle: Angle, k: int) -> np.ndarray:
    """An extreme drive from its bounce to the waiting line, (n, 2), straight on where it ends."""
    way = np.vstack([angle.bounces_m[k], angle.after_m[k]])
    way = way[np.append(True, np.diff(way[:, 1]) < -1e-9)]
    before = way[way[:, 1] > -angle.line_m]
    if len(way) < 2 or len(before) == 0:
        return way[:1]
    a, b = (way[len(before) - 1], way[len(before)]) if len(before) < len(way) else way[-2:]
    share = (-angle.line_m - a[1]) / (b[1] - a[1])
    return np.vstack([before, a + share * (b - a)])


def draw_cone(ax: Axes, x: float, y: float, size_pt: float = CONE_PT) -> list[Artist]:
    """The place to wait."""
    (mark,) = ax.plot(x, y, "^", color=ORANGE, markersize=size_pt, zorder=5, gid="cone")
    mark.set(markeredgecolor=BLACK, markeredgewidth=0.8)
    return [mark]


def draw_middle(ax: Axes, y: float, size_pt: float = MIDDLE_PT) -> list[Artist]:
    """The middle."""
    return list(ax.plot(0.0, y, "s", color=BLACK, markersize=size_pt, zorder=4, gid="middle"))


def ticks_every(half_m: float) -> int:
    """From how many steps to how many a tick stands, for half the width of a view (m)."""
    return 2 if half_m < WIDE_M else 4


def steps_below(ax: Axes, every: int, size_pt: float = TICK_PT) -> list[Artist]:
    """Ticks below that count steps from the centre mark to either side."""
    most = int(ax.get_xlim()[1] / STEP_M) // every * every
    counts = np.arange(-most, most + 1, every)
    ax.set_xticks(counts * STEP_M, [str(abs(c)) for c in counts])
    ax.set_yticks([])
    look: dict[str, Any] = {"labelsize": size_pt, "length": 2}
    ax.tick_params(axis="x", **look)
    return list(ax.get_xticklabels())
