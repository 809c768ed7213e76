"""Which code a study file makes run: told before, not outside its folder, and never to check."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from tiny_study import OWN_POLICY, only

from experiments.command.main import main
from experiments.scene.own_code import code_files, located
from experiments.study.file import load_study
from sim.errors import InputError
from strategies import user_file


@pytest.fixture(autouse=True)
def _nothing_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(user_file, "_told", set())


class Case:
    """A study in a folder of its own that names code, which leaves a mark when it is run."""

    def __init__(self, folder: Path, code: str, words: str = "{code}:Slow") -> None:
        self.mark, self.folder = folder / "ran", folder / "study"
        self.folder.mkdir()
        self.code = folder / "study" / code
        self.code.parent.mkdir(parents=True, exist_ok=True)
        self.code.write_text(OWN_POLICY + f"\nopen({str(self.mark)!r}, 'a').write('x')\n")
        named = words.format(code=code)
        text = only("placed").toml().replace('"bisector"', f'"{named}"')
        if named.startswith("best-reply"):
            text = only("placed").toml().replace('"habit"', f'"{named}"', 1)
        self.file = self.folder / "study.toml"
        self.file.write_text(text)

    def run(self, *arguments: object) -> Result:
        return CliRunner().invoke(main, [str(a) for a in arguments])

    @property
    def was_run(self) -> bool:
        return self.mark.exists()


def in_a_row(text: str) -> str:
    """Without the line breaks of the command line's messages."""
    return " ".join(text.split())


NESTED = "best-reply,policy={code}:Slow+shift_m=-0.5"


@pytest.mark.parametrize("words", ["{code}:Slow", "{code}:Slow,shift_m=-0.4", NESTED])
@pytest.mark.parametrize("code", ["slow.py", "own/slow.py"])
def test_a_check_says_what_would_be_run_and_does_not_run_it(
    tmp_path: Path, code: str, words: str
) -> None:
    case = Case(tmp_path, code, words)
    done = case.run("study", case.file, "--check")
    assert done.exit_code == 0, done.output
    assert f"Code, not run by --check: {str(case.code)!r}" in done.stdout
    assert "slow.py:Slow" in done.stdout and "Runs code" not in done.stderr
    assert not case.was_run
    assert sorted(p.name for p in tmp_path.iterdir()) == ["study"]


def test_a_check_of_a_study_without_code_guesses_the_time(tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text(only("placed").toml())
    done = CliRunner().invoke(main, ["study", str(path), "--check"])
    assert done.exit_code == 0 and "a guess from" in done.stdout and "Code" not in done.stdout


def test_code_that_is_not_there_is_told_by_a_check(tmp_path: Path) -> None:
    case = Case(tmp_path, "slow.py")
    case.code.unlink()
    done = case.run("study", case.file, "--check")
    assert done.exit_code == 2 and "there is no file" in done.stderr


ELSEWHERE = ["../slow.py", "../far/slow.py", "inside/../../slow.py"]


@pytest.mark.parametrize("words", ["{code}:Slow", NESTED])
@pytest.mark.parametrize("code", ELSEWHERE)
def test_code_elsewhere_is_refused_by_every_command(tmp_path: Path, code: str, words: str) -> None:
    case = Case(tmp_path, "inside/x.py")
    text = case.file.read_text()
    target = (case.folder / code).resolve()
    target.parent.mkdir(exist_ok=True)
    target.write_text(case.code.read_text())
    named = words.format(code=code)
    old = '"habit"' if named.startswith("best-reply") else '"inside/x.py:Slow"'
    case.file.write_text(text.replace(old, f'"{named}"', 1).replace("inside/x.py:Slow", "bisector"))
    out = tmp_path / "out"
    for command in (
        ("study", case.file, "--check"),
        ("study", case.file, "--out", out),
        ("study", case.file, "--out", out, "--resume"),
        ("replay", "--study", case.file, "--seed", 1),
        ("replay", "--study", case.folder, "--seed", 1),
    ):
        done = case.run(*command)
        assert done.exit_code == 2 and done.stdout == "", command
        said = in_a_row(done.stderr)
        assert "would run code from outside its own folder" in said and "--allow-code" in said
        assert code in said and "Traceback" not in said
    assert not case.was_run and not out.exists()
    with pytest.raises(InputError, match="outside its own folder"):
        load_study(case.file)
    load_study(case.file, allow_code=True)
    assert case.was_run


def test_an_absolute_path_and_a_link_lead_elsewhere(tmp_path: Path) -> None:
    case = Case(tmp_path, "slow.py")
    far = tmp_path / "far.py"
    case.code.rename(far)
    case.code.symlink_to(far)
    with pytest.raises(InputError, match=r"outside its own folder: 'slow\.py'"):
        load_study(case.file)
    case.file.write_text(case.file.read_text().replace("slow.py", str(far)))
    with pytest.raises(InputError, match="outside its own folder"):
        load_study(case.file)
    assert not case.was_run


@pytest.mark.parametrize("words", ["a.py:" * 30_000, "./" * 3000 + "../slow.py:Slow"])
def test_code_named_in_an_endless_text_is_refused_unread(tmp_path: Path, words: str) -> None:
    case = Case(tmp_path, "slow.py")
    case.file.write_text(case.file.read_text().replace("slow.py:Slow", words))
    with pytest.raises(InputError, match="names code in a text of more than 4096 characters"):
        load_study(case.file)
    assert not case.was_run


def test_code_elsewhere_is_run_when_it_is_allowed_and_told_before(tmp_path: Path) -> None:
    case = Case(tmp_path, "../slow.py")
    done = case.run("study", case.file, "--check", "--allow-code")
    assert done.exit_code == 0 and str(case.code.resolve()) in done.stdout and not case.was_run
    done = case.run("replay", "--study", case.file, "--seed", 1, "--allow-code")
    assert done.exit_code == 0, done.output
    assert f"Runs code from {str(case.code.resolve())!r}" in done.stderr and case.was_run


def test_code_beside_the_study_is_told_once_by_a_run_and_by_its_workers_not(
    tmp_path: Path,
) -> None:
    case = Case(tmp_path, "slow.py")
    command = ["-m", "experiments", "study", str(case.file), "--out", str(tmp_path / "out")]
    done = subprocess.run(
        [sys.executable, *command, "--seed", "3", "--workers", "2"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr.count("Runs code from") == 1
    assert f"Runs code from {str(case.code)!r}" in done.stderr
    assert "Runs code" not in done.stdout and case.was_run


def test_code_on_the_command_line_is_the_users_own_and_told(tmp_path: Path) -> None:
    case = Case(tmp_path, "slow.py")
    done = case.run("spot", "--policy", f"{case.code}:Slow", "--balls", 100, "--seed", 1, "--json")
    assert done.exit_code == 0, done.output
    assert done.stderr == f"Runs code from {str(case.code)!r}\n"
    assert done.stdout.startswith("{") and case.was_run


def test_code_in_a_parameter_is_found_and_moved_like_any_other() -> None:
    text = "best-reply,policy=own/slow.py:Slow+shift_m=-0.5,look_ahead_s=0.2"
    assert code_files(text) == [Path("own/slow.py")]
    assert located(text, Path("/far")) == text.replace("own/", "/far/own/")
    assert code_files("charted,chart=a.csv") == [] == code_files("middle")
