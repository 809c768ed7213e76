"""The command `rally-recovery validate`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import figure_option, json_option, seed_option


@asks(seed_option, saves=(figure_option, json_option))
@click.option("--rallies", type=int, help="Simulated for each level and surface.  [default: 4000]")
def validate(asked: Asked, rallies: int | None) -> Said:
    """How close the model is to published figures, one row each.

    A disagreement is a result: the exit code says only whether the command could run.
    """
    from experiments.evidence.validation.answer import (
        DEFAULT_RALLIES,
        table_json,
        table_of,
        table_text,
    )

    table = table_of(asked.seed, DEFAULT_RALLIES if rallies is None else rallies)

    def figure() -> Any:
        from experiments.evidence.validation.figure import table_figure

        return table_figure(table)

    return Said(table_text(table), lambda: table_json(table), figure, digits=None)
