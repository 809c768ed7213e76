"""Pictures of a spot: the court from above, and the share in time over lateral places.

From above, strong are what a player acts on: the best area, the spots and the two extreme paths.
The fan of playable shots lies faintly below them; small crosses are balls missed from the middle.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.angle.picture import draw_wedges
from experiments.answers.spot.answer import SHOWN, Above, MissedBalls, SpotResult
from experiments.balls.standing import ALLOWED, BAND_M
from experiments.drawing.court import LATERAL, court_page, draw_area, draw_court_spots, steps_axis
from experiments.drawing.spot_marks import (
    ROW_PT,
    Spot,
    best_spot,
    draw_entries,
    draw_spots,
    gathered,
)
from experiments.drawing.style import BLACK, FAINT, GREEN, INK, SKY, SOFT, looks_of
from experiments.statistics.estimates import binomial_share
from experiments.statistics.words import said

CURVE_IN, KEY_IN, HEADS_IN = 2.5, 1.2, 2.2
ABOVE_HEADS_IN = 1.8
# Light enough to lie below everything, and darker the less time there is.
SAND = LinearSegmentedColormap.from_list("sand", ("#E8C48C", "#FDF7EC"))
SHADED_S = 0.25  # one scale for all pictures; slower shots are as light as the lightest
BELOW_LINES = 0.9
AREA_M = 1.7  # room below the waiting line for the area


def draw_spot(ax_court: Axes, ax_curve: Axes, result: SpotResult) -> list[Artist]:
    """Draw a spot's answer: the court from above, and the share in time over lateral places.

    Returns the artists of both axes.
    """
    return [*_draw_court(ax_court, result), *draw_curve(ax_curve, result)]


def _draw_court(ax: Axes, result: SpotResult) -> list[Artist]:
    spots = {p.name: p.x_m for p in result.policies}
    return draw_court_spots(ax, result.angle, spots, (result.best.low_m, result.best.high_m))


def draw_curve(ax: Axes, result: SpotResult) -> list[Artist]:
    """Balls reached in time per 100 over the lateral place, with policies and the best range."""
    share = 100.0 * result.curve_share_in_time
    best = result.best
    landed = round(result.curve_balls * result.landed_in / result.scene.balls)
    bounds = np.array([_interval(s, landed) for s in result.curve_share_in_time])
    x = result.curve_x_m
    artists: list[Artist] = [
        ax.axvspan(best.low_m, best.high_m, color=GREEN, alpha=0.2, linewidth=0, gid="best range"),
        ax.fill_between(x, *(100.0 * bounds.T), color=SKY, alpha=0.35, linewidth=0),
        *ax.plot(x, share, color=INK, linewidth=1.2, gid="curve"),
    ]
    looks = looks_of(p.name for p in result.policies)
    spots = [Spot(p.name, p.x_m, 100.0 * p.share_in_time, looks[p.name]) for p in result.policies]
    marked = [s.x_m for s in spots]
    ax.set_xlim(min(x[0], *marked), max(x[-1], *marked))
    spots = [*gathered(spots), best_spot((best.low_m, best.high_m), 100.0 * best.share)]
    make_room(ax, spots, share)
    artists += draw_spots(ax, spots)
    ax.set_xlabel(LATERAL)
    ax.set_ylabel("reached in time (balls per 100)")
    steps_axis(ax)
    return artists


def _interval(share: float, n: int) -> tuple[float, float]:
    found = binomial_share(share, n)
    return found.low, found.high


def make_room(ax: Axes, spots: list[Spot], share: np.ndarray) -> None:
    """Set the heights so that the rows of labels fit between the lowest marker and the bottom."""
    rows = sum(bool(s.name) for s in spots)
    taken = min((rows + 1) * ROW_PT / 72.0 / CURVE_IN, 0.7)
    top, lowest = 101.0, min(s.y for s in spots)
    bottom = min(float(share.min()), top - (top - lowest) / (1.0 - taken))
    ax.set_ylim(bottom, top)
    ax.set_yticks([t for t in range(0, 101, 10) if t >= max(bottom, share.min() - 10.0)])
    ax.grid(axis="y", color=FAINT, linewidth=0.5)


def draw_above(ax: Axes, above: Above) -> list[Artist]:
    """Court, fan, extreme paths past their bounce, bisector, spots, best area and missed balls."""
    spot = above.spot
    spots = {p.name: p.x_m for p in spot.policies}
    artists = draw_court_spots(ax, spot.angle, spots, None, AREA_M)
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
    shown = missed.bounce_m[: missed.shown].T
    crosses = ax.plot(*shown, "x", color=BLACK, markersize=3.2, zorder=2.5, gid="missed")
    crosses[0].set_markeredgewidth(0.7)
    return [*crosses]


def draw_above_key(ax: Axes, above: Above) -> Legend:
    """What is what, in an axes of its own."""
    return draw_entries(ax, list(_entries(above)), handlelength=2.0)


def _entries(above: Above) -> Iterator[tuple[Artist, str]]:
    depth, missed = above.spot.scene.depth_m, above.missed.per_100
    yield (
        Patch(facecolor=GREEN, alpha=0.45, edgecolor=GREEN, linewidth=1.5),
        f"best area: misses at most {ALLOWED:g} ball in 100 more than the best place\n"
        f"{depth:g} m behind the baseline. Looked at {BAND_M:g} m before and behind;\n"
        "it does not say how deep to wait",
    )
    yield (
        Line2D([], [], color=BLACK, marker="x", linestyle="", markersize=4),
        f"missed from the middle: {said(missed)} of"
        f" 100 that land in\n(bounces of those among {min(SHOWN, missed.n)} balls)",
    )
    if (fan := above.fan) is not None:
        sure, least = f"{100 * fan.least_in:.0f} in 100 land in", float(fan.time_s.min())
        dark = f"playable shots ({sure}) that leave you {least:.1f} s"
        light = f"the same, {least + SHADED_S:.1f} s or more until your line or a second bounce"
        yield Patch(facecolor=SAND(0.0)), dark
        yield Patch(facecolor=SAND(1.0), edgecolor=SOFT, linewidth=0.4), light


def spot_figure(result: SpotResult) -> Figure:
    """The figure of a spot alone: court above, curve below, both to our width."""
    curve = (CURVE_IN, partial(draw_curve, result=result))
    return court_page(spot_title(result), HEADS_IN, partial(_draw_court, result=result), curve)


def above_figure(above: Above) -> Figure:
    """The figure of a spot with all that is seen from above, its key, and the curve."""
    key = (KEY_IN, partial(draw_above_key, above=above))
    curve = (CURVE_IN, partial(draw_curve, result=above.spot))
    draw = partial(draw_above, above=above)
    return court_page(spot_title(above.spot), ABOVE_HEADS_IN, draw, key, curve)


def spot_title(result: SpotResult) -> str:
    """Who waits where against whom, a line each."""
    scene, place = result.scene, result.scene.place
    x, y = round(place.x_m, 1), round(place.y_m, 1)
    return (
        f"{scene.player.name} waits {scene.depth_m:g} m behind the baseline"
        f" ({scene.world.surface.name})\n"
        f"{scene.opponent.name} strikes at x {x:g} m, y {y:g} m ({scene.hitter.name})"
    )
