"""Text and files from people: harmless wherever they are shown, and never endless."""

from __future__ import annotations

import csv
import os
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner, Result
from tiny_study import TINY, only, run_tiny

from experiments.command.main import main
from experiments.output.tables import fill_table, read_table, write_table
from experiments.output.terminal import say
from experiments.scene.player_file import player_of
from experiments.scene.units import number
from experiments.study.file import load_study, parse_study
from sim.errors import InputError
from sim.exchange import Place
from sim.people_files import read_bytes, toml_table
from sim.plain_text import LONGEST_WORD, checked_line, cited, visible
from sim.players import Player
from strategies.catalogue import make_shot_model
from strategies.charts.reading import read_chart

UNSEEN = ("\x1b[2J", "a\x07b", "a\u202eb", "a\u2066b", "a\u200fb", "a\x9bb")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


@pytest.mark.parametrize("text", UNSEEN)
def test_names_that_do_something_are_refused_wherever_they_come_in(
    tmp_path: Path, text: str
) -> None:
    chart = tmp_path / f"{text.replace('/', '')}.csv"
    chart.write_text("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m\n3,11.9,-3,-9\n")
    level = tmp_path / "anna.toml"
    escaped = text.encode("unicode_escape").decode().replace("\\x", "\\u00")
    level.write_text(f'name = "{escaped}"\nlevel = "club-adult"\n')
    for ask in (
        lambda: Place(text, 3.0, 11.9),
        lambda: Player(text),
        lambda: player_of(str(level)),
        lambda: read_chart(str(chart)),
        lambda: make_shot_model(f"charted,chart={chart}"),
        lambda: parse_study(TINY.replace("A tiny study", escaped), "x"),
        lambda: parse_study(f'question = "{escaped}"\n{TINY}', "x"),
        lambda: parse_study(TINY.replace('"corner"', f'"{escaped}"'), "x"),
    ):
        with pytest.raises(InputError) as caught:
            ask()
        assert "control character" in str(caught.value)
        assert visible(str(caught.value)) == str(caught.value).replace(text, visible(text))


@pytest.mark.parametrize("name", ["Änne Østergård", "李娜", "محمد", "O'Neil-Kaya 2", "$x$ _y^"])
def test_names_of_people_are_taken_as_they_are(name: str) -> None:
    assert checked_line("the name", name) == visible(name) == name


def test_nothing_that_is_said_does_anything_to_a_terminal(capsys: pytest.CaptureFixture) -> None:
    say("\x1b]0;x\x07 a\u202eb \udcff\nnext")
    assert capsys.readouterr().out == "\\x1b]0;x\\x07 a\\u202eb \\udcff\nnext\n"
    for arguments in (
        ("spot", "--figur\x1b[31m"),
        ("sp\x1b[31mot",),
        ("--\u202e",),
        ("spot", "--player", "\x1b[31m.toml"),
        ("chart", "check", "a\u202eb\udcff.csv"),
        ("chart", "\x1b[31m"),
        ("spot", "--hitter", "a\rb"),
    ):
        done = run(*arguments)
        assert done.exit_code == 2 and done.stdout == ""
        assert "Error: " in done.stderr and visible(done.stderr) == done.stderr


FORMULAS = ["=1+1", "+1", "-x", "@x", "'=1", "''@x", "'quoted", "plain", "= 2", "\tx"]


def test_no_text_of_a_table_is_a_formula_and_all_are_read_back(tmp_path: Path) -> None:
    table = pd.DataFrame({"policy": FORMULAS, "value": np.arange(len(FORMULAS)) - 3.5})
    for write in (fill_table, write_table):
        write(table, tmp_path / "a.csv")
        with (tmp_path / "a.csv").open(newline="", encoding="utf-8") as stream:
            rows = list(csv.DictReader(stream))
        assert not [r for r in rows if r["policy"].startswith(("=", "+", "-", "@", "\t"))]
        assert [r["policy"] for r in rows if r["policy"] in FORMULAS] == ["'quoted", "plain"]
        assert rows[0]["value"] == "-3.5"
        assert read_table(tmp_path / "a.csv").equals(table)


def test_a_policy_with_a_formula_for_a_name_is_one_in_no_table_of_a_study(tmp_path: Path) -> None:
    (tmp_path / "own.py").write_text(
        "from sim.contracts import PerRally\n"
        "odd = PerRally('=HYPERLINK(1)', lambda seen: (0.5, -13.0))\n"
    )
    study = only("placed", policies=["middle", f"{tmp_path}/own.py:odd"])
    out = run_tiny(study, tmp_path / "out")
    assert "\n'=HYPERLINK(1)," in (out / "cells.csv").read_text()
    assert "=HYPERLINK(1)" in set(read_table(out / "cells.csv")["policy"])


def test_dollar_signs_are_never_set_as_mathematics(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def parse(*_: object) -> None:
        raise AssertionError("set as mathematics")

    monkeypatch.setattr("matplotlib.mathtext.MathTextParser.parse", parse)
    monkeypatch.chdir(tmp_path)
    Path("a.toml").write_text("name = '$\\frac{ $a$'\nlevel = 'club-adult'\n")
    drawn = ("--seed", "1", "--player", "a.toml", "--figure", "a.png")
    assert run("spot", "--balls", "100", *drawn).exit_code == 0
    assert run("replay", *drawn).exit_code == 0


@pytest.mark.parametrize(
    "text", ["1 m*9**9**9**9", "1 m**99999999", "1 m 9**9", "1 (m)", "1 m" * 9]
)
def test_units_are_read_and_not_worked_out(text: str) -> None:
    with pytest.raises(InputError, match="no known unit"):
        number("--height", text, "m", 0, 9)


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 90_000,
        "a = " + "[" * 300 + "]" * 300,
        ".".join(["a"] * 40_000) + " = 1",
        "a = " + "{a=" * 50 + "1" + "}" * 50,
        "seed = " + "9" * 5000,
        "x" * 90_000,
    ],
    ids=["brackets", "lists", "keys", "tables", "number", "word"],
)
def test_toml_that_nobody_needs_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"^study file 'a' (nests|is not valid TOML)"):
        toml_table(text, "study file 'a'")


def test_a_text_with_many_dots_is_no_deep_table() -> None:
    assert toml_table('title = "1. a.b.c ... and so on"', "x")["title"].startswith("1. a")


def test_files_that_never_end_are_not_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "long.toml").write_text("#" * 300_000)
    for path in (Path("/dev/zero"), tmp_path / "pipe.toml", tmp_path):
        with pytest.raises(InputError, match=r"no ordinary file|a folder"):
            read_bytes(path, "it", 100)
        with pytest.raises(InputError, match=r"no ordinary file|a folder"):
            load_study(path)
        with pytest.raises(InputError, match=r"no ordinary file|a folder"):
            read_chart(str(path))
    with pytest.raises(InputError, match="more than 200,000 bytes"):
        load_study(tmp_path / "long.toml")
    with pytest.raises(InputError, match="more than 100,000 bytes"):
        player_of(str(tmp_path / "long.toml"))


BALLS = ("spot", "--seed", "1", "--balls", "100")


def test_places_to_write_to_are_tried_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    begun = "experiments.answers.spot.answer.find_spot"
    monkeypatch.setattr(begun, lambda *_: pytest.fail("began to work"))
    (tmp_path / "folder.png").mkdir()
    os.mkfifo(tmp_path / "pipe.png")
    for path, said in (
        ("none/a.png", "no folder 'none'"),
        ("folder.png", "is a folder"),
        ("pipe.png", "no ordinary file"),
        ("a" * 300 + ".png", "cannot write"),
        ("a.txt", ".svg"),
        (".", "ends in"),
    ):
        done = run(*BALLS, "--figure", path)
        assert (done.exit_code, done.stdout) == (2, "") and said in done.stderr
    for arguments in (
        ("chart", "new", "."),
        ("chart", "demo", ".."),
        ("player", "none/a.toml"),
        ("replay", "--seed", "1", "--animation", "none/a.gif"),
        ("handout", "--out", "none/a.pdf"),
        ("map", "standing", "--csv", "none/a.csv"),
        ("opponents", "--out", "folder.png"),
    ):
        done = run(*arguments)
        assert (done.exit_code, done.stdout) == (2, "") and "Traceback" not in done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder.png", "pipe.png"]


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_the_answer_is_said_though_the_picture_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, form: tuple[str, ...]
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("sim.whole_file.os.replace", full)
    done = run(*BALLS, "--figure", tmp_path / "a.png", *form)
    assert done.exit_code != 0 and "No space left" in done.stderr
    assert done.stdout.replace("Model", "policies").count("policies")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_the_processor_is_named_as_the_system_does() -> None:
    from experiments.study.provenance import system

    text = Path("/proc/cpuinfo").read_text("utf-8")
    if "model name" in text:
        assert system()["processor"] in text


def test_a_message_cites_no_word_that_is_too_long_to_read() -> None:
    short, long = "x" * (LONGEST_WORD - 1), "y" * 3_000_000
    assert cited(f"{short} is fine\n") == f"{short} is fine\n"
    said = cited(f"--seed is {long} ; give a number \u202e")
    assert len(said) < 300 and "(3000000 characters)" in said
    assert said.startswith("--seed is yyy") and said.endswith(" ; give a number \\u202e")


@pytest.mark.parametrize("option", ["--seed", "--surface", "--height", "--figure"])
def test_an_endless_value_is_refused_in_a_few_words(option: str) -> None:
    done = CliRunner().invoke(main, ["spot", option, "9/" * 5000])
    assert done.exit_code != 0 and len(done.stderr) < 1000
