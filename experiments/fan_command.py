"""The command `rally-recovery angle`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

import json
from pathlib import Path

import click

from experiments.options import (
    LEVEL,
    answer,
    depth_option,
    figure_option,
    height_option,
    json_option,
    least_in_option,
    opponent_option,
    surface_option,
)


@click.command()
@opponent_option
@height_option
@click.option(
    "--player",
    default=LEVEL,
    show_default=True,
    help="The hitter: a level or a player file.",
)
@click.option("--hand", help="The hitter's.  [default: right, or as the player file says]")
@surface_option
@depth_option
@least_in_option
@figure_option
@json_option
def angle(
    opponent: tuple[float, float],
    height: float,
    player: str,
    hand: str | None,
    surface: str,
    depth: float | None,
    least_in: float | None,
    figure: Path | None,
    as_json: bool,
) -> None:
    """What a hitter can play from one place with the own error, and how little time it leaves."""
    from experiments.fan import FanQuestion, fan_json, fan_of, fan_text
    from experiments.player.file import player_of
    from experiments.scene import given, world_of
    from experiments.spot import waiting_depth_m
    from sim.court import HALF_LENGTH_M
    from sim.exchange import Place
    from sim.world import TABULATED

    hitter = player_of(player, hand)
    behind_m = waiting_depth_m(hitter, surface) if depth is None else depth
    place = Place("opponent's contact", *opponent, height)
    world = world_of(surface, hitter, flight=TABULATED)
    line_m = HALF_LENGTH_M + behind_m
    fan = fan_of(FanQuestion(place, hitter, world, line_m, **given(least_in=least_in)))

    def draw(path: Path) -> None:
        from experiments.drawing.fan import fan_figure
        from experiments.drawing.style import save

        save(fan_figure(fan), path)

    if as_json:
        answer(json.dumps(fan_json(fan), indent=1), figure, draw, None)
    else:
        answer(fan_text(fan), figure, draw)
