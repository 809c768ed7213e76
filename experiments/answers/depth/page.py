"""The depth answer as one page for a coach."""

from __future__ import annotations

from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from experiments.answers.depth.answer import Depth
from experiments.answers.depth.picture import RANGE_ALPHA, draw_points, lines_key
from experiments.answers.depth.short_balls import NO_SHORT, PAYS
from experiments.answers.depth.words import (
    behind,
    edge_words,
    loss_words,
    metres,
    range_words,
    why_words,
)
from experiments.drawing import style
from experiments.drawing.court import draw_court
from experiments.drawing.one_page import CoachPage, Panel, page_figure
from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M

HALF_M, DEEPEST_M = 6.5, HALF_LENGTH_M + RUN_OFF_BACK_M
GREEN_WORDS = "Green: within half a point in 100 of the best."
LINES_WORDS = "Black: the baseline. Dotted: the usual depth. Bands: 95 % intervals."
BASELINE = " the baseline"
NAMES_AT_M = -3.2  # forward, of the key: in front of the service line nobody waits


def draw_place(ax: Axes, found: Depth) -> list[Artist]:
    """The own half from above: the depths within half a point, the best and the usual one."""
    best, artists = found.answer.best, draw_court(ax, -DEEPEST_M, 0.5, HALF_M)
    ax.set_yticks([])
    width, back = 2 * HALF_M, HALF_LENGTH_M + best.high_m
    band = Rectangle((-HALF_M, -back), width, best.high_m - best.low_m, color=style.GREEN)
    band.set(alpha=RANGE_ALPHA, linewidth=0, gid="range")
    artists.append(ax.add_patch(band))
    lines = (
        ("best", best.depth_m, "-", style.GREEN),
        ("usual", found.answer.usual_m, ":", style.INK),
    )
    for word, depth_m, dashes, colour in lines:
        line = ax.axhline(-(HALF_LENGTH_M + depth_m), color=colour, linestyle=dashes, gid=word)
        line.set(linewidth=1.4, label=f"{word}: {behind(depth_m).removesuffix(BASELINE)}")
        artists.append(line)
    look: dict[str, Any] = {"frameon": True, "framealpha": 1.0, "edgecolor": "none"}
    look |= {"bbox_to_anchor": (0.0, NAMES_AT_M), "bbox_transform": ax.transData}
    artists.append(ax.legend(loc="center", fontsize=style.SMALL_PT - 1, **look))
    ax.set_xlabel("m from the centre line")
    return artists


def coach_page(found: Depth) -> CoachPage:
    """What stands on the page."""
    question, case = found.question, found.answer
    scene = question.scene
    who = (
        f"{scene.player.name}, {scene.player.hand}-handed, on a {scene.world.surface.name} court,"
        f" {scene.against_whom()}. Whole rallies that open from the corners and the middle."
    )

    def points(ax: Axes) -> object:
        drawn = draw_points(ax, found)
        legend = ax.legend(handles=lines_key(found), loc="lower left", fontsize=style.SMALL_PT - 1)
        legend.set_zorder(5)
        legend.get_frame().set(visible=True, facecolor="white", edgecolor="none", alpha=0.9)
        return drawn

    panels = [
        Panel("From above", lambda ax: draw_place(ax, found), GREEN_WORDS),
        Panel("Points won by waiting depth", points, LINES_WORDS, 1.75),
    ]
    return CoachPage(
        title="How far back?",
        question="How far behind the baseline should I wait, if my opponent may also drop the ball"
        " short or come in?",
        who=who,
        panels=panels,
        findings=[
            (
                "Where to wait",
                f"Best is {behind(case.best.depth_m)} {range_words(case)}. The usual"
                f" {metres(case.usual_m)} m {loss_words(case)}.{edge_words(case)}",
            ),
            ("Why more balls reached is not enough", _why(found)),
            ("How far it hangs on short balls", _hangs_on(found)),
        ],
        rests_on="Tiredness, nerves and the score are not modelled; how well drop shots are played"
        " at this level is assumed. Legs and strokes come from a level or a player file; nobody"
        " watched you play. In brackets: 95 % intervals, of chance alone.",
        small_print=f"rally-recovery, seed {scene.seed}, {3 * question.each} rallies at each depth",
    )


def _why(found: Depth) -> str:
    """Balls reached against points, without short balls too, where far back reaches most."""
    text, none = why_words(found.answer), found.cases[NO_SHORT]
    if found.answer is none:
        return text
    without = why_words(none)
    return f"{text} Without short balls {without[0].lower()}{without[1:]}"


def _hangs_on(found: Depth) -> str:
    """The best depth without short balls beside the one that counts."""
    none, case = found.cases[NO_SHORT].best, found.answer.best
    low, high = (metres(v) for v in none.interval_m)
    text = (
        "Without any drop shot or approach of the opponent the best would be"
        f" {behind(none.depth_m)} (95 %: {low} to {high} m)."
    )
    if PAYS not in found.cases:
        return text
    if none.interval_m[0] > case.interval_m[1]:
        return f"{text} Short balls, played when they pay, draw it nearer to the court."
    return f"{text} Short balls move it by no more than chance may."


def depth_page(found: Depth, paper: str = "a4") -> Figure:
    """The page as a figure of the paper's size."""
    return page_figure(coach_page(found), paper)
