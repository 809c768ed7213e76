"""The command `rally-recovery angle`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks
from experiments.scene.defaults import LEVEL


@asks(*options.CONTACT, *options.COURT, saves=(options.figure_option, options.json_option))
@options.shown("--player", default=LEVEL, help="The hitter: a level or a player file.")
@click.option("--hand", help="The hitter's.  [default: right, or as the player file says]")
@options.least_in_option
def angle(asked: Asked, player: str, hand: str | None, least_in: float | None) -> Said:
    """What a hitter can play from one place with the own error, and how little time it leaves."""
    from experiments.answers.angle.answer import fan_json, fan_of, fan_text
    from experiments.scene.people import given

    scene = asked.scene(
        player=player, opponent_player=player, hand=hand, opponent_hand=hand, seed=0
    )
    fan = fan_of(scene, **given(least_in=least_in))

    def figure() -> Any:
        from experiments.answers.angle.picture import fan_figure

        return fan_figure(fan)

    return Said(fan_text(fan), lambda: fan_json(fan), figure)
