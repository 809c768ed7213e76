"""The command `rally-recovery shot`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import Measure, Point, figure_option, json_option, surface_option


@asks(saves=(figure_option, json_option))
@click.option(
    "--from", "start", type=Point("--from", "xyz"), required=True, help="Ball at contact."
)
@click.option("--to", "target", type=Point("--to", "xy"), help="Where it shall land.")
@click.option(
    "--angle", type=Measure("--angle", "degrees", -89, 89), help="Launch above horizontal."
)
@click.option(
    "--heading",
    type=Measure("--heading", "degrees", -89, 89),
    help="With --angle: from straight along the court, positive to the hitter's right.",
)
@click.option("--speed", type=Measure("--speed", "m/s", 1, 100, plain_most=75), required=True)
@click.option("--topspin", type=Measure("--topspin", "rpm", -10_000, 10_000), default="0")
@click.option(
    "--sidespin",
    type=Measure("--sidespin", "rpm", -10_000, 10_000),
    default="0",
    help="Positive curves to the hitter's left.",
)
@surface_option
@click.option("--high", is_flag=True, help="The higher of the two ways to hit the target.")
@click.option("--drag-coefficient", type=Measure("--drag-coefficient", "1", 0, 2))
@click.option("--air-density", type=Measure("--air-density", "kg/m3", 0, 1.99))
@click.option("--ball", help="One of `list balls`.  [default: medium]")
@click.option("--ball-mass", type=Measure("--ball-mass", "kg", 0.01, 0.2))
@click.option("--ball-diameter", type=Measure("--ball-diameter", "m", 0.03, 0.15))
@click.option("--altitude", type=Measure("--altitude", "m", -500, 6000), help="Of the court.")
@click.option("--temperature", type=Measure("--temperature", "deg C", -20, 50))
@click.option("--wind", type=Point("--wind", "xyz"), help="In m/s along x, y and z.")
def shot(
    asked: Asked,
    start: tuple[float, float, float],
    target: tuple[float, float] | None,
    angle: float | None,
    heading: float | None,
    speed: float,
    topspin: float,
    sidespin: float,
    high: bool,
    **surroundings: Any,
) -> Said:
    """One shot: launch, net clearance, landing, bounce and second bounce.

    Give a target (--to) or a launch angle (--angle). All times count from the strike.
    """
    from experiments.answers.shot.answer import ShotQuestion, play_shot, shot_text
    from experiments.scene.people import world_of
    from sim.errors import InputError

    if target is not None and (angle is not None or heading is not None):
        raise InputError("--to already fixes the launch; leave out --angle and --heading")
    question = ShotQuestion(
        start_m=start,
        speed_m_s=speed,
        world=world_of(**surroundings),
        target_m=target,
        launch_angle_deg=angle,
        heading_deg=heading or 0.0,
        topspin_rpm=topspin,
        sidespin_rpm=sidespin,
        high=high,
    )
    result = play_shot(question)

    def figure() -> Any:
        from experiments.answers.side.answer import shot_flight
        from experiments.answers.side.picture import flight_figure

        return flight_figure(shot_flight(question))

    return Said(shot_text(question, result), result.as_json, figure)
