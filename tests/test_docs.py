"""The code in README.md and DEVELOPERS.md runs, and the commands that they show work."""

from __future__ import annotations

import re
import shlex
import sys
import types
from pathlib import Path

import pytest
from click.testing import CliRunner

ROOT = Path(__file__).resolve().parent.parent
PAGES = ("README.md", "DEVELOPERS.md")
# Run with less work elsewhere: the bare study by .ci/run, the benchmark by test_benchmark.py.
LONG = ("rally-recovery study", "rally-recovery benchmark", "rally-recovery benchmark --parts")
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def blocks(page: str, language: str) -> list[str]:
    text = (ROOT / page).read_text("utf-8")
    return [body for found, body in BLOCK.findall(text) if found == language]


@pytest.mark.parametrize("page", PAGES)
def test_python_blocks_run(page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    code = blocks(page, "python")
    assert code, f"{page} shows no Python"
    # Dataclasses look their module up by name, so the page runs as a module of its own.
    module = types.ModuleType("documentation")
    monkeypatch.setitem(sys.modules, "documentation", module)
    for body in code:
        exec(compile(body, page, "exec"), module.__dict__)


def commands() -> list[str]:
    lines = [line for page in PAGES for body in blocks(page, "sh") for line in body.splitlines()]
    return [line for line in lines if line.startswith("rally-recovery ")]


def test_shown_commands_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every command line shown, in the order shown, but for LONG."""
    from experiments.command.main import main

    monkeypatch.chdir(tmp_path)
    (tmp_path / "halfway.py").write_text(blocks("DEVELOPERS.md", "python")[0], "utf-8")
    shown = [line.split("  #")[0] for line in commands()]
    assert len(shown) > 3
    for line in shown:
        if line.strip() in LONG:
            continue
        result = CliRunner().invoke(main, shlex.split(line)[1:])
        assert result.exit_code == 0, f"{line}\n{result.output}"
