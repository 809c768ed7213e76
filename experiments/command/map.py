"""The commands `rally-recovery map ...`. Heavy libraries are imported only where needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from experiments.command.options import (
    Measure,
    also_write,
    answer,
    balls_option,
    csv_option,
    depth_option,
    figure_option,
    height_option,
    hitter_option,
    opponent_option,
    players_options,
    quiet_option,
    seed_option,
    surface_option,
)


@click.group("map")
def maps() -> None:
    """Maps of the court: where to stand, and which policy for which place of your opponent."""


@maps.command()
@opponent_option
@height_option
@players_options
@surface_option
@depth_option
@hitter_option
@click.option("--policy", "own", multiple=True, help="One more policy, listed or FILE.py:Name.")
@balls_option
@seed_option
@figure_option
@csv_option
@quiet_option
def standing(
    opponent: tuple[float, float],
    height: float,
    own: tuple[str, ...],
    figure: Path | None,
    csv: Path | None,
    quiet: bool,
    **options: Any,
) -> None:
    """Balls missed from every place that you may stand at while your opponent strikes."""
    from experiments.answers.map.answer import STANDING, standing_table, standing_text
    from experiments.answers.spot.question import with_own
    from experiments.balls.standing import standing_map, steps_of, whole_grid
    from experiments.output.tables import require_table, write_table
    from experiments.scene.own_code import policy_of
    from sim.exchange import Place

    if csv is not None:
        require_table(csv, STANDING)
    policies = with_own([policy_of(text) for text in own])
    question = _question(Place("opponent's contact", *opponent, height), policies, **options)
    grid = whole_grid(question)
    found = _counted(
        steps_of(question, grid), quiet, lambda done: standing_map(question, grid, done)
    )

    def draw(path: Path) -> None:
        from experiments.answers.map.picture import standing_figure
        from experiments.drawing.style import save

        save(standing_figure(found), path)

    answer(
        standing_text(found), csv, lambda path: write_table(standing_table(found), path), "Table"
    )
    also_write(figure, draw, "Picture")


@maps.command()
@click.option("--policy", default="bisector", show_default=True, help="Listed or FILE.py:Name.")
@click.option("--than", default="middle", show_default=True, help="The policy beside it.")
@height_option
@click.option(
    "--step",
    type=Measure("--step", "m", 0.1, 2.0),
    default="0.5",
    show_default=True,
    help="Between places.",
)
@players_options
@surface_option
@depth_option
@hitter_option
@balls_option
@seed_option
@figure_option
@csv_option
@quiet_option
def policies(
    policy: str,
    than: str,
    height: float,
    step: float,
    figure: Path | None,
    csv: Path | None,
    quiet: bool,
    **options: Any,
) -> None:
    """Which of two policies misses fewer, for every place that your opponent may strike from."""
    from experiments.answers.map.answer import CONTACTS, contact_table, contact_text
    from experiments.answers.map.contacts import contact_grid, contact_map
    from experiments.output.tables import require_table, write_table
    from experiments.scene.own_code import policy_of
    from sim.exchange import Place

    if csv is not None:
        require_table(csv, CONTACTS)
    mine, other = policy_of(policy), policy_of(than)
    x_m, y_m = contact_grid(step)
    anywhere = Place("opponent's contact", float(x_m[0]), float(y_m[0]), height)
    question = _question(anywhere, [mine, other], **options)
    found = _counted(
        len(x_m) * len(y_m),
        quiet,
        lambda done: contact_map(question, mine, other, step, done),
    )

    def draw(path: Path) -> None:
        from experiments.answers.map.picture import contact_figure
        from experiments.drawing.style import save

        save(contact_figure(found), path)

    answer(contact_text(found), csv, lambda path: write_table(contact_table(found), path), "Table")
    also_write(figure, draw, "Picture")


def _question(
    place: Any,
    policies: Sequence[Any],
    surface: str,
    depth: float | None,
    hitter: str,
    balls: int,
    seed: int | None,
    **names: Any,
) -> Any:
    """The SpotQuestion of a map."""
    from experiments.answers.spot.question import SpotQuestion, waiting_depth_m
    from experiments.scene.own_code import shot_model_of
    from experiments.scene.people import players_of, world_of
    from sim.chance import fresh_seed
    from sim.world import TABULATED

    me, other = players_of(**names)
    return SpotQuestion(
        place=place,
        player=me,
        opponent=other,
        world=world_of(surface, me, flight=TABULATED),
        hitter=shot_model_of(hitter),
        policies=policies,
        depth_m=waiting_depth_m(me, surface) if depth is None else depth,
        balls=balls,
        seed=fresh_seed() if seed is None else seed,
    )


def _counted(steps: int, quiet: bool, work: Callable[[Callable[[], object]], Any]) -> Any:
    """The work, with its progress on the error stream."""
    from experiments.output.progress import progress_of

    progress = progress_of(steps, 0, not quiet)
    try:
        return work(progress.update)
    finally:
        progress.close()
