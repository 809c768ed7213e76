"""The command `rally-recovery opponents`. Heavy libraries are imported only where needed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from experiments.command.options import (
    answer,
    json_option,
    players_options,
    quiet_option,
    seed_option,
    surface_option,
)
from experiments.output.files import require_new_folder


@click.command()
@players_options
@surface_option
@click.option("--chart", default="demo", show_default=True, help="Of the charted opponent: a CSV.")
@click.option("--policy", "own", multiple=True, help="One more policy, listed or FILE.py:Name.")
@click.option("--balls", type=int, default=2000, show_default=True, help="At each spot.")
@click.option("--rallies", type=int, default=400, show_default=True, help="Each pair, each place.")
@seed_option
@click.option("--out", type=click.Path(path_type=Path), help="A new folder for CSVs and picture.")
@quiet_option
@json_option
def opponents(
    surface: str,
    chart: str,
    own: tuple[str, ...],
    balls: int,
    rallies: int,
    seed: int | None,
    out: Path | None,
    quiet: bool,
    as_json: bool,
    **names: Any,
) -> None:
    """What each policy loses to whom, and a round robin of policies and opponents."""
    from experiments.answers.opponents.answer import answer_of, answer_text, steps_of, tables_of
    from experiments.answers.opponents.field import OPPONENTS, Field
    from experiments.answers.spot.question import waiting_depth_m, with_own
    from experiments.output.progress import progress_of
    from experiments.scene.own_code import policy_of
    from experiments.scene.people import opponent_json, players_of, world_of
    from sim.chance import fresh_seed
    from sim.world import TABULATED
    from strategies.catalogue import make_shot_model
    from strategies.shots.charted import Charted

    if out is not None:
        require_new_folder(out)
    me, other = players_of(**names)
    hitters = [Charted(chart=chart) if w == "charted" else make_shot_model(w) for w in OPPONENTS]
    field = Field(
        player=me,
        opponent=other,
        world=world_of(surface, me, flight=TABULATED),
        depth_m=waiting_depth_m(me, surface),
        seed=fresh_seed() if seed is None else seed,
        balls=balls,
        rallies=rallies,
        policies=with_own([policy_of(text) for text in own]),
        opponents=hitters,
    )
    progress = progress_of(steps_of(field), 0, not quiet)
    try:
        found = answer_of(field, progress.update)
    finally:
        progress.close()
    if as_json:
        who = {"player": me.name, **opponent_json(other, field.world.ball)}
        numbers = {**who, **tables_of(found)}
        answer(json.dumps(numbers, indent=1), out, lambda path: _write(found, path), None)
    else:
        named = "\nTables and picture"
        answer(answer_text(found), out, lambda path: _write(found, path), named)


def _write(answer: Any, out: Path) -> None:
    from experiments.answers.opponents.answer import write_tables
    from experiments.answers.opponents.picture import robin_figure
    from experiments.drawing.style import save
    from experiments.output.files import new_folder

    with new_folder(out) as folder:
        write_tables(answer, folder)
        save(robin_figure(answer), folder / "round-robin.png")
