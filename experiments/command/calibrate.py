"""The command `rally-recovery calibrate`. Heavy libraries are imported only where it needs them."""

from __future__ import annotations

from typing import Any

import click

from experiments.command.ask import Asked, Said, asks
from experiments.command.options import (
    csv_option,
    figure_option,
    json_option,
    quiet_option,
    seed_option,
)


@asks(seed_option, saves=(csv_option, figure_option, json_option, quiet_option))
@click.option("--sets", type=int, help="How many sets are wanted.  [default: 100]")
@click.option("--population", type=int, help="Sets that are searched with.  [default: 160]")
@click.option("--moves", type=int, help="Rounds of moves after the smoothing.  [default: 11]")
@click.option("--points", type=int, help="Played for each set and round.  [default: 4000]")
@click.option("--leave-out", help="A section of the record to be foretold from the others.")
@click.option("--workers", type=click.IntRange(1, 256), help="Processes.  [default: one a core]")
def calibrate(
    asked: Asked,
    sets: int | None,
    population: int | None,
    moves: int | None,
    points: int | None,
    leave_out: str | None,
    workers: int | None,
) -> Said:
    """Find parameter sets of professional men that fit the record of `validate --record`.

    Takes about ten minutes on two cores. --csv FILE keeps the sets, as `study --worlds`
    reads them.
    """
    from experiments.evidence.calibration.answer import Plan, calibrated
    from experiments.evidence.calibration.drawn import drawn
    from experiments.evidence.calibration.words import numbers_of, text_of
    from experiments.evidence.record.figures import section_names
    from experiments.output.terminal import say
    from experiments.study.workers import default_workers
    from experiments.study.worlds import NUMBER
    from sim.errors import named

    if leave_out is not None:
        leave_out = named("section of the record", leave_out, section_names())
    given = {"sets": sets, "population": population, "moves": moves, "points": points}
    own = {name: value for name, value in given.items() if value is not None}
    plan = Plan(asked.seed, leave_out=leave_out, **own)
    asked.check_table([NUMBER, *(p.name for p in drawn())])  # before the search, not after it
    quiet = asked.values.get("quiet", False)

    def told(text: str) -> None:
        if not quiet:
            say(text, error=True)

    found = calibrated(plan, workers or default_workers(), told)

    def figure() -> Any:
        from experiments.evidence.calibration.picture import pinned_figure

        return pinned_figure(found)

    return Said(text_of(found), lambda: numbers_of(found), figure, table=found.worlds)
