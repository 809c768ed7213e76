"""Progress in a log: plain lines that say how much is done and how long the rest may take."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from experiments.output import progress
from experiments.output.progress import progress_of


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[float]]:
    now = [0.0]
    monkeypatch.setattr(progress.time, "monotonic", lambda: now[0])
    yield now


def test_lines_in_a_log(clock: list[float], capsys: pytest.CaptureFixture[str]) -> None:
    """Four of ten blocks were there; the others take 10 s each, and not every one has a line."""
    bar = progress_of(10, 4, True)
    for _ in range(6):
        clock[0] += 10.0
        bar.update()
    bar.close()
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == "playing: 4 of 10 blocks (40 %), 0:00:00 gone"
    assert lines[1] == "playing: 6 of 10 blocks (60 %), 0:00:20 gone, about 0:00:40 left"
    assert re.match(r"playing: 10 of 10 .*about 0:00:00 left", lines[-1]) and len(lines) == 4


def test_nothing_where_nothing_is_wanted(capsys: pytest.CaptureFixture[str]) -> None:
    bar = progress_of(10, 0, False)
    bar.update()
    bar.close()
    assert capsys.readouterr().err == ""


def test_a_bar_on_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(progress.sys.stderr, "isatty", lambda: True, raising=False)
    bar = progress_of(10, 4, True)
    bar.update()
    bar.close()
    text = capsys.readouterr().err
    assert "\r" in text and "4/10" in text and "<" in text
