"""Runs a study: plays the blocks that are not there yet, then makes tables, figures and report."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.tables import fill_table
from experiments.scene.people import opponent_json
from experiments.scene.player_file import is_player_file, name_of, opponent_of
from experiments.study.batch_file import write_batches
from experiments.study.block_store import BlockStore
from experiments.study.cells import Tallies, cells, choice_rows, designed_rows
from experiments.study.columns import write_columns
from experiments.study.design import Study, points_table
from experiments.study.folder_files import (
    BATCHES_FILE,
    CELLS,
    CHOICES_FILE,
    DESIGNED_FILE,
    MANIFEST,
    POINTS_FILE,
    STROKES,
    file_hashes,
    require_whole,
    results_of_run,
)
from experiments.study.kept_rallies import KeptRallies
from experiments.study.precision import looks_at, sentences_of, write_precision
from experiments.study.provenance import (
    made_with,
    own_policy_files,
    parcel_of,
    terms_here,
    with_own_files,
)
from experiments.study.race import RaceSums, race_sentences, write_race
from experiments.study.result_place import whole_folder
from experiments.study.resume import (
    RunRecord,
    clear_tables,
    continued,
    finish,
    is_whole,
    relative,
    write_record,
    write_study,
)
from experiments.study.row_file import RowFile
from experiments.study.settings import Block, blocks, raced_by, scenarios
from experiments.study.stroke_file import stroke_schema, stroke_table
from experiments.study.workers import (
    BlockPlayer,
    WorkersAsked,
    add_block,
    default_workers,
    play_looks,
    result_of,
)
from experiments.study.world_cells import HalfSums
from experiments.study.worlds import read_worlds
from sim.chance import checked_seed, fresh_seed
from sim.players import ball_of
from sim.whole_file import write_whole

DIGITS = 6  # as many as all tables hold
__all__ = ["Shown", "WorkersAsked", "default_workers", "run_blocks", "run_study", "write_tables"]


@dataclass(frozen=True)
class Shown:
    """What is made of the tables of a folder: each takes the folder and writes into it.

    analysis: further tables; pictures: the figures; page: the report, once the manifest is there.
    """

    analysis: Callable[[Path], object]
    pictures: Callable[[Path], object]
    page: Callable[[Path], object]


def run_study(
    study: Study | None,
    out: Path,
    shown: Shown,
    *,
    seed: int | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    overwrite: bool = False,
    resume: bool = False,
    progress: bool = True,
) -> Path:
    """Run a study into the folder `out`, show what came out by `shown`, and return the folder.

    The seed is the given one, else the study's, else a fresh one; it is recorded in the resolved
    study. Tables, summary and figures depend on the study and the seed alone: not on the
    processor, nor on who plays the blocks (`workers` processes, or the workers of the Dask
    scheduler at the address `cluster`; with neither, as many as are worth it), nor on how often the
    run was interrupted and resumed. To resume, the study may be None: then it is the unfinished
    folder's.

    Raises:
        InputError: the folder exists, cannot be written or cannot be resumed, the seed cannot be
            one, the user's own code fails, or workers are lost or unlike this process.
    """
    asked, clock = WorkersAsked(workers, cluster, progress), time.perf_counter()
    if seed is not None:
        checked_seed(seed)
    with whole_folder(out, overwrite, resume) as folder:
        if resume and is_whole(folder):
            require_whole(folder)
            finish(folder)
            return out
        if resume:
            study, record = continued(folder, study, seed)
            clear_tables(folder)
        else:
            study, record = begun(study, folder, seed)
        counts = play_study(study, folder, asked, record.own)
        shown.analysis(folder)
        write_columns(folder)
        shown.pictures(folder)
        manifest = manifest_of(study, record, folder, clock) | counts
        write_whole(folder / MANIFEST, (json.dumps(manifest, indent=1) + "\n").encode())
        shown.page(folder)
        finish(folder)
    return out


def begun(study: Study | None, folder: Path, seed: int | None) -> tuple[Study, RunRecord]:
    """Prepare the folder of a new run: the resolved study, the user's own files, the record."""
    if study is None:
        raise TypeError("only a run that is resumed finds its study by itself")
    chosen = next(s for s in (seed, study.seed, fresh_seed()) if s is not None)
    study = study.model_copy(update={"seed": checked_seed(chosen)})
    started = datetime.now(UTC).isoformat(timespec="seconds")
    record = RunRecord(terms_here(), relative(study)[1], started)
    write_record(folder, record)  # first, so that whatever else is here is known to be a run's
    study, own = own_policy_files(study, folder)
    write_study(folder, study)
    return study, replace(record, own=own)


def manifest_of(study: Study, record: RunRecord, folder: Path, clock: float) -> dict[str, Any]:
    """What was run, when and with what, and the hash of each file so far.

    `wall_s` counts from `clock`: for a resumed run it is the time of the last part.
    """
    return {
        **made_with(),
        "seed": study.seed,
        "started": record.started,
        "finished": datetime.now(UTC).isoformat(timespec="seconds"),
        "wall_s": round(time.perf_counter() - clock, 1),
        "own_policies": record.own,
        **measured_players(study, folder),
        **worlds_played(study, folder, record.own),
        "files": file_hashes(folder, results_of_run(folder, record.own)),
    }


def measured_players(study: Study, folder: Path) -> dict[str, Any]:
    """Who of the studied players comes from a player file, and who plays against them.

    Empty where all levels are names: then both sides are of the same level.
    """
    players = {}
    for text in filter(is_player_file, study.levels):
        opponent = opponent_of(str(folder / text), study.opponent_hand)
        other = opponent_json(opponent, ball_of(opponent))
        players[name_of(str(folder / text))] = {"file": text, **other}
    return {"measured_players": players} if players else {}


def worlds_played(study: Study, folder: Path, own: Mapping[str, str]) -> dict[str, Any]:
    """The worlds that the study was played in: the copy of their file, its hash, how many of those
    that it holds, and how much each got. Empty for a study without worlds."""
    if study.worlds is None or study.worlds_file is None:
        return {}
    return {
        "worlds": {
            "file": study.worlds_file,
            "sha256": own[study.worlds_file],
            "worlds": study.worlds,
            "of": len(read_worlds(folder / study.worlds_file).rows),
            "replicates": {s: study.world_replicates(s) for s in study.settings},
        }
    }


def run_blocks(study: Study, folder: Path, workers: int, progress: bool) -> int:
    """Play all blocks of a study without own files on `workers` processes and write the tables;
    returns the number of stroke rows."""
    rows = play_study(study, folder, WorkersAsked(workers, None, progress), {})["rows"]
    return int(rows)


def play_study(
    study: Study, folder: Path, asked: WorkersAsked, own: Mapping[str, str]
) -> dict[str, Any]:
    """Play the blocks that are missing, look by look, then write tables and summary from all.

    `own` names the user's own files in the folder. Returns what the manifest says of it.
    """
    parcel = parcel_of(study, folder, own)
    here, store = with_own_files(parcel), BlockStore(folder, parcel.key)
    kept = store.sound()
    counts: dict[str, Any] = {"blocks_kept": len(kept)}
    with BlockPlayer(parcel, here, store, asked) as player:
        came_to = play_looks(here, player, kept)
    if came_to:
        here = here.model_copy(update=came_to)
        write_study(folder, study.model_copy(update=came_to))
    rows = write_tables(here, blocks(here), folder, store)
    if study.precision is not None:
        counts["precision"] = " ".join(sentences_of(folder))
    if study.race is not None:
        counts["race"] = " ".join(race_sentences(folder))
    return {"workers": player.lanes, **counts, "rows": rows}


def write_tables(study: Study, work: list[Block], folder: Path, store: BlockStore) -> int:
    """Add up the blocks and write tables and summary; returns the stroke rows.

    Scenario by scenario, in the order of the replicates; blocks of later looks come last in `work`.
    """
    tallies, sums, race, kept = Tallies(), HalfSums(), RaceSums(study), KeptRallies(study, folder)
    place = {scenario: at for at, scenario in enumerate(scenarios(study))}
    order = sorted(enumerate(work), key=lambda t: (place[t[1].scenario], t[1].first))
    with closing(kept), closing(RowFile(folder / STROKES, stroke_schema())) as file:
        for number, block in order:
            result = result_of(store, number)
            add_block(tallies, block, result)
            sums.add(block, result)
            race.add(block, result)
            kept.add(block.scenario, result)
            for policy, rows in result.rows:
                file.add(stroke_table(block.scenario, policy, rows))
    fill_table(pd.DataFrame(cells(study, tallies, sums)), folder / CELLS)
    kept.write_where()
    if choices := choice_rows(study, tallies):
        fill_table(pd.DataFrame(choices), folder / CHOICES_FILE)
    if study.varied is not None:
        fill_table(pd.DataFrame(points_table(study)), folder / POINTS_FILE, DIGITS)
    if study.factors is not None:
        fill_table(pd.DataFrame(designed_rows(study, tallies)), folder / DESIGNED_FILE)
        write_batches(sums.held, folder / BATCHES_FILE)
    if study.precision is not None:
        write_precision(folder, looks_at(study, study.looks_made(), tallies))
    if study.race is not None:
        write_race(folder, race, raced_by(study))
    return file.rows
