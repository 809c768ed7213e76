"""The picture of a spot for a player: one court, and beside it where to wait and for whom."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from experiments.answers.spot.answer import SpotResult
from experiments.answers.spot.words import (
    middle_is_as_good,
    middle_of,
    stand_words,
    tolerance_words,
)
from experiments.balls.angle import shortfall_text
from experiments.drawing.one_court import (
    BAND_ALPHA,
    CONE_PT,
    FAN_ALPHA,
    MIDDLE_PT,
    draw_one_court,
    has_fan,
)
from experiments.drawing.sheet import axes_in, set_parts
from experiments.drawing.spot_marks import draw_entries
from experiments.drawing.style import BLACK, GREEN, ORANGE, SKY, SMALL_PT, SOFT, house_style
from experiments.drawing.text_boxes import Box, Words, wrapped
from experiments.scene.sides import STEP_M
from experiments.scene.told_units import length
from experiments.statistics.words import said

WIDE_IN, HIGH_IN = 3.9, 3.5  # 998 by 896 pixels: a phone shows small print 11 pixels high
EDGE, COURT_IN, TICKS_IN, MARK_IN = 0.08, 1.56, 0.42, 0.3
HEAD_IN, WHO_IN = 0.95, 1.12
HEAD_SIZES = tuple(0.25 * n for n in range(42, 25, -1))  # 10.5 to 6.5 points
WHO_SIZES = tuple(0.25 * n for n in range(29, 17, -1))  # 7.25 to 4.5
STEPS = "steps from the centre mark"


def place_figure(result: SpotResult) -> Figure:
    """The figure: the court at the left; advice, what the marks are and who plays at the right."""
    left = 2 * EDGE + COURT_IN
    wide = WIDE_IN - left - EDGE
    head = Box(left, HIGH_IN - EDGE, wide, HEAD_IN)
    who = Box(left, EDGE + WHO_IN, wide, WHO_IN)
    key = Box(left, head.bottom, wide, head.bottom - who.top)
    court = Box(EDGE, HIGH_IN - EDGE, COURT_IN, HIGH_IN - 2 * EDGE - TICKS_IN)
    best = result.best
    rest = tolerance_words(best)
    if best.x_m and middle_is_as_good(result):
        rest = f"The middle is as good. {rest}"
    advice = [Words(f"Wait {stand_words(best)}.", True), Words(rest, gap=0.3)]
    with house_style():
        figure = Figure(figsize=(WIDE_IN, HIGH_IN))
        ax = axes_in(figure, court)
        draw_one_court(ax, result.angle, (best.low_m, best.high_m), best.x_m)
        ax.set_xlabel(f"{STEPS}\n(1 step = {length(STEP_M, 2)})", fontsize=7.0, labelpad=1.5)
        set_parts(figure, [("advice", advice, head)], HEAD_SIZES)
        entries = list(_entries(result, wide - MARK_IN))
        draw_entries(axes_in(figure, key), entries, handlelength=1.3, handletextpad=0.5)
        set_parts(figure, [("who", [Words(_who(result), colour=SOFT)], who)], WHO_SIZES)
    return figure


def _entries(result: SpotResult, width: float) -> Iterator[tuple[Artist, str]]:
    """The marks of the picture and what they are, wrapped to a width in inches."""
    best, middle = result.best, middle_of(result)
    cone, square = f"where to wait: {100 * (1 - best.share):.1f} missed of 100", "the middle"
    if middle is not None:
        square += f": {said(middle.missed_per_100)} missed"
    fan = "between the opponent's extreme drives"
    look: dict[str, Any] = {"markeredgecolor": BLACK, "markeredgewidth": 0.8, "linestyle": ""}
    mark = Line2D([], [], marker="^", color=ORANGE, markersize=CONE_PT, **look)
    yield mark, _lines(cone, width)
    yield Patch(facecolor=GREEN, alpha=BAND_ALPHA, edgecolor=GREEN), _lines("as good", width)
    mark = Line2D([], [], marker="s", color=BLACK, markersize=MIDDLE_PT, linestyle="")
    yield mark, _lines(square, width)
    if has_fan(result.angle):
        yield Patch(facecolor=SKY, alpha=FAN_ALPHA), _lines(fan, width)


def _lines(text: str, width: float) -> str:
    return "\n".join(wrapped(text, width, SMALL_PT))


def _who(result: SpotResult) -> str:
    """Who plays whom from where, and what the numbers are."""
    scene, limits = result.scene, result.scene.limits
    drives = shortfall_text(result.extremes, limits)
    if not drives and limits.counts_error:
        drives = f"Extreme drives land in {100 * limits.least_in:.0f} times in 100."
    played = " ".join([*scene.text.split(), *drives.split()])
    return (
        f"{played} Model result of {result.landed_in} balls that landed in; brackets: 95 % by"
        f" chance. Seed {scene.seed}."
    )
