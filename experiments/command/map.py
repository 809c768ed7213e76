"""The commands `rally-recovery map ...`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from typing import Any

import click

from experiments.command import options
from experiments.command.ask import Asked, Said, asks

SAVES = (options.figure_option, options.csv_option, options.quiet_option, options.json_option)


@click.group("map")
def maps() -> None:
    """Maps of the court: where to stand, and which policy for which place of your opponent."""


@asks(*options.SCENE, *options.CHANCE, saves=SAVES)
@options.policy_option
def standing(asked: Asked, own: tuple[str, ...]) -> Said:
    """Balls missed from every place that you may stand at while your opponent strikes."""
    from experiments.answers.map.words import (
        STANDING,
        standing_json,
        standing_table,
        standing_text,
    )
    from experiments.balls.spots import with_own
    from experiments.balls.standing import standing_map, steps_of, whole_grid
    from experiments.scene.own_code import policy_of

    asked.check_table(STANDING)
    scene, policies = asked.scene(), with_own([policy_of(text) for text in own])
    grid = whole_grid(scene)
    with asked.progress(steps_of(scene, policies, grid)) as done:
        found = standing_map(scene, policies, grid, done)

    def figure() -> Any:
        from experiments.answers.map.picture import standing_figure

        return standing_figure(found)

    return Said(
        standing_text(found), lambda: standing_json(found), figure, lambda: standing_table(found)
    )


@asks(
    options.height_option,
    *options.PLAYERS,
    *options.COURT,
    options.hitter_option,
    *options.CHANCE,
    saves=SAVES,
)
@options.shown("--policy", default="bisector", help="Listed or FILE.py:Name.")
@options.shown("--than", default="middle", help="The policy beside it.")
@options.shown(
    "--step", type=options.Measure("--step", "m", 0.1, 2.0), default="0.5", help="Between places."
)
def policies(asked: Asked, policy: str, than: str, step: float) -> Said:
    """Which of two policies misses fewer, for every place that your opponent may strike from."""
    from experiments.answers.map.answer import contact_grid, contact_map
    from experiments.answers.map.words import CONTACTS, contact_json, contact_table, contact_text
    from experiments.scene.own_code import policy_of

    asked.check_table(CONTACTS)
    mine, other = policy_of(policy), policy_of(than)
    x_m, y_m = contact_grid(step)
    with asked.progress(len(x_m) * len(y_m)) as done:
        found = contact_map(asked.scene(), mine, other, step, done)

    def figure() -> Any:
        from experiments.answers.map.picture import contact_figure

        return contact_figure(found)

    return Said(
        contact_text(found), lambda: contact_json(found), figure, lambda: contact_table(found)
    )


maps.add_command(standing)
maps.add_command(policies)
