"""The command `rally-recovery benchmark`."""

from __future__ import annotations

import json

import click

from experiments.command.options import (
    Measure,
    json_option,
)
from experiments.output.terminal import say

SECONDS = Measure("--seconds", "s", 0.02, 600)


@click.command()
@click.option(
    "--seconds",
    type=SECONDS,
    default="5",
    show_default=True,
    help="For each rate; there are about ten.",
)
@click.option("--parts", is_flag=True, help="Also where the array engine spends its time.")
@json_option
def benchmark(seconds: float, parts: bool, as_json: bool) -> None:
    """Speed on this machine: both engines, a plain script, and what bounds them.

    Rates are the best of many short rounds by processor time, the two processes' by the wall
    clock: close other programs first. The first run also compiles.
    """
    from experiments.benchmark.answer import benchmark_text, run_benchmark

    found = run_benchmark(seconds, parts)
    say(json.dumps(found, indent=1, allow_nan=False) if as_json else benchmark_text(found))
