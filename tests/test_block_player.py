"""How many processes play, where nobody says it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
from tiny_study import only, run_tiny

from experiments.command.messages import lacks_memory
from experiments.study import executors, workers
from experiments.study.executors import finished
from experiments.study.workers import WORKER_READY_S, workers_for
from sim.errors import InputError


def played(out: Path) -> tuple[bytes, int]:
    """The cells of a result folder, and how many processes played them."""
    manifest = json.loads((out / "manifest.json").read_text())
    return (out / "cells.csv").read_bytes(), manifest["workers"]


def test_more_processes_are_called_for_work_that_is_worth_their_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(workers, "default_workers", lambda: 2)
    assert [workers_for(s) for s in (0.0, WORKER_READY_S, 2.1 * WORKER_READY_S)] == [1, 1, 2]
    monkeypatch.setattr(workers, "default_workers", lambda: 1)
    assert workers_for(1e9) == 1


def test_a_small_study_is_played_alone_and_a_large_one_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workers, "default_workers", lambda: 2)
    study = only("placed", opponents=["habit", "open-court"])
    small = played(run_tiny(study, tmp_path / "small", workers=None))
    assert small[1] == 1
    monkeypatch.setattr(workers, "WORKER_READY_S", -1.0)
    large = played(run_tiny(study, tmp_path / "large", workers=None))
    assert large == (small[0], 2)
    assert played(run_tiny(study, tmp_path / "asked", workers=2)) == (small[0], 2)


def test_workers_that_nobody_hears_any_more_are_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    class Deaf:
        lost, unlike, advice = (), (), "try fewer --workers"

        def lanes(self) -> int:
            return 2

        def submit(self, job: Any, task: Any) -> Future[bytes]:
            return Future()

        def is_deaf(self) -> bool:
            return True

    monkeypatch.setattr(executors, "LOOK_EVERY_S", 0.01)
    with pytest.raises(InputError, match=r"cannot be reached any more.*--workers.*--resume"):
        list(finished(Deaf(), lambda *_: b"", [(0, None)]))  # type: ignore[arg-type,list-item]


def test_want_of_memory_is_known_by_its_many_names() -> None:
    for error in (
        MemoryError(),
        ImportError("a.so: failed to map segment from shared object"),
        RuntimeError("can't start new thread"),
        OSError("Could not find/load shared object file 'a.so'"),
    ):
        assert lacks_memory(error)
    assert not lacks_memory(RuntimeError("another one"))


def test_memory_that_runs_out_in_a_study_says_how_to_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from click.testing import CliRunner

    from experiments.command.main import main

    def none(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr("experiments.report.run.run_study", none)
    done = CliRunner().invoke(main, ["study", "--out", str(tmp_path / "out"), "--seed", "1"])
    assert done.exit_code == 1 and done.stdout == ""
    assert "Error: out of memory" in done.stderr and "--resume" in done.stderr


def test_uncompiled_kernels_are_not_tried() -> None:
    """They cannot run: records have named fields in compiled code only."""
    code = (
        "import numba;"
        "import sim.compiled; from sim.players import player; import numpy as np;"
        "from sim.movement import recovered; from sim.contracts import bodies_at;"
        "o = np.ones(1);"
        "print(recovered(bodies_at(o, -13 * o), np.array([[0.0, -13.0]]), o,"
        " player('club-adult').legs.numbers)[1][0] > 0)"
    )
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    for script in (code, code.removeprefix("import numba;")):
        done = subprocess.run(
            [sys.executable, "-c", script], capture_output=True, text=True, env=environment
        )
        assert done.stdout == "True\n", done.stderr
