"""The command `rally-recovery spot`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks


@asks(
    *options.SCENE,
    *options.LIMITS,
    *options.CHANCE,
    saves=(options.figure_option, options.units_option, options.json_option),
)
@options.policy_option
@click.option("--all", "every", is_flag=True, help="Tell and draw every way of recovering.")
def spot(asked: Asked, own: tuple[str, ...], every: bool) -> Said:
    """Where to stand while your opponent strikes from one place.

    --figure draws one court with the place to wait; with --all or --policy every way of recovering.
    """
    from experiments.answers.spot.answer import find_spot
    from experiments.answers.spot.words import spot_json, spot_text
    from experiments.balls.spots import with_own
    from experiments.scene.own_code import policy_of

    scene = asked.scene()
    mine = [policy_of(text) for text in own]
    result = find_spot(scene, with_own(mine))
    shown, text = spot_json(result), spot_text(result, every, [policy.name for policy in mine])
    if scene.player.ranges:  # late: what it draws with is slow to import
        from experiments.answers.player.legs_range import legs_range, legs_text

        if legs := legs_range(result):
            shown["over_measured_legs"] = legs.as_json()
            text += f"\n\n{legs_text(legs)}"

    def figure() -> Any:
        if every or mine:
            from experiments.answers.spot.answer import above_of
            from experiments.answers.spot.picture import above_figure

            return above_figure(above_of(result))
        from experiments.answers.spot.place import place_figure

        return place_figure(result)

    return Said(text, lambda: shown, figure)
