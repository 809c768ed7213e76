"""The command `rally-recovery list`."""

from __future__ import annotations

import click

from experiments.output.terminal import say


@click.command("list")
@click.argument("what", required=False)
@click.option("--parameters", is_flag=True, help="Values with unit, range, status and source.")
def list_names(what: str | None, parameters: bool) -> None:
    """Policies, shot models, players, surfaces, balls, studies, strokes, changes, one line each.

    WHAT is one of: policies, shots, players, surfaces, balls, studies, strokes, changes,
    additions; without it, all of them.
    """
    from experiments.command.listing import lines, parameter_lines

    say("\n".join(parameter_lines(what) if parameters else lines(what)))
