"""The command `rally-recovery side`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import (
    CONTACT,
    COURT,
    PLAYERS,
    Point,
    figure_option,
    json_option,
    shown,
)

DEFAULT_SHOTS = ("crosscourt", "short-angle", "high")


@asks(*CONTACT, *PLAYERS, *COURT, saves=(figure_option, json_option))
@shown(
    "--shot",
    "shots",
    multiple=True,
    default=DEFAULT_SHOTS,
    help="crosscourt, middle, down-the-line, short-angle or high; once for each.",
)
@shown("--policy", default="bisector", help="Where you wait: its spot.")
@click.option("--stand", type=Point("--stand", "xy"), help="Or this place: y below 0.")
def side(
    asked: Asked, shots: tuple[str, ...], policy: str, stand: tuple[float, float] | None
) -> Said:
    """Shots compared from the side: flight, bounce, and where you meet them."""
    from experiments.answers.side.answer import (
        SHOTS,
        SideQuestion,
        side_json,
        side_text,
        side_view,
    )
    from experiments.balls.spots import placed_situation, spot_of
    from experiments.scene.own_code import policy_of
    from sim.errors import InputError, named

    scene = asked.scene(seed=0)
    if stand is None:
        x, y = spot_of(policy_of(policy), placed_situation(scene))
        stand = float(x), float(y)
    elif stand[1] >= 0:
        raise InputError(
            f"y of --stand is {stand[1]:g} m; you are on the near side: give y below 0"
        )
    meant = [named("shot", name, SHOTS) for name in shots]
    found = side_view(SideQuestion(scene, stand, meant))

    def figure() -> Any:
        from experiments.answers.side.picture import side_figure

        return side_figure(found)

    return Said(side_text(found), lambda: side_json(found), figure)
