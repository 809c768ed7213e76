"""The command `rally-recovery game`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from experiments.command.options import (
    answer,
    depth_option,
    figure_option,
    height_option,
    json_option,
    opponent_option,
    players_options,
    seed_option,
    surface_option,
)


@click.command()
@opponent_option
@height_option
@players_options
@surface_option
@depth_option
@click.option(
    "--count",
    type=click.Choice(["points", "winners"]),
    default="points",
    show_default=True,
    help="Points: balls that are got back count for what they lead to. Winners: for nothing.",
)
@click.option("--strokes", type=int, default=256, show_default=True, help="Struck at each target.")
@seed_option
@figure_option
@json_option
def game(
    opponent: tuple[float, float],
    height: float,
    surface: str,
    depth: float | None,
    count: str,
    strokes: int,
    seed: int | None,
    figure: Path | None,
    as_json: bool,
    **names: Any,
) -> None:
    """Place against shot when both choose their best: where to stand, seen and hidden."""
    from experiments.answers.game.answer import game_json, game_text, solve_game
    from experiments.answers.game.next_ball import worth_of_rallies
    from experiments.answers.game.payoffs import GameQuestion, not_returned
    from experiments.answers.spot.question import waiting_depth_m
    from experiments.scene.people import players_of, world_of
    from sim.chance import fresh_seed
    from sim.exchange import Place
    from sim.world import TABULATED

    me, other = players_of(**names)
    question = GameQuestion(
        place=Place("opponent's contact", *opponent, height),
        player=me,
        opponent=other,
        world=world_of(surface, me, flight=TABULATED),
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        seed=fresh_seed() if seed is None else seed,
        errors=strokes,
    )
    worth = not_returned if count == "winners" else worth_of_rallies(question)
    found = solve_game(question, worth)

    def draw(path: Path) -> None:
        from experiments.answers.game.picture import game_figure
        from experiments.drawing.style import save

        save(game_figure(found), path)

    what = "points won less points lost" if count == "points" else "balls not reached in time"
    if as_json:
        answer(json.dumps(game_json(found), indent=1), figure, draw, None)
    else:
        answer(game_text(found, what), figure, draw)
