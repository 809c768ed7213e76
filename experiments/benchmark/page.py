"""The page on speed: all that the benchmark measures and a study's handing out, on this machine.

    python -m experiments.benchmark.page --out results/speed

Writes speed.md and, for programs, speed.json. The words are in experiments/data/benchmark.toml;
every number is measured anew, but for the times of whole studies, which come from the folder's
scaling.csv (python -m experiments.benchmark.scaling) if there is one.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

import click

from experiments.benchmark.answer import run_benchmark
from experiments.benchmark.handing_out import CORES, RALLIES, measured, reckoned
from experiments.benchmark.measure import Measuring, ready_folder, text_of
from experiments.output.files import require_ours, write_output
from experiments.output.tables import read_table
from experiments.study.executors import Cluster, LocalProcesses, Pool

PAGE, NUMBERS, SCALING = "speed.md", "speed.json", "scaling.csv"
SECONDS = click.FloatRange(0.02, 600)


@contextmanager
def pools(address: str | None) -> Iterator[dict[str, Pool]]:
    """What blocks are handed out through: processes, and the scheduler at the address or, without
    one, a scheduler with two workers of this machine, where the extra is installed."""
    with ExitStack() as started:
        if not address and find_spec("distributed"):
            from distributed import LocalCluster

            here = LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None)
            address = started.enter_context(here).scheduler_address
        # Last: when it is closed, it ends what this process started after it.
        found: dict[str, Pool] = {"local processes": LocalProcesses(2)}
        yield found | ({"Dask": Cluster(address)} if address else {})


@click.command(cls=Measuring)
@click.option("--out", type=click.Path(path_type=Path), required=True, help="The folder.")
@click.option("--seconds", type=SECONDS, default=5.0, show_default=True, help="For each rate.")
@click.option("--cluster", help="A Dask scheduler.  [default: one with two workers here]")
@click.option("--note", default="", help="A sentence for the page, on what else the machine did.")
def main(out: Path, seconds: float, cluster: str | None, note: str) -> None:
    """Measure rates, limits, parts and how studies are handed out; writes speed.md, speed.json."""
    for name in (PAGE, NUMBERS):
        require_ours(out / name, "page")
    ready_folder(out)
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else None
    with pools(cluster) as ways:
        handing = measured(ways)
    found = {
        "made_by": "rally-recovery, python -m experiments.benchmark.page",
        "day": datetime.now(UTC).date().isoformat(),
        "load": load,
        "note": note,
        **run_benchmark(seconds, parts=True),
        "handing": handing,
        "reckoned": reckoned(handing, RALLIES, CORES),
    }
    table = out / SCALING
    scaling = read_table(table).to_dict("records") if table.exists() else []
    write_output(out / NUMBERS, (json.dumps(found, indent=1) + "\n").encode(), "page")
    page = text_of("page", **found, scaling=scaling) + "\n"
    click.echo(write_output(out / PAGE, page.encode(), "page"))


if __name__ == "__main__":
    # By its real name, so that workers find the job.
    from experiments.benchmark.page import main as run

    run()
