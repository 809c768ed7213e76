"""Where a result folder goes: whole or absent, in place of nothing that a study did not write."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path

import pytest

from experiments.output.files import not_written
from experiments.study.result_place import SUFFIX, only_run, whole_folder
from sim.errors import InputError

LETTER = "dear diary"


def make_result(folder: Path, **files: str) -> Path:
    """A result folder as a run leaves it, with these other files that the manifest lists."""
    folder.mkdir()
    held = {"study.toml": "old", "summary.json": "[]", "figures/court.png": "a picture", **files}
    for name, text in held.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text)
    (folder / "manifest.json").write_text(json.dumps({"files": dict.fromkeys(held, "0" * 64)}))
    (folder / "report.html").write_text("a page")
    return folder


def make_unfinished(folder: Path) -> Path:
    """What a run that was killed leaves."""
    (folder / "blocks").mkdir(parents=True)
    (folder / "own").mkdir()
    for name in ("study.toml", "cells.csv", "own/slow.py", "blocks/0000003.block"):
        (folder / name).write_text("half a run")
    (folder / f".{'b' * 16}.partial").write_text("half a file")
    (folder / "run.json").write_text(json.dumps({"own": {"own/slow.py": "0" * 64}}))
    return folder


def snapshot(folder: Path) -> dict[str, bytes | None]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


def refused(out: Path, message: str, **options: bool) -> None:
    """A run into `out` that replaces is refused, and not a byte beside it is another one."""
    before = snapshot(out.resolve().parent)
    with (
        pytest.raises(InputError, match=message) as seen,
        whole_folder(out, **{"overwrite": True, **options}),
    ):
        pytest.fail("began to write")
    assert "\n" not in str(seen.value)
    assert snapshot(out.resolve().parent) == before


def test_a_folder_appears_whole(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    with whole_folder(out, False) as partial:
        assert partial == tmp_path / "deep" / "out.partial"
        (partial / "file").write_text("x")
        assert not out.exists()
    assert [p.name for p in out.iterdir()] == ["file"] and not partial.exists()
    assert [p.name for p in (tmp_path / "deep").iterdir()] == ["out"]


@pytest.mark.parametrize("error", [KeyboardInterrupt, RuntimeError, InputError, SystemExit])
def test_an_error_leaves_the_partial_folder_alone(
    tmp_path: Path, error: type[BaseException]
) -> None:
    out = tmp_path / "out"
    with pytest.raises(error), whole_folder(out, False) as partial:
        (partial / "file").write_text("x")
        raise error("stop")
    assert not out.exists() and (tmp_path / "out.partial" / "file").exists()


@pytest.mark.parametrize(("name", "make"), [("out", make_result), ("out.partial", make_unfinished)])
def test_what_exists_is_replaced_only_when_asked(tmp_path: Path, name: str, make: object) -> None:
    make(tmp_path / name)  # type: ignore[operator]
    out = tmp_path / "out"
    message = "exists; choose another --out, delete it, or add --overwrite"
    refused(out, message, overwrite=False)
    with whole_folder(out, True) as partial:
        assert list(partial.iterdir()) == []
        (partial / "file").write_text("new")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]
    assert [p.name for p in out.iterdir()] == ["file"]


def test_the_old_folder_stays_until_the_new_one_is_whole(tmp_path: Path) -> None:
    make_result(tmp_path / "out")
    before = snapshot(tmp_path / "out")
    with pytest.raises(KeyboardInterrupt), whole_folder(tmp_path / "out", True):
        raise KeyboardInterrupt
    assert snapshot(tmp_path / "out") == before


def test_the_old_folder_comes_back_if_the_new_one_cannot_take_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, rename = make_result(tmp_path / "out"), Path.rename
    before = snapshot(out)

    def failing(self: Path, target: Path) -> Path:
        if self.name == "out.partial":
            assert not out.exists() and snapshot(tmp_path / "out.replaced") == before
            raise OSError(errno.EIO, "Input/output error", str(self))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with (
        pytest.raises(InputError, match=r"Input/output error.*stays in .*out\.partial.*--resume"),
        whole_folder(out, True) as partial,
    ):
        (partial / "file").write_text("new")
    assert snapshot(out) == before and not (tmp_path / "out.replaced").exists()
    assert (tmp_path / "out.partial" / "file").read_text() == "new"


def test_what_a_killed_run_moved_aside_is_kept_until_the_next_one_stands(tmp_path: Path) -> None:
    make_result(tmp_path / "out.replaced")
    with whole_folder(tmp_path / "out", True) as partial:
        assert (tmp_path / "out.replaced" / "study.toml").exists()
        (partial / "file").write_text("new")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("name", ["letter.txt", "figures/mine.png", "notes/letter.txt", "blocks/a"])
def test_a_foreign_file_keeps_the_folder(tmp_path: Path, name: str) -> None:
    out = make_result(tmp_path / "out")
    (out / name).parent.mkdir(exist_ok=True)
    (out / name).write_text(LETTER)
    refused(out, f"holds what no study wrote: .*{name.split('/')[0]}")


@pytest.mark.parametrize("name", ["letter.txt", "own/mine.py", "blocks/letter", "figures/a.txt"])
def test_a_foreign_file_keeps_an_unfinished_folder(tmp_path: Path, name: str) -> None:
    partial = make_unfinished(tmp_path / "out.partial")
    (partial / name).parent.mkdir(exist_ok=True)
    (partial / name).write_text(LETTER)
    refused(tmp_path / "out", f"holds what no study wrote: .*{name}")


def test_a_link_keeps_the_folder(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text(LETTER)
    out = make_result(tmp_path / "out")
    (out / "summary.json").unlink()
    (out / "summary.json").symlink_to(tmp_path / "letter.txt")
    refused(out, "holds what no study wrote")


def test_a_foreign_file_that_comes_during_the_run_keeps_both_folders(tmp_path: Path) -> None:
    out = make_result(tmp_path / "out")
    with (
        pytest.raises(InputError, match=r"holds what no study wrote: 'letter\.txt'"),
        whole_folder(out, True) as partial,
    ):
        (partial / "file").write_text("new")
        (out / "letter.txt").write_text(LETTER)
    assert (out / "study.toml").read_text() == "old"
    assert (out / "letter.txt").read_text() == LETTER
    assert (partial / "file").read_text() == "new"


def test_a_file_that_is_missing_is_no_reason_to_keep_it(tmp_path: Path) -> None:
    out = make_result(tmp_path / "out")
    (out / "summary.json").unlink()
    with whole_folder(out, True) as partial:
        (partial / "file").write_text("new")
    assert [p.name for p in out.iterdir()] == ["file"]


@pytest.mark.parametrize("name", ["out", "out.partial", "out.replaced"])
@pytest.mark.parametrize(
    "files",
    [
        {"letter.txt": LETTER},
        {"study.toml": LETTER},
        {"study.toml": LETTER, "manifest.json": '{"name": "a page"}'},
        {"study.toml": LETTER, "manifest.json": "[1]"},
    ],
)
def test_what_no_study_wrote_is_not_replaced(
    tmp_path: Path, name: str, files: dict[str, str]
) -> None:
    (tmp_path / name).mkdir()
    for file, text in files.items():
        (tmp_path / name / file).write_text(text)
    refused(tmp_path / "out", "is not a result folder|is no unfinished folder of a run")


def test_a_file_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "out").write_text(LETTER)
    refused(tmp_path / "out", "is not a result folder")


def test_where_one_is_and_what_holds_that_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not even a result folder."""
    out = make_result(tmp_path / "out")
    for here in (out, out / "figures"):
        monkeypatch.chdir(here)
        refused(out, "is the current folder, or holds it")
        refused(Path(os.path.relpath(out)), "is the current folder, or holds it")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(out / "figures"))
    monkeypatch.setenv("USERPROFILE", str(out / "figures"))
    refused(out, "is your home folder, or holds it")


@pytest.mark.parametrize("at", [".git", "figures/.git", "project/.git"])
def test_a_checkout_is_not_replaced(tmp_path: Path, at: str) -> None:
    out = make_result(tmp_path / "out")
    (out / at).mkdir(parents=True)
    (out / at / "HEAD").write_text("ref: refs/heads/main")
    refused(out, "is a checkout, or holds one")


def test_a_folder_named_by_dots_is_the_folder_meant(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_result(tmp_path / "out")
    monkeypatch.chdir(tmp_path / "out")
    refused(Path("."), "exists", overwrite=False)


# --- a disk that is full ----------------------------------------------------------------------


def test_a_full_disk_ends_in_a_message(tmp_path: Path) -> None:
    """Whether the error comes as it is, or from a picture or the report as a message."""
    full = OSError(errno.ENOSPC, "No space left on device")
    for error in (full, not_written(tmp_path / "court.svg", "picture", full)):
        out = tmp_path / type(error).__name__
        with pytest.raises(InputError) as caught, whole_folder(out, False) as partial:
            (partial / "file").write_text("x")
            raise error
        message = str(caught.value)
        assert "No space left on device" in message and f"{out.name}.partial" in message
        assert "--resume" in message and "--overwrite" in message and "\n" not in message
        assert not out.exists() and (partial / "file").exists()


def test_a_place_that_cannot_be_written_ends_in_a_message(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with (
        pytest.raises(InputError, match="cannot be written") as caught,
        whole_folder(tmp_path / "file" / "out", False),
    ):
        pytest.fail("began to write")
    assert "What was written" not in str(caught.value)


# --- the lock ---------------------------------------------------------------------------------


def test_the_lock_leaves_the_users_lock_file_alone(tmp_path: Path) -> None:
    (tmp_path / "uv.lock").write_text(LETTER)
    with whole_folder(tmp_path / "uv", False) as partial:
        assert {p.name for p in tmp_path.iterdir()} == {"uv.lock", f"uv{SUFFIX}", partial.name}
    assert (tmp_path / "uv.lock").read_text() == LETTER
    assert {p.name for p in tmp_path.iterdir()} == {"uv.lock", "uv"}


@pytest.mark.parametrize("kind", ["file", "folder", "link", "pipe"])
def test_what_has_the_locks_name_and_is_no_lock_is_kept(tmp_path: Path, kind: str) -> None:
    lock, letter = tmp_path / f"out{SUFFIX}", tmp_path / "letter.txt"
    letter.write_text(LETTER)
    make = {
        "file": lambda: lock.write_text(LETTER),
        "folder": lock.mkdir,
        "link": lambda: lock.symlink_to(letter),
        "pipe": lambda: os.mkfifo(lock),
    }
    make[kind]()
    with (
        pytest.raises(InputError, match="where a run keeps its lock, and it is not one; it stays"),
        whole_folder(tmp_path / "out", False),
    ):
        pytest.fail("began to write")
    assert os.path.lexists(lock) and letter.read_text() == LETTER
    if kind == "file":
        assert lock.read_text() == LETTER


@pytest.mark.parametrize("left", ["", "rally-recovery: process 7 on there\n"])
def test_a_lock_that_a_killed_run_left_bars_nobody(tmp_path: Path, left: str) -> None:
    (tmp_path / f"out{SUFFIX}").write_text(left)
    with (
        only_run(tmp_path / "out"),
        pytest.raises(InputError, match=f"process {os.getpid()} on "),
        only_run(tmp_path / "out"),
    ):
        pytest.fail("two at once")
    assert list(tmp_path.iterdir()) == []
