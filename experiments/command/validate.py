"""The command `validate`."""

from __future__ import annotations

import json
from pathlib import Path

import click

from experiments.command.options import (
    answer,
    figure_option,
    json_option,
    seed_option,
)


@click.command()
@click.option("--rallies", type=int, help="Simulated for each level and surface.  [default: 4000]")
@seed_option
@figure_option
@json_option
def validate(rallies: int | None, seed: int | None, figure: Path | None, as_json: bool) -> None:
    """How close the model is to published figures, one row each.

    A disagreement is a result: the exit code says only whether the command could run.
    """
    from experiments.evidence.validation.answer import table_json, table_text
    from experiments.evidence.validation.table import DEFAULT_RALLIES, table_of
    from sim.chance import fresh_seed

    table = table_of(
        fresh_seed() if seed is None else seed, DEFAULT_RALLIES if rallies is None else rallies
    )

    def draw(path: Path) -> None:
        from experiments.drawing.style import save
        from experiments.evidence.validation.figure import table_figure

        save(table_figure(table), path)

    if as_json:
        answer(json.dumps(table_json(table), indent=1, allow_nan=False), figure, draw, None)
    else:
        answer(table_text(table), figure, draw)
