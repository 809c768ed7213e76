"""The command `rally-recovery footspeed`. Heavy libraries are imported only where needed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from experiments.command.options import (
    answer,
    depth_option,
    figure_option,
    height_option,
    hitter_option,
    json_option,
    opponent_option,
    players_options,
    quiet_option,
    seed_option,
    surface_option,
)

if TYPE_CHECKING:
    from experiments.answers.footspeed.question import Footspeed, FootspeedQuestion

ALL = "all"


@click.command()
@opponent_option
@height_option
@players_options
@surface_option
@depth_option
@hitter_option
@click.option(
    "--vary",
    default="top-speed",
    show_default=True,
    help="top-speed, acceleration, reaction, reach, together, or all of these in turn.",
)
@click.option("--levels", help="Levels by comma, each against its like, in place of --player.")
@click.option("--surfaces", help="Surfaces by comma, in place of --surface.")
@click.option("--balls", type=int, default=8000, show_default=True, help="To find the best places.")
@seed_option
@figure_option
@quiet_option
@json_option
def footspeed(
    vary: str,
    levels: str | None,
    surfaces: str | None,
    figure: Path | None,
    quiet: bool,
    as_json: bool,
    **scene: Any,
) -> None:
    """Where to stand with slower or faster legs, and what faster legs buy.

    The best place, how far off it costs one ball in a hundred, and what the middle costs, over top
    speed, acceleration, reaction and reach.
    """
    from experiments.answers.footspeed.answer import footspeed_text
    from experiments.answers.footspeed.numbers import footspeed_json
    from experiments.answers.footspeed.question import footspeed_of, steps_of
    from experiments.output.progress import progress_of
    from sim.chance import fresh_seed

    if scene["seed"] is None:
        scene["seed"] = fresh_seed()
    asked = questions_of(vary, levels, surfaces, **scene)
    progress = progress_of(steps_of([q for group in asked for q in group]), 0, not quiet)
    try:
        found = [[footspeed_of(q, progress.update) for q in group] for group in asked]
    finally:
        progress.close()
    numbers = [footspeed_json(group) for group in found]
    alone = levels is None and surfaces is None
    said = json.dumps(numbers[0] if alone else numbers, indent=1, allow_nan=False)
    if as_json:
        answer(said, figure, lambda path: _draw(found, path), None)
    else:
        text = "\n\n".join(footspeed_text(group) for group in found)
        answer(text, figure, lambda path: _draw(found, path))


def _draw(found: list[list[Footspeed]], figure: Path) -> None:
    from experiments.answers.footspeed.picture import footspeed_figure, multiples_figure
    from experiments.drawing.style import save

    alone = len(found) == 1
    save(footspeed_figure(found[0]) if alone else multiples_figure([g[0] for g in found]), figure)


def questions_of(
    vary: str,
    levels: str | None,
    surfaces: str | None,
    player: str,
    opponent_player: str | None,
    surface: str,
    **scene: Any,
) -> list[list[FootspeedQuestion]]:
    """The questions of the options: a group for each level and surface, one in it a thing varied.

    Raises:
        InputError: an unknown name, or two options that exclude each other.
    """
    from experiments.answers.footspeed.varied import VARIED, varied
    from sim.errors import InputError

    if levels is not None and opponent_player is not None:
        raise InputError("--levels sets each level against its like; leave out --opponent-player")
    names = _split(levels) or [player]
    kinds = list(VARIED.values()) if vary == ALL else [varied(vary)]
    if len(kinds) > 1 and (levels is not None or surfaces is not None):
        raise InputError("with --levels or --surfaces vary one thing, not all")
    return [
        _group(kinds, name, opponent_player, where, **scene)
        for where in _split(surfaces) or [surface]
        for name in names
    ]


def _split(words: str | None) -> list[str]:
    return [w.strip() for w in (words or "").split(",") if w.strip()]


def _group(
    kinds: list[Any],
    player: str,
    opponent_player: str | None,
    surface: str,
    *,
    opponent: tuple[float, float],
    height: float,
    hand: str | None,
    opponent_hand: str | None,
    depth: float | None,
    hitter: str,
    balls: int,
    seed: int,
) -> list[FootspeedQuestion]:
    from experiments.answers.footspeed.question import FootspeedQuestion
    from experiments.answers.spot.question import SpotQuestion, waiting_depth_m
    from experiments.scene.own_code import shot_model_of
    from experiments.scene.people import players_of, world_of
    from sim.exchange import Place
    from sim.world import TABULATED
    from strategies.policies import make_policy

    me, other = players_of(player, opponent_player, hand, opponent_hand)
    scene = SpotQuestion(
        place=Place("opponent's contact", *opponent, height),
        player=me,
        opponent=other,
        world=world_of(surface, me, flight=TABULATED),
        hitter=shot_model_of(hitter),
        policies=[make_policy("middle"), make_policy("bisector")],
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        seed=seed,
    )
    return [FootspeedQuestion(scene, kind) for kind in kinds]
