"""Time and memory of a study against its number of rallies, as a table and a figure.

    python -m experiments.benchmark.scaling --out results/speed

Each size is one rally cell (college player, habit hitter, corner, recovering to the middle), played
as `rally-recovery study` plays it: in blocks, on worker processes, into tallies. Each runs in a
process of its own. The time is from the first block to the last, workers' start included; the
memory is the largest that the process and its workers held together (their VmHWM, summed).
"""

from __future__ import annotations

import json
import multiprocessing
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterable
from pathlib import Path

import click
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, NullFormatter

from experiments.benchmark.engines import LEVEL, OPPONENT, PLACE, POLICY, SEED, main_study
from experiments.benchmark.measure import Measuring, ready_folder, whole_numbers
from experiments.drawing import style
from experiments.output.files import require_picture_suffix
from experiments.output.tables import require_table, write_table
from experiments.study.design import Study
from experiments.study.file import load_study
from experiments.study.runner import default_workers, run_blocks
from experiments.study.settings import BLOCK_SIZE

SIZES = (1_000, 10_000, 100_000, 1_000_000, 10_000_000)
COLUMNS = ("rallies", "strokes_a_rally", "workers", "wall_s", "peak_memory_mb")
LOOK_EVERY_S = 0.05
MOST_WORKERS = 256
MEMORY_SHOWN_MB = (100, 10_000)
BLOCK = BLOCK_SIZE["rally"]
STATUS = "/proc/{}/status"


def study_of(rallies: int) -> Study:
    """The main study cut down to one rally cell with that many rallies."""
    return main_study(
        settings=("rally",),
        levels=(LEVEL,),
        opponents=(OPPONENT,),
        policies=(POLICY,),
        reference=POLICY,
        places=tuple(place for place in load_study().places if place.name == PLACE),
        rallies=rallies,
        seed=SEED,
    )


def peak_mb(process: int | str = "self") -> float:
    """The largest memory that a process has held so far, in MB of 10**6 bytes; 0 if it is gone.

    The kernel's VmHWM: unlike getrusage's, it begins anew when a process starts another program.
    """
    try:
        lines = Path(STATUS.format(process)).read_text("ascii").splitlines()
    except OSError:
        return 0.0
    found = [line.split()[1] for line in lines if line.startswith("VmHWM:")]
    return 1.024e-3 * float(found[0]) if found else 0.0


class Watch(threading.Thread):
    """Looks again and again how much memory each worker has held."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.peaks: dict[int, float] = {}
        self.done = threading.Event()

    def run(self) -> None:
        while not self.done.wait(LOOK_EVERY_S):
            for process in multiprocessing.active_children():
                if process.pid is not None:
                    before = self.peaks.get(process.pid, 0.0)
                    self.peaks[process.pid] = max(before, peak_mb(process.pid))

    def total_mb(self) -> float:
        """The peaks of this process and its workers together."""
        self.done.set()
        self.join()
        return peak_mb() + sum(self.peaks.values())


def measure_here(rallies: int, workers: int) -> dict[str, float]:
    """Play that many rallies in this process and its workers: a row of COLUMNS."""
    with tempfile.TemporaryDirectory() as name:
        run_blocks(study_of(10), Path(name), 1, False)  # compiles
        watch = Watch()
        watch.start()
        start = time.perf_counter()
        run_blocks(study_of(rallies), Path(name), workers, False)
        wall_s = time.perf_counter() - start
        cells = pd.read_csv(Path(name) / "cells.csv")
    strokes = cells.loc[cells["outcome"] == "strokes_per_rally", "estimate"].iloc[0]
    values = (rallies, float(strokes), workers, round(wall_s, 3), round(watch.total_mb(), 1))
    return dict(zip(COLUMNS, values, strict=True))


# Not this module by `-m`: workers would import it, and its drawing, again.
ALONE = """
import json, sys
from experiments.benchmark.scaling import measure_here
print(json.dumps(measure_here(int(sys.argv[1]), int(sys.argv[2]))))
"""


def measure(rallies: int, workers: int) -> dict[str, float]:
    """`measure_here` in a process of its own.

    Raises:
        ClickException: that process failed; says with what.
    """
    command = [sys.executable, "-c", ALONE, str(rallies), str(workers)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        said = done.stderr.strip().splitlines()[-1:] or [f"exit code {done.returncode}"]
        raise click.ClickException(f"{rallies:,} rallies could not be played: {said[0]}")
    row: dict[str, float] = json.loads(done.stdout)
    return row


def scaling_figure(table: pd.DataFrame) -> Figure:
    """Time and memory against the number of rallies, both axes logarithmic."""
    rallies = table["rallies"].to_numpy(float)
    fixed_s, each_s = time_line(table)
    many = np.geomspace(rallies.min(), rallies.max(), 200)
    with style.house_style():
        figure = Figure(figsize=(style.WIDTH_IN, style.WIDTH_IN), layout="constrained")
        above, below = figure.subplots(2, 1, sharex=True)
        line = f"{fixed_s:.1f} s + {1e6 * each_s:.0f} s a million"
        above.plot(many, fixed_s + each_s * many, color=style.SOFT, label=line, zorder=1)
        above.plot(many, each_s * many, ":", color=style.SOFT, label="without the start", zorder=1)
        above.plot(rallies, table["wall_s"], "o", color=style.BLUE, label="measured")
        above.set(ylabel="time (s)", xscale="log", title="Time of a study, start included")
        show_decades(above, table["wall_s"])
        above.legend()
        below.plot(rallies, table["peak_memory_mb"], "s-", color=style.VERMILLION)
        below.set(ylabel="memory, all processes (MB)", xlabel="rallies", title=memory_title(table))
        below.set_ylim(*MEMORY_SHOWN_MB)
        show_decades(below, MEMORY_SHOWN_MB)
        below.xaxis.set_major_formatter(FuncFormatter(plain))
        below.xaxis.set_minor_formatter(NullFormatter())
        for axes in (above, below):
            axes.grid(True, which="major", color=style.FAINT, linewidth=0.6)
            axes.set_axisbelow(True)
    return figure


def show_decades(axes: Axes, values: Iterable[float]) -> None:
    """A logarithmic y axis of whole decades around the values, in plain numbers."""
    ends = np.log10([min(values), max(values)])
    axes.set_yscale("log")
    axes.set_ylim(10.0 ** np.floor(ends[0]), 10.0 ** np.ceil(ends[1]))
    axes.yaxis.set_major_formatter(FuncFormatter(plain))
    axes.yaxis.set_minor_formatter(NullFormatter())


def plain(value: float, _place: int) -> str:
    """A tick's number with commas, never as a power."""
    return f"{value:,.0f}" if value >= 1 else f"{value:g}"


def memory_title(table: pd.DataFrame) -> str:
    """What the memory does: its range where every worker has a block to play."""
    busy = table[table["rallies"] > BLOCK * (table["workers"] - 1)]["peak_memory_mb"]
    if busy.empty:
        return "Largest memory (no run had work for every worker)"
    rest = "" if len(busy) == len(table) else " once all workers play"
    return f"Largest memory: {busy.min():,.0f} to {busy.max():,.0f} MB{rest}"


def time_line(table: pd.DataFrame) -> tuple[float, float]:
    """Seconds of start and seconds a rally: the line t = a + b n, weighed for relative errors."""
    n, t = table["rallies"].to_numpy(float), table["wall_s"].to_numpy(float)
    each, fixed = np.polyfit(n, t, 1, w=1 / t)
    return float(fixed), float(each)


@click.command(cls=Measuring)
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="The folder to write into."
)
@click.option("--sizes", default=",".join(str(size) for size in SIZES), show_default=True)
@click.option(
    "--workers",
    type=click.IntRange(1, MOST_WORKERS),
    default=default_workers,
    help="Processes.  [default: one for each processor]",
)
def main(out: Path, sizes: str, workers: int) -> None:
    """Measure time and memory of so many rallies; writes scaling.csv, scaling.png, scaling.svg."""
    if not Path(STATUS.format("self")).exists():
        raise click.UsageError("memory is read from /proc, which this system does not have")
    wanted = whole_numbers("--sizes", sizes, fewest=2, least=10)
    pictures = [out / f"scaling.{suffix}" for suffix in ("png", "svg")]
    for path in pictures:
        require_picture_suffix(path)
    require_table(out / "scaling.csv", COLUMNS)
    ready_folder(out)
    rows = []
    for size in wanted:
        rows.append(measure(size, workers))
        click.echo(json.dumps(rows[-1]), err=True)
    table = pd.DataFrame(rows)
    write_table(table, out / "scaling.csv")
    for path in pictures:
        style.save(scaling_figure(table), path)
    click.echo(table.to_string(index=False))


if __name__ == "__main__":
    main()
