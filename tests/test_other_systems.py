"""What other systems do otherwise, as far as it can be tried on one: disks without hard links,
names that Windows keeps for devices or takes for one, line ends, codings, held files, shells."""

from __future__ import annotations

import ast
import errno
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from tiny_study import only

from experiments.command.main import main
from experiments.output.files import NotWrittenError, portable_stem, write_new, write_output
from experiments.study import executors, provenance
from experiments.study.provenance import own_policy_files
from sim.errors import InputError

ROOT = Path(__file__).resolve().parent.parent
POSIX_ONLY = {"fcntl", "grp", "pty", "pwd", "readline", "resource", "termios", "tty"}
OWN = "class Mine:\n    name = 'mine'\n"


def sources() -> Iterator[tuple[Path, ast.Module]]:
    for layer in ("sim", "strategies", "experiments"):
        for path in sorted((ROOT / layer).rglob("*.py")):
            yield path, ast.parse(path.read_text("utf-8"))


@pytest.mark.parametrize("says", [errno.EPERM, errno.EINVAL, errno.ENOTSUP, None])
def test_a_new_file_is_written_without_hard_links(
    says: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        assert says is not None
        raise OSError(says, "no links here")

    if says is None:
        monkeypatch.delattr(os, "link")
    else:
        monkeypatch.setattr(os, "link", refuse)
    write_new(tmp_path / "a.csv", "x\n")
    assert (tmp_path / "a.csv").read_bytes() == b"x\n"
    with pytest.raises(InputError, match="is there already"):
        write_new(tmp_path / "a.csv", "y\n")
    assert (tmp_path / "a.csv").read_bytes() == b"x\n"
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]


def test_nothing_is_left_where_a_disk_without_links_is_full(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.delattr(os, "link")
    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(NotWrittenError, match="No space left"):
        write_new(tmp_path / "a.csv", "x\n")
    assert not list(tmp_path.iterdir())


def test_a_file_that_another_program_holds_is_told_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Access is denied")

    path = write_output(tmp_path / "a.svg", b"<!-- rally-recovery -->", "picture")
    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(NotWrittenError, match="Access is denied; close it where it is open"):
        write_output(path, b"<!-- rally-recovery 2 -->", "picture")
    assert path.read_bytes() == b"<!-- rally-recovery -->"
    assert [p.name for p in tmp_path.iterdir()] == ["a.svg"]


def test_no_name_is_a_device_of_windows() -> None:
    for name in ("con", "Aux", "NUL", "com1", "lpt9", "prn.tar"):
        assert portable_stem(name) == f"{name}_"
    for name in ("mine", "contact", "com", "com10", "null"):
        assert portable_stem(name) == name


def test_files_that_differ_in_case_alone_stay_two(tmp_path: Path) -> None:
    for name in ("one/Mine.py", "two/mine.py", "two/aux.py"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(OWN, "utf-8")
    words = [f"{tmp_path / name}:Mine" for name in ("one/Mine.py", "two/mine.py", "two/aux.py")]
    study = only("placed").model_copy(update={"policies": ("middle", *words)})
    (tmp_path / "out").mkdir()
    _, hashes = own_policy_files(study, tmp_path / "out")
    assert len({name.casefold() for name in hashes}) == len(hashes) == 3
    assert "own/aux_.py" in hashes


def test_line_ends_of_a_checkout_do_not_change_the_source(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = []
    for name, end in (("lf", b"\n"), ("crlf", b"\r\n")):
        (tmp_path / name / "sim").mkdir(parents=True)
        (tmp_path / name / "sim" / "a.py").write_bytes(b"x = 1" + end)
        monkeypatch.setattr(provenance, "ROOT", tmp_path / name)
        found.append(provenance.source_hash())
    assert found[0] == found[1]
    monkeypatch.setattr(provenance, "ROOT", tmp_path)
    assert provenance.source_hash() != found[0]


def test_a_value_that_a_shell_took_apart_is_told_with_quotes() -> None:
    """PowerShell hands 3.1,11.9 on as two words."""
    for words in (["--opponent", "3.1", "11.9"], ["--policy", "linear-shade", "shade_m_per_m=0.2"]):
        done = CliRunner().invoke(main, ["spot", *words])
        assert done.exit_code == 2 and "in quotes" in done.output


def test_a_worker_leaves_interrupts_to_its_run() -> None:
    pool = executors.LocalProcesses(1)
    try:
        assert pool._executor.submit(signal.getsignal, signal.SIGINT).result() == signal.SIG_IGN
    finally:
        pool.close(now=True)


def test_windows_waits_for_so_many_processes_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []
    monkeypatch.setattr(executors, "ProcessPoolExecutor", lambda count, *_: asked.append(count))
    monkeypatch.setattr(executors.sys, "platform", "win32")
    assert executors.LocalProcesses(128).lanes() == executors.MOST_ON_WINDOWS == asked.pop()
    assert executors.LocalProcesses(4).lanes() == 4 == asked.pop()
    monkeypatch.setattr(executors.sys, "platform", "linux")
    assert executors.LocalProcesses(128).lanes() == 128 == asked.pop()


def test_no_text_is_written_or_read_as_the_system_likes() -> None:
    """Windows has another coding and another line end."""
    wrong = []
    for path, tree in sources():
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            named = {k.arg for k in node.keywords}
            texts = [a.value for a in node.args if isinstance(a, ast.Constant)]
            has_coding = "encoding" in named or {"utf-8", "ascii"} & set(map(str, texts))
            opens = name == "open" and any(t in ("r", "w", "x", "a") for t in texts)
            if (name in ("read_text", "write_text") or opens) and not has_coding:
                own = isinstance(node.func, ast.Name) and name == "read_text"  # sim.people_files
                if not own:
                    wrong.append(f"{path.relative_to(ROOT)}:{node.lineno}")
            if name == "write_text" and "newline" not in named:
                wrong.append(f"{path.relative_to(ROOT)}:{node.lineno} newline")
    assert not wrong


def test_what_only_posix_has_is_imported_only_there() -> None:
    wrong = [
        f"{path.relative_to(ROOT)}: {alias.name}"
        for path, tree in sources()
        for node in tree.body
        if isinstance(node, ast.Import)
        for alias in node.names
        if alias.name in POSIX_ONLY
    ]
    assert not wrong
