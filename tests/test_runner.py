"""Running a study: the same bytes whatever the processes, and what is left when it cannot go on."""

from __future__ import annotations

import errno
import hashlib
import json
import multiprocessing
import os
import re
import shutil
import subprocess
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from fixture_folder import rows_of
from tiny_study import OWN_POLICY, only, run_tiny, tiny_study, without_pages

from experiments.report import run as shown_run
from experiments.study import runner
from experiments.study.block_store import BlockStore
from experiments.study.design import Study
from experiments.study.file import load_study, parse_study
from experiments.study.result_folder import ResultFolder
from experiments.study.settings import scenarios
from sim.errors import InputError

SMALL = tiny_study(own_strokes=["middle"], rallies=10)
TABLES = ("study.toml", "strokes.parquet", "summary.json", "cells.csv")
COLUMNS = "columns.csv"  # the same for every seed


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tiny study, run once in this process."""
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(SMALL, tmp_path_factory.mktemp("runs") / "first")


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in TABLES}


def manifest_of(folder: Path) -> dict:
    return json.loads((folder / "manifest.json").read_text())


# --- the same bytes ---------------------------------------------------------------------------


def test_the_resolved_study_runs_again_by_itself(first: Path, tmp_path: Path) -> None:
    """With its seed in it, no other is needed; and a run again gives the same bytes."""
    study = load_study(first / "study.toml")
    assert contents(run_tiny(study, tmp_path / "again", seed=None)) == contents(first)


def test_another_seed_gives_other_numbers(first: Path, tmp_path: Path) -> None:
    other = contents(run_tiny(SMALL, tmp_path / "other", seed=4))
    assert all(other[name] != text for name, text in contents(first).items())


def test_figures_have_the_same_bytes_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from experiments.report.figures import study_figures

    monkeypatch.setattr(shown_run, "write_pictures", study_figures)
    study = only("placed", policies=["middle", "bisector"])
    one, two = (run_tiny(study, tmp_path / name) for name in ("one", "two"))
    drawn = sorted(p.relative_to(one) for p in (one / "figures").iterdir())
    assert {p.suffix for p in drawn} == {".png", ".svg"}
    assert [(one / p).read_bytes() for p in drawn] == [(two / p).read_bytes() for p in drawn]


# --- what a folder holds ----------------------------------------------------------------------


def test_the_manifest_says_what_was_run(first: Path) -> None:
    manifest = manifest_of(first)
    assert set(manifest) == {
        *("version", "edition", "source_hash", "commit", "packages", "python", "seed", "started"),
        *(
            "finished",
            "wall_s",
            "workers",
            "blocks_kept",
            "rows",
            "own_policies",
            "files",
            "system",
        ),
    }
    assert manifest["seed"] == 3 and manifest["workers"] == 1 and manifest["own_policies"] == {}
    for name, digest in manifest["files"].items():
        assert hashlib.sha256((first / name).read_bytes()).hexdigest() == digest
    assert set(manifest["files"]) == {*TABLES, COLUMNS}
    assert manifest["rows"] == len(pd.read_parquet(first / "strokes.parquet"))
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", manifest["started"])


def test_no_path_of_this_machine_is_left_in_the_tables(first: Path) -> None:
    for name, text in contents(first).items():
        assert str(first.parent).encode() not in text, name


def test_rows_stand_in_the_order_of_the_replicates(first: Path) -> None:
    table = pd.read_parquet(first / "strokes.parquet")
    labels = ["setting", "level", "opponent", "place", "own_stroke", "policy"]
    for _, cell in table.groupby(labels, observed=True, dropna=False, sort=False):
        order = np.lexsort((cell["stroke"], cell["replicate"]))
        assert np.array_equal(order, np.arange(len(cell)))
        assert cell["replicate"].max() == 4 and cell["replicate"].nunique() == 5
    cells = table[labels].drop_duplicates()
    by_setting = cells.groupby("setting", observed=True).size().to_dict()
    assert by_setting == {"placed": 2 * 2 * 3, "recovery": 2 * 2 * 4, "rally": 2 * 2 * 4}


def test_the_summary_says_what_the_cells_hold(first: Path) -> None:
    said, cells = json.loads((first / "summary.json").read_text()), rows_of(first)
    assert {c["setting"] for c in cells} == {s.setting for s in scenarios(SMALL)}
    assert (said["seed"], len(cells) > 250) == (ResultFolder.read(first).study["seed"], True)
    head = said["headline"]
    shared = {"setting": head["setting"], "outcome": head["outcome"]}
    assert head["cells"]
    for cell in head["cells"]:
        share = cell.pop("share_in_time")
        (full,) = (full for full in cells if (shared | cell).items() <= full.items())
        at = {name: full[name] for name in ("policy", "place", "level", "opponent", "setting")}
        in_time = at | {"outcome": "share_in_time", "estimate": share}
        assert any(in_time.items() <= full.items() for full in cells)
    own = [c for c in cells if shared.items() <= c.items() and c["place"] != "all places"]
    assert {p: sum(n.values()) for p, n in head["verdicts"].items()} == Counter(
        c["policy"] for c in own
    )
    assert said["rests_on"]["replicates"]["rally"] == SMALL.rallies
    assert all((first / name).exists() for name in said["files"].values())


def test_a_seed_is_made_and_recorded_where_none_is_given(tmp_path: Path) -> None:
    study = only("placed")
    seeds = []
    for name in ("one", "two"):
        out = run_tiny(study, tmp_path / name, seed=None)
        recorded = tomllib.loads((out / "study.toml").read_text())["seed"]
        assert manifest_of(out)["seed"] == recorded
        seeds.append(recorded)
    assert seeds[0] != seeds[1]
    again = run_tiny(study, tmp_path / "again", seed=seeds[0])
    assert contents(again) == contents(tmp_path / "one")


def test_the_given_seed_comes_before_the_studys(tmp_path: Path) -> None:
    study = only("placed", seed=11)
    assert manifest_of(run_tiny(study, tmp_path / "own", seed=None))["seed"] == 11
    assert manifest_of(run_tiny(study, tmp_path / "given", seed=12))["seed"] == 12
    assert manifest_of(run_tiny(study, tmp_path / "zero", seed=0))["seed"] == 0
    with pytest.raises(InputError, match="seed"):
        run_tiny(study, tmp_path / "bad", seed=-1)
    assert not (tmp_path / "bad").exists() and not (tmp_path / "bad.partial").exists()


# --- a user's own code ------------------------------------------------------------------------


def own_study_file(folder: Path, study: Study, text: str = OWN_POLICY) -> Path:
    """The study with the user's own policy in the place of the bisector, as files."""
    folder.mkdir()
    (folder / "slow.py").write_text(text)
    path = folder / "mine.toml"
    path.write_text(study.toml().replace('"bisector"', '"slow.py:Slow,shift_m=-0.4"'))
    return path


def clumsy(statement: str) -> str:
    """The own policy with a statement before its answer."""
    return OWN_POLICY.replace("return np.stack(", f"{statement}; return np.stack(")


def test_an_own_policy_runs_again_from_the_result_folder(tmp_path: Path) -> None:
    """First in this process, then, the user's file and folder gone, in two others."""
    everything = only("placed", settings=["placed", "recovery", "rally"])
    path = own_study_file(tmp_path / "user", everything)
    out = run_tiny(load_study(path), tmp_path / "out")
    digest = hashlib.sha256((out / "own" / "slow.py").read_bytes()).hexdigest()
    assert manifest_of(out)["own_policies"] == {"own/slow.py": digest}
    assert manifest_of(out)["files"]["own/slow.py"] == digest
    shutil.rmtree(tmp_path / "user")
    moved = out.rename(tmp_path / "moved")
    study = load_study(moved / "study.toml")
    again = run_tiny(study, tmp_path / "again", seed=None, workers=2)
    assert contents(again) == contents(moved)
    assert manifest_of(again)["workers"] == 2
    policies = {c["policy"] for c in rows_of(again)}
    assert "a step over -0.4" in policies and "bisector" not in policies


OWN_OPPONENT = """
from strategies.shots.habit import Habit

class Mine(Habit):
    name = "one who hits softly"

soft = Mine(speed_share=0.8)
"""


def test_an_own_opponent_is_labelled_by_its_name(tmp_path: Path) -> None:
    (tmp_path / "soft.py").write_text(OWN_OPPONENT)
    study = only("placed", opponents=[f"{tmp_path}/soft.py:soft", "habit"])
    out = run_tiny(study, tmp_path / "out")
    cells = rows_of(out)
    assert {c["opponent"] for c in cells} == {"one who hits softly", "habit"}
    assert "own/soft.py:soft" in (out / "study.toml").read_text()
    assert str(tmp_path) not in (out / "study.toml").read_text()


def test_own_code_that_fails_ends_in_a_message(tmp_path: Path) -> None:
    text = clumsy("assert len(seen) < 2, 'too many'")
    path = own_study_file(tmp_path / "user", only("placed"), text)
    with pytest.raises(InputError, match=r"slow\.py:Slow.*line 18: AssertionError: too many"):
        run_tiny(load_study(path), tmp_path / "out")
    assert not (tmp_path / "out").exists() and (tmp_path / "out.partial").exists()


def test_a_workers_refusal_reaches_the_user(tmp_path: Path) -> None:
    """The two balls played here to compile go well; the forty played elsewhere do not."""
    path = own_study_file(tmp_path / "user", only("placed"), clumsy("1 / (len(seen) - 40)"))
    with pytest.raises(InputError, match=r"slow\.py:Slow.*line 18: ZeroDivisionError"):
        run_tiny(load_study(path), tmp_path / "out", workers=2)
    assert not (tmp_path / "out").exists() and multiprocessing.active_children() == []


# --- what exists, and what goes wrong in mid-run ----------------------------------------------


@pytest.mark.parametrize("name", ["out", "out.partial"])
def test_existing_folders_are_refused_unless_asked(tmp_path: Path, name: str) -> None:
    (tmp_path / name).mkdir()
    (tmp_path / name / "study.toml").write_text("old")
    (tmp_path / name / "run.json").write_text('{"own": {}}')
    (tmp_path / name / "manifest.json").write_text('{"files": {"study.toml": "", "run.json": ""}}')
    with pytest.raises(InputError, match="exists"):
        run_tiny(only("placed"), tmp_path / "out")
    assert len(list((tmp_path / name).iterdir())) == 3
    run_tiny(only("placed"), tmp_path / "out", overwrite=True)
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert "old" not in (tmp_path / "out" / "study.toml").read_text()


def failing_after(blocks: int, error: BaseException, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let keeping a block fail once so many were kept."""
    write, done = BlockStore.write, iter(range(blocks))

    def failing(self: BlockStore, number: int, content: bytes) -> None:
        if next(done, None) is None:
            raise error
        write(self, number, content)

    monkeypatch.setattr(BlockStore, "write", failing)


def test_an_interrupt_leaves_the_partial_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing_after(2, KeyboardInterrupt(), monkeypatch)
    with pytest.raises(KeyboardInterrupt):
        run_tiny(tiny_study(settings=["placed"]), tmp_path / "out")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.partial"]
    assert parse_study((tmp_path / "out.partial" / "study.toml").read_text(), "left").seed == 3
    monkeypatch.undo()
    without_pages(monkeypatch)
    assert run_tiny(only("placed"), tmp_path / "out", overwrite=True).exists()
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_an_interrupt_ends_workers_that_are_still_busy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The corner is played at once, the middle would take a minute."""
    slow = clumsy("__import__('time').sleep(60.0 * (seen.contact['x_m'][0] == 0.0))")
    middle = {"name": "middle", "x_m": 0.0, "y_m": 11.885}
    study = only("placed", places=[*only("placed").model_dump()["places"], middle])
    path = own_study_file(tmp_path / "user", study, slow)
    failing_after(0, KeyboardInterrupt(), monkeypatch)
    began = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        run_tiny(load_study(path), tmp_path / "out", workers=2)
    assert time.monotonic() - began < 45
    assert multiprocessing.active_children() == [] and not (tmp_path / "out").exists()


def test_a_full_disk_in_mid_run_ends_in_a_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing_after(4, OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), monkeypatch)
    with pytest.raises(InputError, match=r"No space left on device.*out\.partial.*--overwrite"):
        run_tiny(tiny_study(), tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 64 kB; only the superuser of a machine of one's own may make one."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("mounting a small disk needs the superuser")
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if subprocess.run(command, capture_output=True).returncode != 0:
        pytest.skip("this machine does not allow mounting")
    try:
        yield disk
    finally:
        subprocess.run(["umount", "-l", str(disk)], check=True)


def test_a_disk_that_is_really_full_ends_in_a_message(small_disk: Path) -> None:
    with pytest.raises(InputError, match="No space left on device"):
        run_tiny(tiny_study(), small_disk / "out")
    assert [p.name for p in small_disk.iterdir()] == ["out.partial"]


def test_a_lost_worker_ends_in_a_message(tmp_path: Path) -> None:
    """A process that ends for want of memory says nothing itself."""
    dies = clumsy("(len(seen) > 2) and __import__('os')._exit(9)")
    path = own_study_file(tmp_path / "user", only("placed"), dies)
    with pytest.raises(InputError, match="a worker process ended before its work was done"):
        run_tiny(load_study(path), tmp_path / "out", workers=2)
    assert multiprocessing.active_children() == []


def test_the_processes_are_those_that_this_one_may_use() -> None:
    assert 1 <= runner.default_workers() <= (os.cpu_count() or 1)
