"""Stored results are compared with their hashes wherever they are read."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from tiny_study import OWN_POLICY, only, run_tiny, without_pages

from experiments.claims.register import of_draws, turned
from experiments.claims.tables import FEWER, all_tables
from experiments.command.main import main
from experiments.evidence.sensitivity.folder import DesignedFolder
from experiments.notebook import load
from experiments.report import run as shown_run
from experiments.report.figures import study_figures
from experiments.report.page import write_report
from experiments.study import runner
from experiments.study.file import load_study
from experiments.study.folder_files import file_hashes, held, listed, pack, require_whole, strangers
from experiments.study.result_folder import ResultFolder
from experiments.study.result_place import whole_folder
from sim.errors import InputError

RESULTS = Path(__file__).resolve().parent.parent / "results"


def flip(path: Path) -> None:
    """Make one digit of a file another one."""
    content = path.read_bytes()
    at = [m.start() for m in re.finditer(rb"[1-8]", content)][-1]
    path.write_bytes(content[:at] + bytes([content[at] + 1]) + content[at + 1 :])


READERS: list[tuple[str, str, Callable[[Path], Any]]] = [
    ("main", "study.toml", load),
    ("main", "study.toml", lambda folder: load_study(folder / "study.toml")),
    ("main", "cells.csv", load),
    ("main", "cells.csv", write_report),
    ("main", "cells.csv", study_figures),
    ("main", "cells.csv", all_tables),
    ("main", "choices.csv", all_tables),
    ("main", "choices.csv", write_report),
    ("main", "choices.csv", lambda folder: load(folder).choices),
    ("main", "cells.csv", lambda folder: load(folder).columns),
    ("main", "strokes.parquet", lambda folder: load(folder).strokes),
    ("turning", "figures/turning-recovery-crosscourt-missed.png", write_report),
    ("one-at-a-time", "designed.csv", DesignedFolder.read),
    ("one-at-a-time", "points.csv", DesignedFolder.read),
    ("one-at-a-time", "cells.csv", DesignedFolder.read),
    ("one-at-a-time", "points.csv", lambda folder: load(folder).points),
    ("one-at-a-time", "designed.csv", lambda folder: load(folder).designed),
    ("one-at-a-time", "one_at_a_time.csv", write_report),
    ("sensitivity", "draws.csv", partial(of_draws, outcome="points_more_than_middle_per_100")),
    ("turning", "turning.csv", partial(turned, setting="placed", outcome=FEWER)),
]


@pytest.mark.parametrize(("name", "file", "read"), READERS)
def test_a_flipped_digit_is_told_with_its_file(
    name: str, file: str, read: Callable[[Path], Any], tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(RESULTS / name, tmp_path / name))
    (folder / "report.html").write_text("an earlier one")
    path = held(folder, file)
    flip(path)
    with pytest.raises(
        InputError, match=r"not as the study wrote it \(the hash in manifest"
    ) as said:
        read(folder)
    assert repr(str(path)) in str(said.value) and "on purpose" in str(said.value)
    assert (folder / "report.html").read_text() == "an earlier one"


def test_an_edited_file_is_read_once_its_line_is_taken_out(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(RESULTS / "main", tmp_path / "main"))
    flip(folder / "choices.csv")
    manifest = json.loads((folder / "manifest.json").read_text())
    del manifest["files"]["choices.csv"]
    (folder / "manifest.json").write_text(json.dumps(manifest))
    assert len(load(folder).choices)


def test_a_packed_table_is_read_as_the_table_that_it_holds(tmp_path: Path) -> None:
    plain, packed = (shutil.copytree(RESULTS / "turning", tmp_path / name) for name in "ab")
    for name in ("cells.csv", "points.csv"):
        first = pack(packed, name)
        content = first.read_bytes()
        first.write_bytes(content[:-8])  # cut off
        with pytest.raises(InputError, match=f"{name}.gz': not as the study wrote it"):
            ResultFolder.read(packed).points  # noqa: B018
        first.write_bytes(content)
    assert not (packed / "cells.csv").exists()
    assert ResultFolder.read(packed).cells.equals(ResultFolder.read(plain).cells)
    assert ResultFolder.read(packed).points.equals(ResultFolder.read(plain).points)
    assert load(packed).columns.equals(load(plain).columns)


def test_a_folder_with_a_packed_table_is_replaced_and_others_stay(tmp_path: Path) -> None:
    out = Path(shutil.copytree(RESULTS / "turning", tmp_path / "out"))
    pack(out, "cells.csv")
    (out / "letters.csv.gz").write_bytes(b"dear diary")
    assert strangers(out, finished=True) == ["letters.csv.gz"]
    with pytest.raises(InputError, match=r"letters\.csv\.gz"), whole_folder(out, True):
        pass
    (out / "letters.csv.gz").unlink()
    with whole_folder(out, True) as partial:
        (partial / "file").write_text("new")
    assert [p.name for p in out.iterdir()] == ["file"]


def test_the_stored_results_stay_small() -> None:
    made_again = ("report.html", "details.html")
    files = [p for p in RESULTS.rglob("*") if p.is_file() and p.name not in made_again]
    assert sum(p.stat().st_size for p in files) < 10_000_000


def test_the_command_says_it_in_a_line(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(RESULTS / "main", tmp_path / "main"))
    flip(folder / "study.toml")
    for command in (["replay", "--study", str(folder)], ["study", f"{folder}/study.toml"]):
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 2 and done.stdout == ""
        assert "study.toml': not as the study wrote it" in done.stderr
        assert "Traceback" not in done.stderr


# --- what a run writes ------------------------------------------------------------------------


@pytest.fixture
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


def test_a_run_lists_every_file_that_it_writes(tmp_path: Path) -> None:
    """With factors, a precision and own code; so that its folder can be replaced again."""
    (tmp_path / "slow.py").write_text(OWN_POLICY)
    vary = [{"name": "legs.top_speed_m_s", "plus": [-0.5, 0.5]}]
    factors = {"design": "one-at-a-time", "vary": vary}
    study = only("placed", factors=factors, precision=50.0, placed_balls=20)
    text = study.toml().replace('"bisector"', '"slow.py:Slow"')
    (tmp_path / "mine.toml").write_text(text)
    out = run_tiny(load_study(tmp_path / "mine.toml"), tmp_path / "out")
    there = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert there - {"manifest.json", "report.html", "details.html"} == set(listed(out))
    assert {"own/slow.py", "designed.csv", "precision.csv", "figures/captions.json"} < there
    assert file_hashes(out, listed(out)) == listed(out)
    assert strangers(out, finished=True) == []
    with whole_folder(out, True) as partial:
        (partial / "file").write_text("new")
    assert {p.name for p in tmp_path.iterdir()} == {"slow.py", "mine.toml", "out"}


@pytest.mark.usefixtures("_no_pages")
def test_a_file_that_comes_during_the_run_stays_and_is_not_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(folder: Path) -> None:
        (folder / "letter.txt").write_text("dear diary")
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "write_columns", stop)
        with pytest.raises(KeyboardInterrupt):
            run_tiny(only("placed"), tmp_path / "out")
    out = run_tiny(None, tmp_path / "out", resume=True)  # type: ignore[arg-type]
    assert (out / "letter.txt").read_text() == "dear diary"
    assert "letter.txt" not in listed(out) and strangers(out, finished=True) == ["letter.txt"]


@pytest.mark.usefixtures("_no_pages")
@pytest.mark.parametrize("file", ["study.toml", "own/slow.py"])
def test_an_unfinished_study_that_was_changed_is_not_resumed(tmp_path: Path, file: str) -> None:
    (tmp_path / "slow.py").write_text(OWN_POLICY)
    (tmp_path / "mine.toml").write_text(
        only("placed").toml().replace('"bisector"', '"slow.py:Slow"')
    )
    study = load_study(tmp_path / "mine.toml")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "write_columns", lambda folder: (_ for _ in ()).throw(SystemExit))
        with pytest.raises(SystemExit):
            run_tiny(study, tmp_path / "out")
    partial = tmp_path / "out.partial"
    flip(partial / file)
    (tmp_path / "ran").unlink(missing_ok=True)
    before = {p: p.read_bytes() for p in partial.rglob("*") if p.is_file()}
    for given in (None, study):
        with pytest.raises(InputError, match=f"{file}.*(is not as the run wrote it|in the folder)"):
            run_tiny(given, tmp_path / "out", resume=True)  # type: ignore[arg-type]
    assert {p: p.read_bytes() for p in partial.rglob("*") if p.is_file()} == before
    assert run_tiny(study, tmp_path / "out", overwrite=True).exists()


@pytest.mark.usefixtures("_no_pages")
def test_a_changed_own_file_of_an_unfinished_run_is_not_even_run(tmp_path: Path) -> None:
    (tmp_path / "slow.py").write_text(OWN_POLICY)
    (tmp_path / "mine.toml").write_text(
        only("placed").toml().replace('"bisector"', '"slow.py:Slow"')
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "write_columns", lambda folder: (_ for _ in ()).throw(SystemExit))
        with pytest.raises(SystemExit):
            run_tiny(load_study(tmp_path / "mine.toml"), tmp_path / "out")
    own = tmp_path / "out.partial" / "own" / "slow.py"
    own.write_text(OWN_POLICY + f"\nopen({str(tmp_path / 'ran')!r}, 'w')\n")
    with pytest.raises(InputError, match=r"own/slow\.py is .* in the folder"):
        run_tiny(None, tmp_path / "out", resume=True)  # type: ignore[arg-type]
    assert not (tmp_path / "ran").exists()


@pytest.mark.usefixtures("_no_pages")
@pytest.mark.parametrize("act", [flip, Path.unlink])
def test_a_whole_folder_that_lacks_its_name_is_compared_first(
    tmp_path: Path, act: Callable[[Path], None]
) -> None:
    def stop(folder: Path) -> None:
        (folder / "run.json").unlink()
        raise KeyboardInterrupt

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runner, "finish", stop)
        with pytest.raises(KeyboardInterrupt):
            run_tiny(only("placed"), tmp_path / "out")
    require_whole(tmp_path / "out.partial")
    act(tmp_path / "out.partial" / "cells.csv")
    with pytest.raises(InputError, match=r"out\.partial/cells\.csv': not as the study wrote it"):
        run_tiny(None, tmp_path / "out", resume=True)  # type: ignore[arg-type]
    assert not (tmp_path / "out").exists()


# --- a disk that fills late -------------------------------------------------------------------


@pytest.mark.parametrize("part", ["write_pictures", "write_report_page"])
def test_a_disk_that_fills_at_the_end_is_told_with_how_to_go_on(
    tmp_path: Path, part: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pictures' and the report's own writers, on a disk that takes no more."""
    full = getattr(shown_run, part)
    without_pages(monkeypatch)

    def filling(folder: Path) -> None:
        def no_space(*_: object) -> None:
            raise OSError(28, "No space left on device")

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("os.replace", no_space)
            full(folder)

    monkeypatch.setattr(shown_run, part, filling)
    with pytest.raises(InputError) as caught:
        run_tiny(only("placed"), tmp_path / "out")
    said = str(caught.value)
    assert "No space left on device" in said and "\n" not in said
    assert f"stays in {str(tmp_path / 'out.partial')!r}" in said and "--resume" in said
    without_pages(monkeypatch)
    assert run_tiny(None, tmp_path / "out", resume=True).exists()  # type: ignore[arg-type]
