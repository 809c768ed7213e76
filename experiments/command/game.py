"""The command `rally-recovery game`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks


@asks(
    *options.CONTACT,
    *options.PLAYERS,
    *options.COURT,
    options.seed_option,
    saves=(options.figure_option, options.json_option),
)
@options.shown(
    "--count",
    type=click.Choice(["points", "winners"]),
    default="points",
    help="Points: balls that are got back count for what they lead to. Winners: for nothing.",
)
@options.shown("--strokes", default=256, help="Struck at each target.")
def game(asked: Asked, count: str, strokes: int) -> Said:
    """Place against shot when both choose their best: where to stand, seen and hidden."""
    from experiments.answers.game.answer import (
        GameQuestion,
        not_returned,
        solve_game,
        worth_of_rallies,
    )
    from experiments.answers.game.words import game_json, game_text

    question = GameQuestion(asked.scene(), errors=strokes)
    of_points = count == "points"
    worth = worth_of_rallies(question.scene) if of_points else not_returned
    found = solve_game(question, worth)
    what = "points won less points lost" if of_points else "balls not reached in time"

    def figure() -> Any:
        from experiments.answers.game.picture import game_figure

        return game_figure(found)

    return Said(game_text(found, what), lambda: game_json(found), figure)
