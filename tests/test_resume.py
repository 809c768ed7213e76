"""Runs that are killed, resumed, handed to others, or started twice give one run's bytes."""

from __future__ import annotations

import json
import multiprocessing
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tiny_study import OWN_POLICY, only, run_tiny, tiny_study, without_pages

from experiments.report import run as shown_run
from experiments.study import provenance, runner, settings, workers
from experiments.study.block_store import BlockStore
from experiments.study.design import Study
from experiments.study.executors import TRIES, Task, finished
from experiments.study.file import load_study
from sim.errors import InputError

STUDY = tiny_study(stroke_rows_per_cell=20)
SMALL_BLOCKS = {"placed": 8, "recovery": 8, "rally": 3}
TABLES = ("study.toml", "strokes.parquet", "summary.json", "cells.csv")


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in TABLES}


def manifest_of(folder: Path) -> dict[str, Any]:
    return json.loads((folder / "manifest.json").read_text())


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study, run once without a break in this process."""
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(STUDY, tmp_path_factory.mktemp("runs") / "whole")


def breaking_after(blocks: int, monkeypatch: pytest.MonkeyPatch, act: Any) -> None:
    """Call `act` instead of keeping the block once so many were kept."""
    write, done = BlockStore.write, iter(range(blocks))

    def watched(self: BlockStore, number: int, content: bytes) -> None:
        if next(done, None) is None:
            act()
        write(self, number, content)

    monkeypatch.setattr(BlockStore, "write", watched)


def interrupted(study: Study, out: Path, after: int = 5) -> Path:
    """A run that was interrupted once so many blocks were kept: the partial folder."""

    def interrupt() -> None:
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        breaking_after(after, patch, interrupt)
        with pytest.raises(KeyboardInterrupt):
            run_tiny(study, out)
    return out.with_name(out.name + ".partial")


# --- who plays, and in what order -------------------------------------------------------------


def test_the_order_of_the_blocks_does_not_matter(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def shuffled(pool: Any, job: Any, work: Iterable[Task]) -> Iterator[tuple[int, bytes]]:
        tasks = list(work)
        order = np.random.default_rng(5).permutation(len(tasks))
        assert (order != np.sort(order)).any()
        return finished(pool, job, [tasks[at] for at in order])

    monkeypatch.setattr(workers, "finished", shuffled)
    assert contents(run_tiny(STUDY, tmp_path / "out")) == contents(whole)


@pytest.fixture
def ten_blocks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Study, dict[str, bytes]]:
    """A study of one scenario in ten small blocks, and what it gives in this process."""
    monkeypatch.setitem(settings.BLOCK_SIZE, "placed", 4)
    study = only("placed")
    assert len(settings.blocks(study)) == 10
    return study, contents(run_tiny(study, tmp_path / "here"))


def test_seven_workers(ten_blocks: tuple[Study, dict[str, bytes]], tmp_path: Path) -> None:
    out = run_tiny(ten_blocks[0], tmp_path / "out", workers=7)
    assert contents(out) == ten_blocks[1] and manifest_of(out)["workers"] == 7


def test_two_workers_one_of_them_killed(
    ten_blocks: tuple[Study, dict[str, bytes]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pool breaks, is built anew, and nothing is lost."""
    killed = []

    def kill_a_worker() -> None:
        if not killed:
            killed.append(multiprocessing.active_children()[0].pid)
            os.kill(killed[0], signal.SIGKILL)

    breaking_after(1, monkeypatch, kill_a_worker)
    assert contents(run_tiny(ten_blocks[0], tmp_path / "out", workers=2)) == ten_blocks[1]
    assert killed and multiprocessing.active_children() == []


@pytest.mark.parametrize(
    ("where", "what", "message"),
    [
        (
            provenance,
            "terms_here",
            r"numpy is 0\.9 in the run and .* in worker .*; source of rally-rec",
        ),
        (workers, "sample_of", "first replicates of the study come out otherwise in worker"),
    ],
)
def test_a_worker_that_is_unlike_is_refused(
    where: Any, what: str, message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = {**provenance.terms_here(), "numpy": "0.9", "source of rally-recovery": "x" * 64}
    monkeypatch.setattr(where, what, lambda *_: other if what == "terms_here" else "other bits")
    with pytest.raises(InputError, match=message):
        run_tiny(only("placed"), tmp_path / "out", workers=2)


def test_own_files_travel_with_the_work(tmp_path: Path) -> None:
    """A worker that sees neither the user's file nor the run's folder has the bytes."""
    (tmp_path / "slow.py").write_text(OWN_POLICY)
    text = STUDY.toml().replace('"bisector"', '"own/slow.py:Slow"')
    (tmp_path / "own").mkdir()
    shutil.copy(tmp_path / "slow.py", tmp_path / "own")
    (tmp_path / "study.toml").write_text(text)
    study = load_study(tmp_path / "study.toml").model_copy(update={"seed": 3})
    study, own = runner.own_policy_files(study, tmp_path)
    parcel = provenance.parcel_of(study, tmp_path, own)
    here = provenance.play_block(parcel, 0, settings.blocks(provenance.with_own_files(parcel))[0])
    (tmp_path / "own" / "slow.py").write_text("raise RuntimeError('changed since')")
    provenance.prepared.cache_clear()
    assert (
        provenance.play_block(parcel, 0, settings.blocks(provenance.with_own_files(parcel))[0])
        == here
    )
    policies = provenance.prepared(parcel).policies
    assert any("rally-recovery-" in text and parcel.key in text for text in policies)


# --- resuming ---------------------------------------------------------------------------------


def test_a_resumed_run_ends_with_the_same_bytes(whole: Path, tmp_path: Path) -> None:
    interrupted(STUDY, tmp_path / "out")
    out = run_tiny(None, tmp_path / "out", resume=True, seed=None)  # type: ignore[arg-type]
    assert contents(out) == contents(whole)
    assert manifest_of(out)["blocks_kept"] == 5
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert {p.name for p in out.iterdir()} == {p.name for p in whole.iterdir()}


def test_damaged_blocks_are_played_again(whole: Path, tmp_path: Path) -> None:
    blocks = sorted((interrupted(STUDY, tmp_path / "out") / "blocks").iterdir())
    blocks[0].write_bytes(blocks[0].read_bytes()[:-1])
    shutil.copy(blocks[2], blocks[1])
    out = run_tiny(STUDY, tmp_path / "out", resume=True)
    assert contents(out) == contents(whole) and manifest_of(out)["blocks_kept"] == 3


def test_what_has_changed_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    partial = interrupted(STUDY, tmp_path / "out")
    before = {p: p.read_bytes() for p in partial.rglob("*") if p.is_file()}

    def refused(study: Study | None, message: str, seed: int | None = 3) -> None:
        with pytest.raises(InputError, match=message):
            run_tiny(study, tmp_path / "out", resume=True, seed=seed)  # type: ignore[arg-type]

    refused(tiny_study(rallies=13), "stroke_rows_per_cell of the study is 20 in the run and 5 now")
    refused(tiny_study(rallies=13), "rallies of the study is 12 in the run and 13 now;")
    refused(STUDY, "the seed is 3 in the run and 4 now", seed=4)
    refused(None, "the seed is 3 in the run and 4 now", seed=4)
    now = {**provenance.terms_here(), "numpy": "0.9"}
    monkeypatch.setattr("experiments.study.resume.terms_here", lambda: now)
    refused(None, r"numpy is 2\..* in the run and 0\.9 now", seed=None)
    assert {p: p.read_bytes() for p in partial.rglob("*") if p.is_file()} == before


def test_a_changed_own_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "slow.py").write_text(OWN_POLICY)
    path = tmp_path / "mine.toml"
    path.write_text(only("placed").toml().replace('"bisector"', '"slow.py:Slow"'))
    partial = interrupted(load_study(path), tmp_path / "out", 0)
    (tmp_path / "slow.py").write_text(OWN_POLICY + "# changed\n")
    with pytest.raises(InputError, match=r"own/slow\.py is .* in the study given"):
        run_tiny(load_study(path), tmp_path / "out", resume=True)
    (partial / "own" / "slow.py").write_text(OWN_POLICY + "# changed\n")
    with pytest.raises(InputError, match=r"own/slow\.py is .* in the folder"):
        run_tiny(None, tmp_path / "out", resume=True)  # type: ignore[arg-type]


def test_there_must_be_something_to_resume(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="nothing to resume"):
        run_tiny(STUDY, tmp_path / "out", resume=True)
    (tmp_path / "out.partial").mkdir()
    with pytest.raises(InputError, match="before anything was finished; start again"):
        run_tiny(STUDY, tmp_path / "out", resume=True)


def test_only_the_rename_was_missing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(folder: Path) -> None:
        (folder / "run.json").unlink()
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "finish", stop)
        with pytest.raises(KeyboardInterrupt):
            run_tiny(only("placed"), tmp_path / "out")
    monkeypatch.setattr(runner, "play_study", lambda *_: pytest.fail("played again"))
    out = run_tiny(None, tmp_path / "out", resume=True)  # type: ignore[arg-type]
    assert (out / "manifest.json").exists() and not (out / "blocks").exists()


# --- one folder, one run ----------------------------------------------------------------------


def test_a_second_run_into_one_folder_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refusals = []

    def start_another() -> None:
        for options in ({"overwrite": True}, {"resume": True}):
            with pytest.raises(InputError) as caught:
                run_tiny(only("placed"), tmp_path / "out", **options)
            refusals.append(str(caught.value))

    breaking_after(0, monkeypatch, start_another)
    assert run_tiny(only("placed"), tmp_path / "out").exists()
    for text in refusals[:2]:
        assert f"another run (process {os.getpid()} on " in text and "--out" in text


# --- SIGKILL and a full disk ------------------------------------------------------------------


def run_in_child(out: Path, resume: bool, bytes_a_file: int | None = None) -> None:
    """Run the study in small blocks; what a process of its own does. Ends with 3 on a refusal."""
    shown_run.write_pictures = shown_run.write_report_page = lambda folder: None
    settings.BLOCK_SIZE.update(SMALL_BLOCKS)
    if bytes_a_file is not None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_a_file, bytes_a_file))
    try:
        run_tiny(STUDY, out, resume=resume)
    except InputError as error:
        out.with_name("message").write_text(str(error))
        raise SystemExit(3) from None


@pytest.fixture(scope="module")
def children() -> Any:
    """Starts processes quickly: they are copies of one that has imported everything."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["experiments.study.runner", "tiny_study"])
    return context


def start(children: Any, *arguments: Any) -> Any:
    child = children.Process(target=run_in_child, args=arguments)
    child.start()
    return child


@pytest.fixture(scope="module")
def in_small_blocks(children: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, float]:
    """The study in small blocks, uninterrupted, and the seconds that it took."""
    folder = tmp_path_factory.mktemp("small")
    for name in ("first", "second"):  # the first may have to compile
        began = time.monotonic()
        child = start(children, folder / name, False)
        child.join()
        assert child.exitcode == 0
    return folder / name, time.monotonic() - began


def wait_for_blocks(child: Any, folder: Path, more: int) -> None:
    """Wait until a run has stored so many blocks more than now, or has ended."""
    aim = len(list(folder.glob("*.block"))) + more
    while len(list(folder.glob("*.block"))) < aim and child.exitcode is None:
        time.sleep(0.002)


def test_killed_at_random_moments_and_resumed(
    children: Any, in_small_blocks: tuple[Path, float], tmp_path: Path
) -> None:
    """Twenty times SIGKILL, at any moment or just as a block is stored; every run that ends has the
    same bytes."""
    expected, seconds = contents(in_small_blocks[0]), in_small_blocks[1]
    rng = np.random.default_rng(20)
    kills, ends, blocks_seen = 0, 0, set[int]()
    out, partial = tmp_path / "out", tmp_path / "out.partial"
    while kills < 20 or not ends:
        resume = (partial / "run.json").exists() or (partial / "manifest.json").exists()
        if not resume:
            shutil.rmtree(partial, ignore_errors=True)
        child = start(children, out, resume)
        if kills == 20:
            child.join(60)
        elif kills % 2:  # most of the time goes to the start and the report
            wait_for_blocks(child, partial / "blocks", int(rng.integers(1, 12)))
        else:
            child.join(rng.uniform(0.0, 1.0) * seconds)
        if child.exitcode is None:
            child.kill()
            child.join()
            kills += 1
            blocks_seen.add(len(list((partial / "blocks").glob("*.block"))))
        if out.exists():
            assert contents(out) == expected
            assert not any(p.name.startswith("block") for p in out.iterdir())
            shutil.rmtree(out)
            ends += 1
        else:
            assert child.exitcode == -signal.SIGKILL
    assert len(blocks_seen - {0}) >= 5, "the kills did not hit runs at work"


def test_workers_end_with_a_run_that_is_killed(tmp_path: Path) -> None:
    """They would wait for work for ever; and the run is resumed by another number of workers."""
    study = tmp_path / "study.toml"
    study.write_text(only("placed", placed_balls=16_000).toml())
    out, blocks = tmp_path / "out", tmp_path / "out.partial" / "blocks"
    command = [sys.executable, "-m", "experiments", "study", str(study), "--out", str(out)]
    running = subprocess.Popen([*command, "--seed", "3", "--workers", "2"], start_new_session=True)
    try:
        while len(list(blocks.glob("*.block"))) < 2 and running.poll() is None:
            time.sleep(0.02)
    finally:
        running.kill()
    assert running.wait() == -signal.SIGKILL
    for _ in range(100):
        if not alive_in_group(running.pid):
            break
        time.sleep(0.1)
    assert not alive_in_group(running.pid)
    plan = load_study(study)
    resumed = run_tiny(plan, out, resume=True)
    assert manifest_of(resumed)["blocks_kept"] >= 2
    assert contents(resumed) == contents(run_tiny(plan, tmp_path / "whole"))


def alive_in_group(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


def test_a_full_disk_ends_in_a_message_and_the_run_resumes(
    children: Any, in_small_blocks: tuple[Path, float], tmp_path: Path
) -> None:
    """No file may be longer than a block's beginning; then than a block, shorter than the table."""
    out = tmp_path / "out"
    for resume, bytes_a_file in ((False, 1000), (True, 20_000)):
        child = start(children, out, resume, bytes_a_file)
        child.join()
        message = (tmp_path / "message").read_text()
        assert child.exitcode == 3 and "File too large" in message and "--resume" in message
        assert not out.exists()
    kept = len(list((tmp_path / "out.partial" / "blocks").iterdir()))
    assert kept > 50
    child = start(children, out, True)
    child.join()
    assert contents(out) == contents(in_small_blocks[0])
    assert manifest_of(out)["blocks_kept"] == kept


def test_a_block_that_always_kills_its_worker_is_given_up() -> None:
    """After TRIES losses; the others are handed out again meanwhile."""
    from concurrent.futures import Future
    from concurrent.futures.process import BrokenProcessPool

    handed: list[int] = []

    class Fragile:
        lost, unlike, advice = (BrokenProcessPool,), (), "do less"

        def lanes(self) -> int:
            return 2

        def is_deaf(self) -> bool:
            return False

        def submit(self, job: Any, task: Any) -> Future[bytes]:
            handed.append(task[0])
            future: Future[bytes] = Future()
            if task[0] == 4 or handed.count(task[0]) < 2:
                future.set_exception(BrokenProcessPool())
            else:
                future.set_result(b"")
            return future

    done = []
    with pytest.raises(InputError, match=f"{TRIES} times while block 4 was in work; do less; what"):
        for number, _ in finished(Fragile(), None, [(n, None) for n in range(9)]):  # type: ignore
            done.append(number)
    assert set(done) >= {0, 1, 2, 3} and handed.count(4) == TRIES
