"""Files that commands write: whole or absent, and never over what somebody else wrote."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure

from experiments.answers.replay.film import require_film
from experiments.command.main import main
from experiments.drawing.style import save
from experiments.output.files import PICTURES, new_folder, require_picture_suffix, write_new
from experiments.output.tables import write_table
from sim.errors import InputError
from sim.whole_file import write_whole

LETTER = b"\x89PNG\r\n\x1a\n a holiday"


def figure() -> Figure:
    return Figure(figsize=(1, 1))


@pytest.mark.parametrize("suffix", PICTURES)
def test_a_picture_of_ours_is_drawn_again_and_nothing_else_is_touched(
    tmp_path: Path, suffix: str
) -> None:
    ours, holiday = tmp_path / f"ours{suffix}", tmp_path / f"holiday{suffix}"
    first = save(figure(), ours).read_bytes()
    assert save(figure(), ours).read_bytes() == first
    holiday.write_bytes(LETTER)
    for refused in (lambda: save(figure(), holiday), lambda: require_picture_suffix(holiday)):
        with pytest.raises(InputError, match="so it stays; choose another name, or move it away"):
            refused()
    assert holiday.read_bytes() == LETTER
    assert {p.name for p in tmp_path.iterdir()} == {ours.name, holiday.name}


def test_a_film_is_not_written_over_another_one(tmp_path: Path) -> None:
    (tmp_path / "holiday.gif").write_bytes(b"GIF89a")
    with pytest.raises(InputError, match="no film that rally-recovery wrote"):
        require_film(tmp_path / "holiday.gif")


def test_the_command_refuses_before_it_plays(tmp_path: Path) -> None:
    holiday, accounts = tmp_path / "holiday.png", tmp_path / "accounts.csv"
    holiday.write_bytes(LETTER)
    accounts.write_text("date,amount\n")
    for option, path in (("--figure", holiday), ("--csv", accounts)):
        done = CliRunner().invoke(main, ["map", "standing", option, str(path)])
        assert done.exit_code == 2 and done.stdout == "" and "so it stays" in done.stderr
    assert holiday.read_bytes() == LETTER and accounts.read_text() == "date,amount\n"


def test_a_table_with_the_same_columns_is_written_again(tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    write_table(pd.DataFrame({"x_m": [1.0], "name": ["a"]}), path)
    write_table(pd.DataFrame({"x_m": [2.0], "name": ["b"]}), path)
    assert path.read_text() == "x_m,name\n2.0,b\n"
    path.write_text("x_m,name,my notes\n2.0,b,good\n")
    with pytest.raises(InputError, match="no table that rally-recovery wrote, so it stays"):
        write_table(pd.DataFrame({"x_m": [2.0], "name": ["b"]}), path)
    assert path.read_text().endswith("good\n")


def test_a_device_or_a_dangling_link_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "null.csv").symlink_to("/dev/null")
    (tmp_path / "nowhere.csv").symlink_to(tmp_path / "gone.csv")
    for name in ("null.csv", "nowhere.csv"):
        with pytest.raises(InputError, match="so it stays"):
            write_table(pd.DataFrame({"x_m": [1.0]}), tmp_path / name)
    assert not (tmp_path / "gone.csv").exists() and not Path("/dev/null").is_file()


def test_a_link_to_a_picture_of_ours_stays_one(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    save(figure(), tmp_path / "far" / "a.png")
    (tmp_path / "a.png").symlink_to(tmp_path / "far" / "a.png")
    save(Figure(figsize=(2, 2)), tmp_path / "a.png")
    assert (tmp_path / "a.png").is_symlink()
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "far" / "a.png").read_bytes()


def test_new_files_are_new(tmp_path: Path) -> None:
    write_new(tmp_path / "a.csv", "x\n")
    with pytest.raises(InputError, match="is there already"):
        write_new(tmp_path / "a.csv", "y\n")
    assert (tmp_path / "a.csv").read_text() == "x\n"
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]


def test_a_folder_is_whole_or_absent(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), new_folder(tmp_path / "deep" / "out") as folder:
        (folder / "losses.csv").write_text("half")
        raise KeyboardInterrupt
    assert list((tmp_path / "deep").iterdir()) == []
    with new_folder(tmp_path / "deep" / "out") as folder:
        (folder / "losses.csv").write_text("all")
    assert (tmp_path / "deep" / "out" / "losses.csv").read_text() == "all"
    assert [p.name for p in (tmp_path / "deep").iterdir()] == ["out"]
    with pytest.raises(InputError, match="is there already"), new_folder(tmp_path / "deep"):
        pytest.fail("began to write")


def test_a_whole_file_has_the_usual_rights_and_its_own_name_in_errors(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(b"x")
    write_whole(tmp_path / "whole", b"x")
    assert (tmp_path / "whole").stat().st_mode == (tmp_path / "plain").stat().st_mode
    with pytest.raises(OSError, match="No such file") as caught:
        write_whole(tmp_path / "no" / "file", b"x")
    assert caught.value.filename == str(tmp_path / "no" / "file")
