"""The command `rally-recovery side`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from experiments.options import (
    HITTER,
    Point,
    answer,
    depth_option,
    figure_option,
    height_option,
    json_option,
    opponent_option,
    players_options,
    surface_option,
)

DEFAULT_SHOTS = ("crosscourt", "short-angle", "high")


@click.command()
@opponent_option
@height_option
@players_options
@surface_option
@depth_option
@click.option(
    "--shot",
    "shots",
    multiple=True,
    default=DEFAULT_SHOTS,
    show_default=True,
    help="crosscourt, middle, down-the-line, short-angle or high; once for each.",
)
@click.option("--policy", default="bisector", show_default=True, help="Where you wait: its spot.")
@click.option("--stand", type=Point("--stand", "xy"), help="Or this place: y below 0.")
@figure_option
@json_option
def side(
    opponent: tuple[float, float],
    height: float,
    surface: str,
    depth: float | None,
    shots: tuple[str, ...],
    policy: str,
    stand: tuple[float, float] | None,
    figure: Path | None,
    as_json: bool,
    **names: Any,
) -> None:
    """Shots compared from the side: flight, bounce, and where you meet them."""
    from experiments.own_code import policy_of, shot_model_of
    from experiments.scene import players_of, world_of
    from experiments.side import SHOTS, SideQuestion, side_json, side_text, side_view
    from experiments.spot import SpotQuestion, placed_situation, spot_of, waiting_depth_m
    from sim.errors import InputError, named
    from sim.exchange import Place
    from sim.world import TABULATED

    me, other = players_of(**names)
    place, world = (
        Place("opponent's contact", *opponent, height),
        world_of(surface, me, flight=TABULATED),
    )
    if stand is None:
        behind_m = waiting_depth_m(me, surface) if depth is None else depth
        hitter = shot_model_of(HITTER)
        asked = SpotQuestion(place, me, other, world, hitter, [], behind_m, 100, 0)
        x, y = spot_of(policy_of(policy), placed_situation(asked))
        stand = float(x), float(y)
    elif stand[1] >= 0:
        raise InputError(
            f"y of --stand is {stand[1]:g} m; you are on the near side: give y below 0"
        )
    meant = [named("shot", name, SHOTS) for name in shots]
    found = side_view(SideQuestion(place, me, other, world, stand, meant))

    def draw(path: Path) -> None:
        from experiments.drawing.side import side_figure
        from experiments.drawing.style import save

        save(side_figure(found), path)

    if as_json:
        answer(json.dumps(side_json(found), indent=1), figure, draw, None)
    else:
        answer(side_text(found), figure, draw)
