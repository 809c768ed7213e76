"""The command `rally-recovery stroke`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.scene.defaults import BALLS, OPPONENT_POLICY

if TYPE_CHECKING:
    from experiments.answers.stroke.strokes import StrokeQuestion

balls_option = options.shown("--balls", default=BALLS, help="After each stroke.")


@asks(
    *(*options.PLAYERS, *options.COURT, options.hitter_option, balls_option, options.seed_option),
    saves=(options.figure_option, options.quiet_option, options.json_option),
)
@options.shown(
    "--from",
    "start",
    type=options.Point("--from", "xy"),
    default="3.0,-12.4",
    help="The ball when you strike it; your side is at y below 0.",
)
@options.height_option
@options.policy_option
@options.shown("--opponent-policy", default=OPPONENT_POLICY, help="Where your opponent waits.")
@options.shown(
    "--opponent-takes",
    default="balanced",
    help="How the opponent chooses where to play it: earliest, nearest, most-time or balanced.",
)
@options.shown(
    "--quality",
    type=options.Measure("--quality", "1", 0, 1),
    default="1",
    help="Of your own contact: 1 unhurried, 0 at full stretch.",
)
@options.shown(
    "--high-over",
    "high_gap_m",
    type=options.Measure("--high-over", "m", 1.5, 6),
    default="4",
    help="By how much the high ball clears the net.",
)
@options.shown(
    "--high-to", default="crosscourt", help="Where it goes: crosscourt, middle or down-the-line."
)
@click.option(
    "--lands",
    help="One drive in place of the four strokes, at these depths: metres from the net by comma,"
    " such as 10.5,9,7.5,6.",
)
@options.shown(
    "--stroke",
    "drive",
    default="crosscourt",
    help="With --lands, which drive: crosscourt, middle or down-the-line.",
)
@options.shown("--rallies", default=4000, help="With --lands, after each depth.")
def stroke(
    asked: Asked,
    start: tuple[float, float],
    height: float,
    own: tuple[str, ...],
    opponent_policy: str,
    lands: str | None,
    drive: str,
    rallies: int,
    **how: Any,
) -> Said:
    """Which of your own strokes buys the time to recover, and where to.

    A drive crosscourt, to the middle, down the line and a high slow ball, from one place: how long
    until your opponent strikes, how far you get, and what you miss. Or, with --lands, one drive
    that lands deep and short: what a short ball costs.
    """
    from experiments.answers.stroke.answer import after_strokes
    from experiments.answers.stroke.strokes import OWN_STROKES, StrokeQuestion
    from experiments.answers.stroke.words import stroke_json, stroke_text
    from experiments.scene.own_code import policy_of

    question = StrokeQuestion(
        scene=asked.scene(),
        contact_m=(*start, height),
        policies=tuple(policy_of(text) for text in ("middle", "bisector", *own)),
        opponent_policy=policy_of(opponent_policy),
        **how,
    )
    if lands is not None:
        return _short_balls(asked, question, lands, drive, rallies)
    with asked.progress(len(OWN_STROKES)) as done:
        found = after_strokes(question, done)

    def figure() -> Any:
        from experiments.answers.stroke.picture import stroke_figure

        return stroke_figure(question, found)

    return Said(stroke_text(question, found), lambda: stroke_json(question, found), figure)


def _short_balls(
    asked: Asked, question: StrokeQuestion, lands: str, drive: str, rallies: int
) -> Said:
    """One drive at several depths."""
    from experiments.answers.stroke.lands import DEEPEST_M, NEAREST_M, LandsQuestion, lands_at
    from experiments.answers.stroke.lands_words import lands_json, lands_text
    from experiments.scene.units import number

    depths = tuple(
        number("a landing depth (--lands)", text, "m", NEAREST_M, DEEPEST_M)
        for text in lands.split(",")
    )
    short = LandsQuestion(question, depths, drive, rallies)
    with asked.progress(len(depths)) as done:
        found = lands_at(short, done)

    def figure() -> Any:
        from experiments.answers.stroke.lands_picture import lands_figure

        return lands_figure(short, found)

    return Said(lands_text(short, found), lambda: lands_json(short, found), figure)
