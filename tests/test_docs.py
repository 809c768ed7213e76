"""The code in README.md, DEVELOPERS.md and the pages by question runs, and the commands that they
show work."""

from __future__ import annotations

import re
import shlex
import sys
import types
from pathlib import Path

import pytest
from click.testing import CliRunner

ROOT = Path(__file__).resolve().parent.parent
BY_QUESTION = sorted(p.relative_to(ROOT).as_posix() for p in ROOT.glob("results/pages/*.md"))
PAGES = ("README.md", "DEVELOPERS.md", *BY_QUESTION)
WITH_PYTHON = ("DEVELOPERS.md", "results/pages/student.md", "results/pages/agent.md")
# Run with less work elsewhere: the bare study by .ci/run, the benchmark by test_benchmark.py.
LONG = (
    *("rally-recovery study", "rally-recovery benchmark", "rally-recovery benchmark --parts"),
    # A quarter of an hour each; at small size in test_learning, test_headroom and test_duel.
    "rally-recovery learn --player college-man --seed 1 --points 4000 --out mine.toml",
    "rally-recovery rule best-college-man --seed 1",
    'rally-recovery headroom --policy "learned,weights=best-college-man" --player college-man',
    "rally-recovery duel --player college-man --seed 1",
)
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)
SAVED = re.compile(r"# (\w+\.py)\n")  # the first line of a block that readers save as a file


def blocks(page: str, language: str) -> list[str]:
    text = (ROOT / page).read_text("utf-8")
    return [body for found, body in BLOCK.findall(text) if found == language]


def save_files(page: str, folder: Path) -> None:
    """The files of code that the page lets its readers save."""
    for body in blocks(page, "python"):
        if (head := SAVED.match(body)) is not None:
            (folder / head[1]).write_text(body, "utf-8")


@pytest.mark.parametrize("page", WITH_PYTHON)
def test_python_blocks_run(page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.syspath_prepend(tmp_path)
    save_files(page, tmp_path)
    code = blocks(page, "python")
    assert code, f"{page} shows no Python"
    # Dataclasses look their module up by name, so the page runs as a module of its own.
    module = types.ModuleType("documentation")
    monkeypatch.setitem(sys.modules, "documentation", module)
    for body in code:
        exec(compile(body, page, "exec"), module.__dict__)


def test_no_other_page_shows_python() -> None:
    assert {page for page in PAGES if blocks(page, "python")} == set(WITH_PYTHON)


def commands(page: str) -> list[str]:
    lines = [line for body in blocks(page, "sh") for line in body.splitlines()]
    return [line.split("  #")[0].strip() for line in lines if line.startswith("rally-recovery ")]


def test_commands_are_shown() -> None:
    assert sum(len(commands(page)) for page in PAGES) > 30


@pytest.mark.parametrize("page", [page for page in PAGES if commands(page)])
def test_shown_commands_run(page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command line of a page, in the order shown, with the files of that page alone, but for
    LONG and what a page before it has shown already."""
    from experiments.command.main import main

    monkeypatch.chdir(tmp_path)
    (tmp_path / "halfway.py").write_text(blocks("DEVELOPERS.md", "python")[0], "utf-8")
    save_files(page, tmp_path)
    before = {line for other in PAGES[: PAGES.index(page)] for line in commands(other)}
    for line in commands(page):
        needed = line.startswith("rally-recovery player")  # makes the file of those after it
        if line in LONG or (line in before and not needed):
            continue
        result = CliRunner().invoke(main, shlex.split(line)[1:])
        assert result.exit_code == 0, f"{line}\n{result.output}"
