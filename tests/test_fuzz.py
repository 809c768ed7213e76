"""Three hundred generated inputs over all commands: answered or refused, never anything else.

An input depends on its number and on the options of the commands alone. This plays one of them:
`pytest tests/test_fuzz.py -k number-17-`, and this lays out its folder to try it by hand:
`PYTHONPATH=.:tests python tests/fuzz_cases.py 17 FOLDER`.
"""

from __future__ import annotations

import dataclasses
import os
import resource
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import pytest
from click.testing import CliRunner
from fuzz_bad_values import FINE, WRONG
from fuzz_cases import CASES, SHARES, Case, cases, commands
from fuzz_folder import contents, made_folder
from fuzz_oracle import Outcome, broken_rules
from tiny_study import without_pages

from experiments.command.main import main

ROOTS = os.pathsep.join([str(Path(__file__).resolve().parent.parent), *sys.path])
PATIENCE_S, MEMORY = 240, 3 * 2**30  # of a process of its own, in bytes
WITH_PAGES = 2  # studies that also draw and report; the others leave that to its own tests


class TooLong(BaseException):
    """A command that does not end."""


@contextmanager
def patience() -> Iterator[None]:
    def stop(number: int, frame: FrameType | None) -> None:
        raise TooLong(f"not ended after {PATIENCE_S} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(PATIENCE_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def inside(case: Case) -> tuple[int, str, str, str | None]:
    """Exit code, output, errors and trouble of a command in this process."""
    with patience():
        try:
            done = CliRunner().invoke(main, list(case.arguments))
        except TooLong as error:
            return 1, "", "", str(error)
    trouble = done.exception
    quiet = trouble is None or isinstance(trouble, SystemExit)
    return done.exit_code, done.stdout, done.stderr, None if quiet else repr(trouble)


def apart(case: Case, folder: Path) -> tuple[int, str, str, str | None]:
    """The same in a process of its own, for what could end the interpreter."""
    command = [sys.executable, "-m", "experiments", *case.arguments]
    around = {**os.environ, "PYTHONPATH": ROOTS, "TMPDIR": tempfile.gettempdir()}
    try:
        done = subprocess.run(
            command,
            cwd=folder,
            env=around,
            capture_output=True,
            timeout=PATIENCE_S,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY)),
        )
    except subprocess.TimeoutExpired:
        return 1, "", "", f"not ended after {PATIENCE_S} s"
    out, err = (text.decode("utf-8", "surrogateescape") for text in (done.stdout, done.stderr))
    killed = f"ended by signal {-done.returncode}" if done.returncode < 0 else None
    return done.returncode, out, err, killed


@pytest.mark.parametrize(
    "number", range(CASES), ids=lambda n: f"number-{n}-{cases()[n].arguments[0]}"
)
def test_an_input_is_answered_or_refused(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = cases()[number]
    folder = made_folder(tmp_path, case.arguments, case.files)
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    monkeypatch.chdir(folder)
    if number >= WITH_PAGES:
        without_pages(monkeypatch)
    before = contents(tmp_path)
    told = apart(case, folder) if case.apart else inside(case)
    done = Outcome(*told, before, contents(tmp_path))
    wrong = list(broken_rules(done, tmp_path, case.promised, case.as_json))
    if case.comes == WRONG and done.code == 0:
        wrong.append("answered, and should have been refused")
    if case.comes == FINE and done.code != 0:
        wrong.append("refused, and should have been answered")
    if wrong:
        said = f"exit code {done.code}", done.err[-1000:], done.out[:500]
        report = "\n".join([case.line, *wrong, *said])
        pytest.fail(report.encode("ascii", "backslashreplace").decode(), pytrace=False)


GOOD = Outcome(0, "1.0 m\n", "", None, {"work": None}, {"work": None})
BAD = {
    "crash": {"code": 1, "trouble": "ValueError()"},
    "message": {"code": 2, "out": "", "err": "it failed\n"},
    "hidden characters": {"out": "\u202e1.0 m"},
    "odd number": {"out": "-0.0 m"},
    "formula": {"after": {"work": None, "work/new.csv": b"=1+1\n"}},
    "destroyed": {"after": {}},
    "left behind": {"code": 2, "err": "Error: no\n", "after": {"work": None, "work/x": b""}},
    "no result": {"out": ""},
}


@pytest.mark.parametrize("rule", BAD)
def test_a_broken_rule_is_found(rule: str, tmp_path: Path) -> None:
    assert not list(broken_rules(GOOD, tmp_path, (), as_json=False))
    done = dataclasses.replace(GOOD, **BAD[rule])
    assert any(w.startswith(rule) for w in broken_rules(done, tmp_path, (), as_json=False))


def test_every_command_and_option_is_covered() -> None:
    assert set(SHARES) == set(commands())
    assert sum(SHARES.values()) == CASES
    for name, command in commands().items():
        given = set().union(*(c.given for c in cases() if _called(c) == name))
        assert {str(p.name) for p in command.params} <= given, name


def _called(case: Case) -> str:
    return next(n for n in SHARES if case.arguments[: len(n.split())] == tuple(n.split()))
