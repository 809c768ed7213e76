"""The command `rally-recovery validate`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import figure_option, json_option, seed_option


@asks(seed_option, saves=(figure_option, json_option))
@click.option("--rallies", type=int, help="Simulated for each level and surface.  [default: 4000]")
@click.option(
    "--record", is_flag=True, help="Beside one record of professional men instead, with its gaps."
)
@click.option("--points", type=int, help="Played for --record.  [default: 4000]")
@click.option("--world", type=int, help="In this world of those that fit the record, from 0.")
def validate(
    asked: Asked, rallies: int | None, record: bool, points: int | None, world: int | None
) -> Said:
    """How close the model is to published figures, one row each.

    A disagreement is a result: the exit code says only whether the command could run.
    """
    from sim.errors import InputError

    if record and rallies is not None:
        raise InputError("--rallies is not for --record; give --points, or leave out --record")
    if not record and points is not None:
        raise InputError("--points is for --record only; give --rallies, or add --record")
    if record:
        return _beside_record(asked, points, world)
    return _beside_figures(asked, rallies, world)


def _beside_figures(asked: Asked, rallies: int | None, world: int | None) -> Said:
    from experiments.evidence.validation.answer import (
        DEFAULT_RALLIES,
        table_json,
        table_of,
        table_text,
    )

    table = table_of(asked.seed, DEFAULT_RALLIES if rallies is None else rallies, world)

    def figure() -> Any:
        from experiments.evidence.validation.figure import table_figure

        return table_figure(table)

    return Said(table_text(table), lambda: table_json(table), figure, digits=None)


def _beside_record(asked: Asked, points: int | None, world: int | None) -> Said:
    from experiments.evidence.record.answer import DEFAULT_POINTS, table_json, table_of, table_text

    table = table_of(asked.seed, DEFAULT_POINTS if points is None else points, world)

    def figure() -> Any:
        from experiments.evidence.record.picture import table_figure

        return table_figure(table)

    return Said(table_text(table), lambda: table_json(table), figure, digits=None)
