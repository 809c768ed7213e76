"""The command `rally-recovery angle`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import click

from experiments.options import Measure, Point


@click.command()
@click.option(
    "--opponent",
    type=Point("--opponent", "xy"),
    default="3.115,11.885",
    show_default=True,
    help="The ball when your opponent strikes it.",
)
@click.option("--height", type=Measure("--height", "m", 0.1, 3.2), default="1.0", show_default=True)
@click.option("--player", default="club-adult", show_default=True, help="The hitter's level.")
@click.option("--hand", default="right", show_default=True, help="The hitter's.")
@click.option("--surface", default="hard", show_default=True)
@click.option(
    "--depth",
    type=Measure("--depth (metres behind the baseline)", "m", 0, 6.4),
    help="Where you wait.  [default: the level's]",
)
@click.option("--least-in", type=float, default=0.7, show_default=True, help="Chance to land in.")
@click.option("--figure", type=click.Path(path_type=Path), help="Also draw it: .png, .svg or .pdf.")
@click.option("--json", "as_json", is_flag=True, help="Numbers instead of text.")
def angle(
    opponent: tuple[float, float],
    height: float,
    player: str,
    hand: str,
    surface: str,
    depth: float | None,
    least_in: float,
    figure: Path | None,
    as_json: bool,
) -> None:
    """What a hitter can play from one place with the own error, and how little time it leaves."""
    from experiments.fan import FanQuestion, fan_json, fan_of, fan_text
    from experiments.scene import world_of
    from experiments.spot import waiting_depth_m
    from sim.court import HALF_LENGTH_M
    from sim.exchange import Place
    from sim.players import player as player_named
    from sim.world import TABULATED

    if figure is not None:
        from experiments.drawing_style import require_picture_suffix

        require_picture_suffix(figure)
    hitter = player_named(player, hand)
    behind_m = waiting_depth_m(hitter, surface) if depth is None else depth
    place = Place("opponent's contact", *opponent, height)
    world = replace(world_of(surface), flight=TABULATED)
    fan = fan_of(FanQuestion(place, hitter, world, HALF_LENGTH_M + behind_m, least_in))
    if figure is not None:
        from experiments.drawing_style import save
        from experiments.fan_picture import fan_figure

        save(fan_figure(fan), figure)
    click.echo(json.dumps(fan_json(fan), indent=1) if as_json else fan_text(fan))
    if figure is not None and not as_json:
        click.echo(f"\nPicture: {figure}")
