"""The score sheet on paper: one page a session, with a box to tick for each ball."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import ceil

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from experiments.answers.handout.answer import FEEDS_A_SET
from experiments.answers.handout.cone_plan import Cone, draw_all
from experiments.answers.trial.answer import Trial
from experiments.answers.trial.foretold import ACROSS, ALONG, ANYWHERE, REACHED
from experiments.answers.trial.plan_words import in_100
from experiments.answers.trial.sheet import CONE, MIDDLE, Ball, balls_of
from experiments.drawing.one_page import CAUTIONS
from experiments.drawing.sheet import (
    BETWEEN,
    BODY_SIZES,
    CAPTION_SIZES,
    GUTTER,
    MARGIN,
    PAPERS,
    axes_in,
    set_header,
    set_line,
    set_parts,
)
from experiments.drawing.style import GROUND, INK, SOFT, house_style
from experiments.drawing.text_boxes import Box, Words

HEADER, TOP, FOOT, PRINT = 0.6, 2.75, 1.1, 0.16
COURT_WIDTH = 1.6
COLUMNS = 3
TALLEST_ROW, SET_HEAD, HEAD = 0.24, 1.35, 1.2  # inches; the heads of sets and columns in rows
BOX = 0.125  # inches
# Where the columns of a block stand, as shares of its width.
BALL, FEED, TO, STAND, REACHED_AT, IN_AT = 0.05, 0.15, 0.215, 0.55, 0.84, 0.95
SIDES = {ACROSS: "crosscourt", ALONG: "line", ANYWHERE: "free"}
MARKS = {CONE: "\u25b2 cone", MIDDLE: "\u25a0 middle"}


def sheet_pages(trial: Trial) -> list[Figure]:
    """A page for each session of a trial.

    Raises:
        InputError: there is nothing to compare.
    """
    balls = balls_of(trial)
    sessions = [list(some) for _, some in groupby(balls, key=lambda b: b.session)]
    return [_page(trial, some, len(sessions)) for some in sessions]


def _page(trial: Trial, balls: Sequence[Ball], sessions: int) -> Figure:
    width, height = PAPERS["a4"]
    inner, scene = width - 2 * MARGIN, trial.question.scene
    header = Box(MARGIN, height - MARGIN, inner, HEADER)
    top = header.bottom - BETWEEN
    court = Box(MARGIN, top, COURT_WIDTH, TOP)
    how = Box(court.right + GUTTER, top, inner - COURT_WIDTH - GUTTER, TOP)
    small_print = Box(MARGIN, MARGIN + PRINT, inner, PRINT)
    half = (inner - GUTTER) / 2
    foot = Box(MARGIN, small_print.top + BETWEEN / 2 + FOOT, half, FOOT)
    beside = Box(foot.right + GUTTER, foot.top, half, FOOT)
    table = Box(MARGIN, court.bottom - BETWEEN, inner, court.bottom - foot.top - 2 * BETWEEN)
    session = f"Session {balls[0].session} of {sessions}, balls {balls[0].ball} to {balls[-1].ball}"
    with house_style():
        figure = Figure(figsize=(width, height))
        blanks = ("Player " + "_" * 22, "Feeder " + "_" * 20 + "  Date " + "_" * 14)
        set_header(figure, header, "Cone or middle?", session, *blanks)
        _court(axes_in(figure, court), trial)
        set_parts(figure, [("how", [Words(t, gap=0.3) for t in _how(trial)], how)], BODY_SIZES)
        _table(axes_in(figure, table), balls, table)
        tells = [Words("What the sheet tells", True), Words(_tells(trial))]
        care = [Words("Take care", True), Words(CAUTIONS)]
        set_parts(figure, [("tells", tells, foot), ("cautions", care, beside)], BODY_SIZES)
        text = (
            f"rally-recovery, seed {scene.seed}; order by lot; {scene.player.name},"
            f" {scene.player.hand}-handed, {scene.world.surface.name} court; the opponent of the"
            f" model: {scene.opponent.name}, {scene.hitter.name}"
        )
        set_line(figure, Words(text, colour=SOFT), small_print, CAPTION_SIZES)
    return figure


def _court(ax: Axes, trial: Trial) -> None:
    """Places to feed from and their cones, by number."""
    cones = [
        Cone(f"{f.number}", (f.place.x_m, f.place.y_m), f.cone_x_m, (f.cone_x_m, f.cone_x_m))
        for f in trial.feeds
    ]
    draw_all(ax, cones, trial.question.scene.line_m)


def _how(trial: Trial) -> list[str]:
    asked = trial.question
    cones = "; ".join(
        f"{f.number}: {abs(f.cone_x_m):.2f} m {'left' if f.cone_x_m < 0 else 'right'}"
        for f in trial.feeds
    )
    free = all(side.to == ANYWHERE for feed in trial.feeds for side in feed.sides)
    whereto = (
        "where one would who sees the player stand there, at the opponent's pace."
        if free
        else "to the side in the row, short and deep mixed, at the opponent's pace. Both balls of a"
        " pair (one shade) alike."
    )
    counted = "reached" if asked.counts == REACHED else "in"
    return [
        "Mark the middle (\u25a0) and a cone (\u25b2) for each place that is fed from,"
        f" {asked.scene.depth_m:.1f} m behind the baseline, measured from the centre mark as the"
        f" player faces the net: {cones}.",
        f"1. Row by row, in this order: the feeder stands at the numbered place and hits {whereto}",
        "2. The player waits at rest at the cone or the middle, split-steps, runs and plays.",
        "3. A feed that is out, in the net or on the wrong side does not count: feed it again.",
        "4. Tick reached if the racket meets the ball before its second bounce, in if it then lands"
        f" in the singles court. Judged by: {counted}.",
        f"5. After each set {asked.practice.dose.rest_s} s of rest. Play all sessions to their end:"
        " who stops when it looks good proves nothing.",
    ]


def _tells(trial: Trial) -> str:
    asked, balls = trial.question, 2 * trial.pairs
    few = "" if trial.needed is not None else "Too few balls to see it surely. "
    return (
        f"{few}All {balls} balls together say whether this player keeps more from the cone, with"
        f" this feeder. If the model is right, {in_100(trial.power)} such trials show it; if the"
        f" place makes no difference, at most {100 * asked.false_alarm:g} show one. Type the ticks"
        " into the CSV of the same seed (1 or 0) and give it to trial --read. They tell nothing of"
        " other players or of matches."
    )


def _table(ax: Axes, balls: Sequence[Ball], box: Box) -> None:
    """The rows in blocks side by side, whole sets in each."""
    ax.set(xlim=(0, box.width), ylim=(-box.height, 0))
    ax.axis("off")
    sets = [list(some) for _, some in groupby(balls, key=lambda b: b.set)]
    a_block = ceil(len(sets) / COLUMNS)
    rows = HEAD + a_block * (FEEDS_A_SET + SET_HEAD)
    tall = min(TALLEST_ROW, box.height / rows)
    blocks = ceil(len(sets) / a_block)
    wide = (box.width - (blocks - 1) * GUTTER) / blocks
    for block in range(0, len(sets), a_block):
        left = block // a_block * (wide + GUTTER)
        _heads(ax, left, wide, tall)
        y = -HEAD * tall
        for some in sets[block : block + a_block]:
            y = _set(ax, some, (left, wide, tall), y)


def _heads(ax: Axes, left: float, wide: float, tall: float) -> None:
    heads = (("ball", BALL), ("feed", FEED), ("to", TO), ("stand", STAND))
    for text, at in heads:
        ha = "left" if at in (TO, STAND) else "center"
        _write(ax, left + at * wide, -0.6 * tall, text, tall, ha, SOFT)
    for text, at in (("reached", REACHED_AT - 0.02), ("in", IN_AT)):
        _write(ax, left + at * wide, -0.6 * tall, text, tall, "center", SOFT)


def _set(ax: Axes, balls: Sequence[Ball], at: tuple[float, float, float], y: float) -> float:
    """One set from the height `y` down; returns where the next begins."""
    left, wide, tall = at
    text = f"Set {balls[0].set}"
    _write(ax, left, y - 0.75 * SET_HEAD * tall, text, tall, "left", INK, bold=True)
    y -= SET_HEAD * tall
    for i, ball in enumerate(balls):
        if i // 2 % 2 == 0:
            ax.add_patch(Rectangle((left, y - tall), wide, tall, facecolor=GROUND, zorder=0))
        middle = y - 0.5 * tall
        for text, share, ha in (
            (f"{ball.ball}", BALL, "center"),
            (f"{ball.place}", FEED, "center"),
            (SIDES[ball.to], TO, "left"),
            (MARKS[ball.stand], STAND, "left"),
        ):
            _write(ax, left + share * wide, middle, text, tall, ha, INK, bold=share == FEED)
        for share in (REACHED_AT, IN_AT):
            corner = (left + share * wide - BOX / 2, middle - BOX / 2)
            ax.add_patch(
                Rectangle(corner, BOX, BOX, facecolor="white", edgecolor=INK, linewidth=0.7)
            )
        y -= tall
    return y


def _write(
    ax: Axes, x: float, y: float, text: str, tall: float, ha: str, colour: str, bold: bool = False
) -> None:
    size = min(8.0, 0.52 * tall * 72)
    weight = "bold" if bold else "normal"
    ax.text(x, y, text, fontsize=size, ha=ha, va="center", color=colour, fontweight=weight)
