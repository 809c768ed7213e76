"""The command `rally-recovery stroke`. Heavy libraries are imported only where needed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from experiments.command.options import (
    Measure,
    Point,
    answer,
    depth_option,
    figure_option,
    height_option,
    hitter_option,
    json_option,
    players_options,
    quiet_option,
    seed_option,
    surface_option,
)
from experiments.scene.defaults import BALLS, OPPONENT_POLICY


@click.command()
@click.option(
    "--from",
    "start",
    type=Point("--from", "xy"),
    default="3.0,-12.4",
    show_default=True,
    help="The ball when you strike it; your side is at y below 0.",
)
@height_option
@players_options
@surface_option
@depth_option
@hitter_option
@click.option(
    "--policy", "own", multiple=True, help="One more policy: path/to/file.py:Name or a listed name."
)
@click.option(
    "--opponent-policy",
    default=OPPONENT_POLICY,
    show_default=True,
    help="Where your opponent waits.",
)
@click.option(
    "--opponent-takes",
    default="balanced",
    show_default=True,
    help="How the opponent chooses where to play it: earliest, nearest, most-time or balanced.",
)
@click.option(
    "--quality",
    type=Measure("--quality", "1", 0, 1),
    default="1",
    show_default=True,
    help="Of your own contact: 1 unhurried, 0 at full stretch.",
)
@click.option(
    "--high-over",
    type=Measure("--high-over", "m", 1.5, 6),
    default="4",
    show_default=True,
    help="By how much the high ball clears the net.",
)
@click.option(
    "--high-to",
    default="crosscourt",
    show_default=True,
    help="Where it goes: crosscourt, middle or down-the-line.",
)
@click.option("--balls", type=int, default=BALLS, show_default=True, help="After each stroke.")
@seed_option
@figure_option
@quiet_option
@json_option
def stroke(
    start: tuple[float, float],
    height: float,
    surface: str,
    depth: float | None,
    hitter: str,
    own: tuple[str, ...],
    opponent_policy: str,
    high_over: float,
    seed: int | None,
    figure: Path | None,
    quiet: bool,
    as_json: bool,
    balls: int,
    opponent_takes: str,
    quality: float,
    high_to: str,
    **names: Any,
) -> None:
    """Which of your own strokes buys the time to recover, and where to.

    A drive crosscourt, to the middle, down the line and a high slow ball, from one place: how long
    until your opponent strikes, how far you get, and what you miss.
    """
    from experiments.answers.spot.question import waiting_depth_m
    from experiments.answers.stroke.answer import stroke_text
    from experiments.answers.stroke.numbers import stroke_json
    from experiments.answers.stroke.recovery import after_strokes
    from experiments.answers.stroke.strokes import OWN_STROKES, StrokeQuestion
    from experiments.output.progress import progress_of
    from experiments.scene.own_code import policy_of, shot_model_of
    from experiments.scene.people import players_of, world_of
    from sim.chance import fresh_seed
    from sim.world import TABULATED

    me, other = players_of(**names)
    question = StrokeQuestion(
        contact_m=(*start, height),
        player=me,
        opponent=other,
        world=world_of(surface, me, flight=TABULATED),
        hitter=shot_model_of(hitter),
        policies=tuple(policy_of(text) for text in ("middle", "bisector", *own)),
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        seed=fresh_seed() if seed is None else seed,
        opponent_policy=policy_of(opponent_policy),
        high_gap_m=high_over,
        high_to=high_to,
        quality=quality,
        opponent_takes=opponent_takes,
    )
    progress = progress_of(len(OWN_STROKES), 0, not quiet)
    try:
        found = after_strokes(question, progress.update)
    finally:
        progress.close()

    def draw(path: Path) -> None:
        from experiments.answers.stroke.picture import stroke_figure
        from experiments.drawing.style import save

        save(stroke_figure(question, found), path)

    if as_json:
        numbers = json.dumps(stroke_json(question, found), indent=1, allow_nan=False)
        answer(numbers, figure, draw, None)
    else:
        answer(stroke_text(question, found), figure, draw)
