"""Runs a study: plays the blocks that are not there yet, then makes tables, figures and report."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from importlib import metadata
from pathlib import Path
from typing import Any

from experiments.block_store import FOLDER as BLOCKS
from experiments.block_store import BlockStore, DamagedBlockError
from experiments.cells import Tallies, cells, choice_rows, designed_rows
from experiments.design import Study, own_policy_files, points_table
from experiments.executors import Cluster, LocalProcesses, Pool, Task, ThisProcess, finished
from experiments.player.file import is_player_file, read_player_file
from experiments.progress import Progress, progress_of
from experiments.resume import (
    RUN_FILE,
    RunRecord,
    clear_tables,
    continued,
    finish,
    is_whole,
    write_record,
)
from experiments.settings import Block, blocks
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
    write_points,
)
from experiments.terms import Parcel, parcel_of, play_block, sample_of, terms_here, with_own_files
from sim.chance import checked_seed, fresh_seed
from sim.errors import InputError


@dataclass(frozen=True)
class Labour:
    """Who plays the blocks: `workers` processes here, or the Dask scheduler at `cluster`."""

    workers: int | None = None
    cluster: str | None = None
    progress: bool = True

    def pool(self) -> Pool:
        """The workers, at the ready."""
        if self.cluster is not None:
            return Cluster(self.cluster)
        workers = self.workers or default_workers()
        return ThisProcess() if workers == 1 else LocalProcesses(workers)


def default_workers() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def run_study(
    study: Study | None,
    out: Path,
    *,
    seed: int | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    overwrite: bool = False,
    resume: bool = False,
    progress: bool = True,
) -> Path:
    """Run a study into the folder `out` and return it.

    The seed is the given one, else the study's, else a fresh one; it is recorded in the resolved
    study. Tables, summary and figures depend on the study and the seed alone: not on who plays the
    blocks (`workers` processes, or the workers of the Dask scheduler at the address `cluster`), nor
    on how often the run was interrupted and resumed. To resume, the study may be None: then it is
    the unfinished folder's.

    Raises:
        InputError: the folder exists, cannot be written or cannot be resumed, the seed cannot be
            one, the user's own code fails, or workers are lost or unlike this process.
    """
    labour, clock = Labour(workers, cluster, progress), time.perf_counter()
    if seed is not None:
        checked_seed(seed)
    with whole_folder(out, overwrite, resume) as folder:
        if resume and is_whole(folder):
            finish(folder)
            return out
        if resume:
            study, record = continued(folder, study, seed)
            clear_tables(folder)
        else:
            study, record = begun(study, folder, seed)
        counts = play_study(study, folder, labour, record.own)
        write_pictures(folder)
        manifest = manifest_of(study, record, folder, clock) | counts
        (folder / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n", "utf-8")
        write_report_page(folder)
        finish(folder)
    return out


def begun(study: Study | None, folder: Path, seed: int | None) -> tuple[Study, RunRecord]:
    """Prepare the folder of a new run: the resolved study, the user's own files, the record."""
    if study is None:
        raise TypeError("only a run that is resumed finds its study by itself")
    chosen = next(s for s in (seed, study.seed, fresh_seed()) if s is not None)
    study = study.model_copy(update={"seed": checked_seed(chosen)})
    study, own = own_policy_files(study, folder)
    (folder / "study.toml").write_text(study.toml(), "utf-8")
    record = RunRecord(terms_here(), own, datetime.now(UTC).isoformat(timespec="seconds"))
    write_record(folder, record)
    return study, record


def manifest_of(study: Study, record: RunRecord, folder: Path, clock: float) -> dict[str, Any]:
    """What was run, when and with what, and the hash of each file so far.

    `wall_s` counts from `clock`: for a resumed run it is the time of the last part.
    """
    return {
        "version": metadata.version("rally-recovery"),
        "source_hash": source_hash(),
        "commit": commit(),
        "packages": versions(),
        "python": sys.version.split()[0],
        "seed": study.seed,
        "started": record.started,
        "finished": datetime.now(UTC).isoformat(timespec="seconds"),
        "wall_s": round(time.perf_counter() - clock, 1),
        "own_policies": record.own,
        **measured_players(study, folder),
        "files": file_hashes(folder, leave_out=(RUN_FILE, BLOCKS)),
    }


def measured_players(study: Study, folder: Path) -> dict[str, Any]:
    """Who of the studied players comes from a player file, and the level of who plays against them.

    Empty where all levels are names: then both sides are of the same level.
    """
    files = {t: read_player_file(folder / t) for t in study.levels if is_player_file(t)}
    players = {p.name: {"file": t, "opponent_level": p.level} for t, p in files.items()}
    return {"measured_players": players} if players else {}


def run_blocks(study: Study, folder: Path, workers: int, progress: bool) -> int:
    """Play all blocks of a study without own files on `workers` processes and write the tables;
    returns the number of stroke rows."""
    rows = play_study(study, folder, Labour(workers, None, progress), {})["rows"]
    return int(rows)


def play_study(
    study: Study, folder: Path, labour: Labour, own: Mapping[str, str]
) -> dict[str, int]:
    """Play the blocks that are missing, then write tables and summary from all of them.

    `own` names the user's own files in the folder. Returns counts for the manifest.
    """
    parcel = parcel_of(study, folder, own)
    here, store = with_own_files(parcel), BlockStore(folder, parcel.key)
    work, sound = blocks(here), store.sound()
    missing = [(number, block) for number, block in enumerate(work) if number not in sound]
    with closing(progress_of(len(work), len(sound), labour.progress)) as bar:
        lanes = play_missing(parcel, here, missing, store, labour, bar) if missing else 0
    rows = write_tables(here, work, folder, store)
    return {"workers": lanes, "blocks_kept": len(sound), "rows": rows}


def play_missing(
    parcel: Parcel,
    here: Study,
    missing: list[Task],
    store: BlockStore,
    labour: Labour,
    bar: Progress,
) -> int:
    """Play and keep the blocks that are missing; returns how many can be played at a time."""
    # The first replicates in this process first: that compiles what workers then load and finds
    # the mistakes of the user's own code; and the workers compare what they get with it.
    parcel = replace(parcel, sample=sample_of(here))
    pool, now = labour.pool(), True
    try:
        lanes = max(1, pool.lanes())
        for number, content in finished(pool, partial(play_block, parcel), missing):
            store.write(number, content)
            bar.update()
        now = False
        return lanes
    finally:
        pool.close(now)


def write_tables(study: Study, work: list[Block], folder: Path, store: BlockStore) -> int:
    """Add up the blocks in their order and write tables and summary; returns the stroke rows."""
    tallies: Tallies = {}
    try:
        with closing(StrokeFile(folder / "strokes.parquet")) as file:
            for block, result in zip(work, store.results(len(work)), strict=True):
                so_far = tallies.setdefault(block.scenario, {})
                for policy, tally in result.tallies.items():
                    so_far[policy] = so_far[policy] + tally if policy in so_far else tally
                for policy, rows in result.rows:
                    file.add(stroke_table(block.scenario, policy, rows))
    except DamagedBlockError as error:
        raise InputError(f"{error}; `study --resume` plays it again") from None
    write_cells(folder, list(cells(study, tallies)))
    if choices := choice_rows(study, tallies):
        write_choices(folder, choices)
    if study.factors is not None:
        write_points(folder, points_table(study), list(designed_rows(study, tallies)))
    return file.rows


def write_pictures(folder: Path) -> None:
    """Draw the study's figures from the files of the folder."""
    from experiments.drawing.figures import study_figures

    study_figures(folder)


def write_report_page(folder: Path) -> None:
    """Write report.html from the files of the folder."""
    from experiments.report import write_report

    write_report(folder)
