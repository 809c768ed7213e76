"""Figures of a spot: the court from above, and the share in time over lateral places."""

from __future__ import annotations

from functools import partial

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.spot.above import Above
from experiments.answers.spot.above_picture import draw_above, draw_above_key
from experiments.answers.spot.answer import SpotResult
from experiments.drawing.court import LATERAL, court_page, draw_court_spots, steps_axis
from experiments.drawing.spot_marks import ROW_PT, Spot, best_spot, draw_spots, gathered
from experiments.drawing.style import FAINT, GREEN, INK, SKY, looks_of
from experiments.statistics.estimates import binomial_share

CURVE_IN, KEY_IN, HEADS_IN = 2.5, 1.2, 2.2
ABOVE_HEADS_IN = 1.8


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
