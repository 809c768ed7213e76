"""The answer at the net as one page for a coach."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from experiments.answers.net.answer import ANGLE, CENTRE, LINE, OTHER, X_M, AtTheNet, NetAnswer
from experiments.answers.net.picture import WAYS, draw_turning, passes_words
from experiments.answers.net.words import close_words, places_words, side_m
from experiments.drawing import style
from experiments.drawing.one_page import CoachPage, Panel, page_figure
from experiments.statistics.signed_words import amount, claim, turned, verdict_on_loss

MARKS = {LINE: "line", ANGLE: "middle of\nthe angle", CENTRE: "centre", OTHER: "other\nside"}


def draw_reached(ax: Axes, answer: NetAnswer) -> list[Artist]:
    """Balls reached of 100 by lateral place, the player's own distance from the net run for."""
    artists: list[Artist] = []
    for (passes, found), (colour, marker, _) in zip(answer.passes.items(), WAYS, strict=False):
        row = found.distances_m.index(found.own_m)
        columns = row * len(X_M) + np.arange(len(X_M))
        kept = [found.met.kept_per_100("missed", int(k)) for k in columns]
        ends = np.array([(e.low, e.high) for e in kept])
        artists.append(ax.fill_between(X_M, *ends.T, color=colour, alpha=0.2, linewidth=0))
        artists += ax.plot(
            X_M,
            [e.value for e in kept],
            marker=marker,
            color=colour,
            markeredgecolor=style.INK,
            markersize=4,
            label=passes_words(passes),
        )
    found = next(iter(answer.passes.values()))
    bottom, top = ax.get_ylim()
    for k, (name, words) in enumerate(MARKS.items()):
        x = float(found.met.aims[found.named(name)][0])
        artists.append(ax.axvline(x, color=style.FAINT, linewidth=0.9, zorder=0))
        y = bottom + (0.02 + 0.13 * (k % 2)) * (top - bottom)
        artists.append(ax.text(x, y, words, ha="center", va="bottom", fontsize=6.5))
    ax.set(xlabel="lateral place run for (m from the centre line)", ylabel="balls reached of 100")
    ax.legend(loc="center left", fontsize=style.SMALL_PT - 1)
    return artists


def coach_page(answer: NetAnswer) -> CoachPage:
    """What stands on the page."""
    question, stroke = answer.question, answer.stroke
    scene, own = question.scene, question.contact_m
    assert stroke.meets is not None
    who = (
        f"{scene.player.name}, {scene.player.hand}-handed, {scene.against_whom()}, on a"
        f" {scene.world.surface.name} court. The approach goes from {side_m(own[0])},"
        f" {-own[1]:.1f} m from the net, to {side_m(question.lands_m[0])},"
        f" {question.lands_m[1]:.1f} m deep."
    )
    last = list(answer.passes.values())[-1]
    how_close = close_words(last)
    return CoachPage(
        title="Where at the net?",
        question="After my approach: which side of the middle, and how close?",
        who=who,
        panels=[
            Panel(
                "Where the side turns round",
                lambda ax: draw_turning(ax, answer, plain=True),
                "Ball in the corner, struck unhurried. Blue: the middle of the angle. Marks: where"
                " most balls are reached.",
            ),
            Panel(
                f"Running for a place {last.own_m:.1f} m from the net",
                lambda ax: draw_reached(ax, answer),
                "Bands: 95 % intervals.",
                1.5,
            ),
        ],
        findings=[
            ("Which side", " ".join(_which_side(passes, f) for passes, f in answer.passes.items())),
            ("Line, middle, centre", _named(last)),
            ("How close", f"{how_close[0].upper()}{how_close[1:]}"),
            ("Where the baseline rule turns round", turning_words(answer)),
        ],
        rests_on="How often opponents pass or lob, and to which side, is assumed: against one who"
        " passes where you are not the ball's side pays more than against one with fixed ways."
        " In brackets: 95 % intervals, of chance alone. Nobody watched you play.",
        small_print=f"rally-recovery, seed {scene.seed}, {scene.balls} balls from every place",
    )


def _which_side(passes: str, found: AtTheNet) -> str:
    points, reached = found.across("points"), found.across("missed")
    best, most = (found.met.aims[c.column][0] for c in (points, reached))
    return (
        f"Against an opponent who {passes_words(passes)}, most points are won by running for"
        f" the place {side_m(best)}; {places_words(found, points)}. Most balls are reached"
        f" {side_m(most)} ({places_words(found, reached)})."
    )


def _named(found: AtTheNet) -> str:
    words = {LINE: "The line", ANGLE: "The middle of the angle", CENTRE: "The centre"}
    return " ".join(_one_named(found, name, said) for name, said in words.items())


def _one_named(found: AtTheNet, name: str, words: str) -> str:
    reached, points = (found.loss(measure, name) for measure in ("missed", "points"))
    wins = claim(verdict_on_loss(points), turned(points), "the best place", "points in 100")
    return f"{words} reaches {amount(turned(reached), 'balls in 100')}, and {wins}."


def turning_words(answer: NetAnswer) -> str:
    """Where the middle of the angle, and what was measured, change sides."""
    parts = []
    for passes, found in answer.passes.items():
        turning = found.turning[0]
        same, other = turning.best_turns_m
        near = f"up to {same:g} m from the net it is the ball's side" if same == same else ""
        far = f"from {other:g} m on the other side" if other == other else ""
        said = ", ".join(part for part in (near, far) if part) or "neither side surely"
        if not near and far:
            said += " and nowhere surely the ball's"
        parts.append(f"measured against who {passes_words(passes)}, {said}")
    at = next(iter(answer.passes.values())).turning[0].bisector_turns_m
    start = (
        "With the ball in the corner the middle of the angle crosses the centre line"
        f" {at:.1f} m from the net"
        if at == at
        else "The middle of the angle does not change sides"
    )
    return f"{start}; {'; '.join(parts)}."


def net_page(answer: NetAnswer, paper: str = "a4") -> Figure:
    """The page as a figure of the paper's size."""
    return page_figure(coach_page(answer), paper, picture_share=0.52)
