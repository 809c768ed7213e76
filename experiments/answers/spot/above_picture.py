"""The whole answer from above: axes in, artists out.

Strong are what a player acts on: the best area, the spots and the two extreme paths. The fan of
playable shots lies faintly below them, the balls missed from the middle as small crosses.
"""

from __future__ import annotations

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.angle.answer import Fan
from experiments.answers.angle.picture import draw_wedges
from experiments.answers.spot.above import SHOWN, Above, MissedBalls
from experiments.balls.standing import ALLOWED, BAND_M
from experiments.drawing.areas import draw_area
from experiments.drawing.court import draw_court_spots
from experiments.drawing.style import BLACK, GREEN, SOFT
from experiments.statistics.words import said

# Light enough to lie below everything, and darker the less time there is.
SAND = LinearSegmentedColormap.from_list("sand", ("#E8C48C", "#FDF7EC"))
SHADED_S = 0.25  # one scale for all pictures; slower shots are as light as the lightest
BELOW_LINES = 0.9
BELOW_M = 1.7  # room below the waiting line for the area


def draw_above(ax: Axes, above: Above) -> list[Artist]:
    """Court, fan, extreme paths past their bounce, bisector, spots, best area and missed balls."""
    spot = above.spot
    spots = {p.name: p.x_m for p in spot.policies}
    artists = draw_court_spots(ax, spot.angle, spots, None, BELOW_M)
    if above.fan is not None:
        wedges = draw_wedges(ax, above.fan, SAND, 1.0, BELOW_LINES)
        least = float(above.fan.time_s.min())
        wedges.set_clim(least, least + SHADED_S)
        artists.append(wedges)
    artists += draw_missed(ax, above.missed)
    artists += draw_area(ax, above.area)
    return artists


def draw_missed(ax: Axes, missed: MissedBalls) -> list[Artist]:
    """A cross where each missed ball bounces, of the first SHOWN balls that landed in."""
    return list(
        ax.plot(
            *missed.bounce_m[: missed.shown].T,
            "x",
            color=BLACK,
            markersize=3.2,
            markeredgewidth=0.7,
            zorder=2.5,
            gid="missed",
        )
    )


def draw_above_key(ax: Axes, above: Above) -> Legend:
    """What is what, in an axes of its own."""
    ax.set_axis_off()
    handles, words = zip(*_entries(above), strict=True)
    return ax.legend(
        handles,
        words,
        loc="upper left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=1,
        borderaxespad=0.0,
        handlelength=2.0,
        labelspacing=0.35,
    )


def _entries(above: Above) -> list[tuple[Artist, str]]:
    depth, missed = above.spot.scene.depth_m, above.missed.per_100
    out: list[tuple[Artist, str]] = [
        (
            Patch(facecolor=GREEN, alpha=0.45, edgecolor=GREEN, linewidth=1.5),
            f"best area: misses at most {ALLOWED:g} ball in 100 more than the best place\n"
            f"{depth:g} m behind the baseline. Looked at {BAND_M:g} m before and behind;\n"
            "it does not say how deep to wait",
        ),
        (
            Line2D([], [], color=BLACK, marker="x", linestyle="", markersize=4),
            f"missed from the middle: {said(missed)} of"
            f" 100 that land in\n(bounces of those among {min(SHOWN, missed.n)} balls)",
        ),
    ]
    if above.fan is not None:
        out += _fan_entries(above.fan)
    return out


def _fan_entries(fan: Fan) -> list[tuple[Artist, str]]:
    sure, least = f"{100 * fan.least_in:.0f} in 100 land in", float(fan.time_s.min())
    light = Patch(facecolor=SAND(1.0), edgecolor=SOFT, linewidth=0.4)
    return [
        (Patch(facecolor=SAND(0.0)), f"playable shots ({sure}) that leave you {least:.1f} s"),
        (light, f"the same, {least + SHADED_S:.1f} s or more until your line or a second bounce"),
    ]
