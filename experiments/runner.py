"""Runs a study: blocks of replicates on several processes, then cells, figures and report."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Generator, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from functools import partial
from importlib import metadata
from pathlib import Path

from tqdm import tqdm

from experiments.cells import Tallies, cells, choice_rows
from experiments.design import Study, map_names, own_policy_files
from experiments.own_code import located
from experiments.settings import Block, BlockResult, blocks, evaluate
from experiments.store import (
    StrokeFile,
    commit,
    file_hashes,
    source_hash,
    stroke_table,
    versions,
    whole_folder,
    write_cells,
    write_choices,
)
from sim.chance import checked_seed, fresh_seed
from sim.errors import InputError


def default_workers() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def run_study(
    study: Study,
    out: Path,
    *,
    seed: int | None = None,
    workers: int | None = None,
    overwrite: bool = False,
    progress: bool = True,
) -> Path:
    """Run a study into the folder `out` and return it.

    The seed is the given one, else the study's, else a fresh one; it is recorded in the resolved
    study. Tables, summary and figures depend on the study and the seed alone.

    Raises:
        InputError: the folder exists or cannot be written, the seed cannot be one, the user's own
            code fails, or a worker process is lost.
    """
    chosen = next(s for s in (seed, study.seed, fresh_seed()) if s is not None)
    study = study.model_copy(update={"seed": checked_seed(chosen)})
    workers = workers or default_workers()
    started, clock = datetime.now(UTC), time.perf_counter()
    with whole_folder(out, overwrite) as folder:
        study, sources = own_policy_files(study, folder)
        (folder / "study.toml").write_text(study.toml(), "utf-8")
        here = map_names(study, partial(located, folder=folder))
        rows = run_blocks(here, folder, workers, progress)
        write_pictures(folder)
        manifest = {
            "version": metadata.version("rally-recovery"),
            "source_hash": source_hash(),
            "commit": commit(),
            "packages": versions(),
            "python": sys.version.split()[0],
            "seed": study.seed,
            "started": started.isoformat(timespec="seconds"),
            "finished": datetime.now(UTC).isoformat(timespec="seconds"),
            "wall_s": round(time.perf_counter() - clock, 1),
            "workers": workers,
            "rows": rows,
            "own_policies": sources,
            "files": file_hashes(folder),
        }
        (folder / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n", "utf-8")
        write_report_page(folder)
    return out


def run_blocks(study: Study, folder: Path, workers: int, progress: bool) -> int:
    """Play all blocks and write tables and summary; returns the number of stroke rows."""
    work = blocks(study)
    tallies: Tallies = {}
    file = StrokeFile(folder / "strokes.parquet")
    bar = tqdm(
        total=len(work),
        unit="block",
        desc="playing",
        disable=not progress,
        mininterval=0.5 if sys.stderr.isatty() else 15.0,
    )
    with closing(results(study, work, workers)) as played, closing(bar), closing(file):
        for block, result in zip(work, played, strict=True):
            so_far = tallies.setdefault(block.scenario, {})
            for policy, tally in result.tallies.items():
                so_far[policy] = so_far[policy] + tally if policy in so_far else tally
            for policy, rows in result.rows:
                file.add(stroke_table(block.scenario, policy, rows))
            bar.update()
    write_cells(folder, list(cells(study, tallies)))
    if choices := choice_rows(study, tallies):
        write_choices(folder, choices)
    return file.rows


def results(study: Study, work: list[Block], workers: int) -> Generator[BlockResult]:
    """Results of the blocks in their order, from `workers` processes (or this one)."""
    seed = study.seed or 0
    job = partial(evaluate, study, seed)
    if workers == 1:
        yield from map(job, work)
        return
    # Compile in this process first: the workers then load what is cached.
    for setting in study.settings:
        first = next(b for b in work if b.scenario.setting == setting)
        job(Block(first.scenario, 0, 2))
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(max_workers=workers, mp_context=context)
    before = multiprocessing.active_children()
    try:
        with interrupts_left_to_this_process():
            played = pool.map(job, work)
        yield from played
    except BaseException as error:
        for process in multiprocessing.active_children():
            if process not in before:
                process.terminate()
        pool.shutdown(cancel_futures=True)
        if isinstance(error, BrokenProcessPool):
            raise InputError(
                "a worker process ended before its work was done, perhaps for want of memory;"
                " try fewer --workers (a script that calls run_study also needs its"
                " `if __name__ == '__main__'` line)"
            ) from None
        raise
    pool.shutdown()


@contextmanager
def interrupts_left_to_this_process() -> Iterator[None]:
    """Processes started inside ignore an interrupt from their first moment on.

    A terminal interrupts them all; this process answers, and ends them.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def write_pictures(folder: Path) -> None:
    """Draw the study's figures from the files of the folder."""
    from experiments.figures import study_figures

    study_figures(folder)


def write_report_page(folder: Path) -> None:
    """Write report.html from the files of the folder."""
    from experiments.report import write_report

    write_report(folder)
