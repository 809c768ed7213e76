"""Maps of the court by colour: axes in, artists out.

Balls missed have a colour map that is even in lightness and the same to readers with any colour
vision. Differences have two hues that such readers tell apart (orange and purple, ColorBrewer),
lightest at no difference; in grey their sign is in the lines, dashed below 0, and their numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from matplotlib import colormaps
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import PolyCollection
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.map.answer import ContactMap
from experiments.balls.standing import StandingMap
from experiments.drawing import style
from experiments.drawing.court import (
    HALF_VIEW_M,
    LATERAL,
    court_height_in,
    draw_area,
    draw_court,
    draw_waiting_line,
    steps_axis,
)
from experiments.drawing.spot_marks import HALO, draw_entries, shortened
from sim.court import HALF_LENGTH_M

COLOURS, SIGNED_COLOURS = "cividis", "PuOr"
MISSED_LEVELS = (0.0, 1.0, 2.0, 5.0, 10.0, 20.0, 40.0, 100.0)
FEWER_LEVELS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 100.0)
TOP_STANDING_M, BELOW_M, ABOVE_M = -5.2, 0.6, 0.8
HATCHES = {"not decided": "/////", "as good": "..."}
HATCH_WORDS = {
    "not decided": "not decided (95 % interval over 0)",
    "as good": "as good (interval inside half a ball)",
}
BAR_IN, KEY_ROW_IN, WORDS_IN = 0.13, 0.19, 1.75
KEY_COLUMNS = 3
KEY_LOOK = {"columnspacing": 1.0, "handletextpad": 0.5}


def draw_standing_map(ax: Axes, found: StandingMap) -> list[Artist]:
    """Balls missed per 100 by place to stand, with numbered lines, spots and the best area's edge.

    The first of the artists is what a colour bar needs.
    """
    x, y = found.grid.x_m, -HALF_LENGTH_M - found.grid.depth_m
    field = found.missed_per_100
    court = draw_court(ax, float(y.min()) - BELOW_M, TOP_STANDING_M)
    norm = BoundaryNorm(MISSED_LEVELS, 256)
    filled = ax.contourf(
        x, y, field, MISSED_LEVELS, cmap=f"{COLOURS}_r", norm=norm, zorder=0.8, antialiased=True
    )
    filled.set_gid("missed")
    artists: list[Artist] = [filled, *court]
    artists += draw_numbered_lines(ax, x, y, field, MISSED_LEVELS[1:-1])
    artists += draw_waiting_line(ax, found.scene.line_m, None)
    artists += draw_area(ax, found.band, style.BLACK, fill=False)
    looks = style.looks_of(p.name for p in found.policies)
    for stand in found.policies:
        look = looks[stand.name]
        artists += ax.plot(
            stand.x_m,
            -HALF_LENGTH_M - stand.depth_m,
            look.marker,
            color=look.colour,
            markersize=6,
            markeredgecolor="white",
            markeredgewidth=0.6,
            zorder=5,
            gid=f"spot {stand.name}",
        )
    ax.set_xlabel(LATERAL)
    steps_axis(ax)
    return artists


def draw_numbered_lines(
    ax: Axes, x: np.ndarray, y: np.ndarray, field: np.ndarray, levels: Sequence[float]
) -> list[Artist]:
    """Thin lines of equal value with their numbers, those levels that the field passes through."""
    passed = [v for v in levels if np.nanmin(field) < v < np.nanmax(field)]
    if not passed:
        return []
    lines = ax.contour(
        x,
        y,
        field,
        passed,
        colors=[style.INK],
        linewidths=0.7,
        zorder=1.6,
        negative_linestyles="dashed",
    )
    lines.set_gid("line")
    words = ax.clabel(lines, fmt=_number, fontsize=style.SMALL_PT, inline=False)
    for text in words:
        text.set(path_effects=HALO, zorder=4)
    return [lines, *words]


def _number(value: float) -> str:
    return f"{value:g}".replace("-", "\u2212")


def draw_standing_key(ax: Axes, found: StandingMap) -> Legend:
    """Who is who and what the edge means, in an axes of its own."""
    looks = style.looks_of(p.name for p in found.policies)
    entries: list[tuple[Artist, str]] = []
    for name, look in looks.items():
        mark = Line2D([], [], linestyle="", marker=look.marker, color=look.colour, markersize=6)
        entries.append((mark, shortened(name)))
    entries.append((Line2D([], [], color=style.BLACK, linewidth=1.5), "best area, edge"))
    return draw_entries(ax, entries, ncols=KEY_COLUMNS, **KEY_LOOK)


def standing_figure(found: StandingMap) -> Figure:
    """The figure of a map of places to stand."""
    scene, widest = found.scene, found.widest_per_100
    return _map_figure(
        lambda ax: draw_standing_map(ax, found),
        lambda ax: draw_standing_key(ax, found),
        -(-(len(found.policies) + 1) // KEY_COLUMNS),
        f"balls missed per 100 that land in (95 %: \u00b1{widest:.1f} at most)",
        f"Balls missed by where {scene.player.name} stands ({scene.world.surface.name})\n"
        f"{scene.opponent.name} strikes at x {scene.place.x_m:.1f} m, y {scene.place.y_m:.1f} m"
        f" ({scene.hitter.name})\nDeeper misses less; what depth gives away is not counted",
    )


def _map_figure(
    draw: Callable[[Axes], list[Artist]],
    draw_key: Callable[[Axes], Legend],
    key_rows: int,
    label: str,
    words: str,
) -> Figure:
    """A map with its colour bar and key below it, each as high as it needs."""
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, 7.0), layout="constrained")
        grid = figure.add_gridspec(3, 1)
        ax, bar, key = (figure.add_subplot(grid[row]) for row in range(3))
        ax.set_anchor("W")  # a court that its height narrows still leaves room for line names
        coloured = draw(ax)[0]
        assert isinstance(coloured, ScalarMappable)
        figure.colorbar(coloured, cax=bar, orientation="horizontal").set_label(label)
        draw_key(key)
        heights = (court_height_in(ax), BAR_IN, key_rows * KEY_ROW_IN)
        grid.set_height_ratios(heights)
        figure.set_size_inches(style.WIDTH_IN, sum(heights) + WORDS_IN)
        style.title(figure, words)
    return figure


def draw_contact_map(ax: Axes, found: ContactMap) -> list[Artist]:
    """Balls missed fewer per 100 by the opponent's contact, with numbered lines.

    A thick line at 0; cells that are not decided and those that are as good are hatched. The first
    of the artists is what a colour bar needs.
    """
    x, y = found.x_m, found.y_m
    field = found.values(lambda c: c.fewer.value)
    half = max(HALF_VIEW_M, float(np.abs(x).max()) + ABOVE_M)
    court = draw_court(ax, -ABOVE_M, float(y.max()) + ABOVE_M, half)
    levels = fewer_levels(field)
    colours = fewer_colours(levels)
    norm = BoundaryNorm(levels, colours.N)
    mesh = ax.pcolormesh(x, y, field, cmap=colours, norm=norm, zorder=0.8, gid="fewer")
    artists: list[Artist] = [mesh, *court]
    artists += [draw_hatched(ax, found, word) for word in HATCHES]
    artists += draw_numbered_lines(ax, x, y, field, [v for v in levels if v != 0.0])
    if np.nanmin(field) < 0.0 < np.nanmax(field):
        zero = ax.contour(x, y, field, (0.0,), colors=[style.BLACK], linewidths=2.2, zorder=1.7)
        zero.set_gid("zero")
        artists.append(zero)
    ax.set_xlabel("opponent's contact (m to your right of the centre)")
    return artists


def fewer_levels(field: np.ndarray) -> list[float]:
    """Steps of colour, closer near 0, that reach as far to both sides as the field does."""
    reach = [FEWER_LEVELS[0], FEWER_LEVELS[0]]
    for k, most in enumerate((-np.nanmin(field), np.nanmax(field))):
        reach[k] = next((v for v in FEWER_LEVELS if v >= most), FEWER_LEVELS[-1])
    below = [-v for v in reversed(FEWER_LEVELS) if v <= reach[0]]
    return [*below, 0.0, *(v for v in FEWER_LEVELS if v <= reach[1])]


def fewer_colours(levels: Sequence[float]) -> ListedColormap:
    """A colour a step, lightest beside 0, of one hue for fewer and another for more missed."""
    below = sum(v < 0.0 for v in levels)
    above = len(levels) - 1 - below
    longer = max(below, above)
    at = (np.arange(-below, above) + 0.5) / (2.0 * longer) + 0.5
    return ListedColormap(colormaps[SIGNED_COLOURS](at))


def draw_hatched(ax: Axes, found: ContactMap, word: str) -> PolyCollection:
    """The cells with that verdict, hatched."""
    half_x, half_y = (0.5 * float(np.diff(v[:2])[0]) for v in (found.x_m, found.y_m))
    rows, columns = np.nonzero(found.are(word))
    corners = np.array([(-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y)])
    centres = np.stack([found.x_m[columns], found.y_m[rows]], axis=1)
    cells = PolyCollection(
        centres[:, None, :] + corners,
        facecolor="none",
        edgecolor=style.BLACK,
        linewidth=0.0,
        hatch=HATCHES[word],
        zorder=0.9,
        gid=word,
    )
    ax.add_collection(cells, autolim=False)
    return cells


def draw_contact_key(ax: Axes) -> Legend:
    """What hatches and the thick line mean, in an axes of its own."""
    look: dict[str, Any] = {"facecolor": "none", "edgecolor": style.BLACK, "linewidth": 0.4}
    entries: list[tuple[Artist, str]] = [
        (Patch(hatch=HATCHES[word], **look), HATCH_WORDS[word]) for word in HATCHES
    ]
    entries.append((Line2D([], [], color=style.BLACK, linewidth=2.2), "no difference"))
    return draw_entries(ax, entries, **KEY_LOOK)


def contact_figure(found: ContactMap) -> Figure:
    """The figure of two policies over the opponent's contacts."""
    scene = found.scene
    mine, other = shortened(found.policy), shortened(found.other)
    return _map_figure(
        lambda ax: draw_contact_map(ax, found),
        draw_contact_key,
        len(HATCHES) + 1,
        f"balls missed fewer per 100 at {mine} than at {other}",
        f"{mine} or {other}, by where the opponent strikes\n{scene.player.name},"
        f" {scene.depth_m:g} m behind the baseline ({scene.world.surface.name})"
        f"\nagainst {scene.opponent.name} ({scene.hitter.name})",
    )
