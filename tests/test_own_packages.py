"""A foreign package that takes the name of one of ours gives a message, not a puzzle."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest
from click.testing import CliRunner

import experiments
from experiments.command.main import main
from experiments.edition import editions

HOME = Path(experiments.__file__).resolve().parent.parent


def run(code: list[str], *path: Path) -> subprocess.CompletedProcess[str]:
    """Run Python in the first folder of `path`, importing from these folders first."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(map(str, path))}
    command = [sys.executable, *code]
    return subprocess.run(
        command, env=environment, cwd=path[0], capture_output=True, text=True, timeout=120
    )


@pytest.mark.parametrize("name", ["sim", "strategies"])
@pytest.mark.parametrize("shape", ["package", "module", "quiet package"])
def test_foreign_package_is_named_without_a_traceback(
    tmp_path: Path, name: str, shape: str
) -> None:
    if shape == "module":
        foreign = tmp_path / f"{name}.py"
    else:
        (tmp_path / name).mkdir()
        foreign = tmp_path / name / "__init__.py"
    foreign.write_text("raise SystemExit('foreign code ran')" if shape != "quiet package" else "")
    result = run(["-m", "experiments", "list"], tmp_path, HOME)
    assert result.returncode == 1
    assert result.stdout == ""
    (message,) = result.stderr.splitlines()
    assert message.startswith("rally-recovery: ")
    assert str(foreign) in message and str(HOME / name) in message


def test_missing_package_is_named(tmp_path: Path) -> None:
    (tmp_path / "experiments").mkdir()
    for name in ("__init__.py", "__main__.py", "own_packages.py"):
        source = (HOME / "experiments" / name).read_text()
        (tmp_path / "experiments" / name).write_text(source)
    result = run(["-S", "-m", "experiments"], tmp_path)  # -S: nothing installed is found
    assert result.returncode == 1
    assert "finds none" in result.stderr and "Traceback" not in result.stderr


def test_own_packages_are_accepted(tmp_path: Path) -> None:
    (tmp_path / "sim").mkdir()  # a folder without code does not hide a package
    check = "from experiments.own_packages import require_own_packages as ask; ask()"
    result = run(["-c", check], tmp_path, HOME)
    assert (result.returncode, result.stderr) == (0, "")


def test_a_checkout_that_is_not_installed_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> str:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(metadata, "version", missing)
    done = CliRunner().invoke(main, ["--version"])
    edition = editions()[-1]
    says = f"version not installed; edition {edition.number} of the model, {edition.date}"
    assert (done.exit_code, done.stdout) == (0, f"rally-recovery, {says}\n")
