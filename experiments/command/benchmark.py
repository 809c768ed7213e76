"""The command `rally-recovery benchmark`."""

from __future__ import annotations

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import Measure, json_option, shown

SECONDS = Measure("--seconds", "s", 0.02, 600)


@asks(saves=(json_option,))
@shown("--seconds", type=SECONDS, default="5", help="For each rate; there are about ten.")
@click.option("--parts", is_flag=True, help="Also where the array engine spends its time.")
def benchmark(asked: Asked, seconds: float, parts: bool) -> Said:
    """Speed on this machine: both engines, a plain script, and what bounds them.

    Rates are the best of many short rounds by processor time, the two processes' and the start-up
    by the wall clock: close other programs first.
    """
    from experiments.benchmark.start_up import start_up

    started = start_up(seconds)  # first: files of what this process has loaded cannot be forgotten
    from experiments.benchmark.answer import benchmark_text, run_benchmark

    found = run_benchmark(seconds, parts, started=started)
    return Said(lambda: benchmark_text(found), lambda: found, digits=None)
