"""Files and numbers as people write them: codings, commas, capitals, units, mirrored charts."""

from __future__ import annotations

import csv
import io
from importlib import resources
from pathlib import Path

import pytest
from click.testing import CliRunner
from tiny_study import TINY

from experiments.answers.chart.words import check_text, corners, questions
from experiments.answers.handout.texts import texts_of
from experiments.command.main import main
from experiments.scene.player_file import player_of, read_player_file
from experiments.scene.units import number
from experiments.study.file import load_study
from sim.errors import InputError, named
from sim.people_files import decimal, text_of
from sim.players import player
from sim.surface import surface
from strategies.catalogue import make_policy, make_shot_model
from strategies.charts.reading import Chart, parse_chart, read_chart

DEMO = resources.files("strategies.charts").joinpath("demo.csv").read_text("utf-8")
ROWS = list(csv.DictReader(io.StringIO(DEMO)))
ANNA = 'name = "Jürgen"\nlevel = "Club-Adult"\nhand = "Left"\n'
CODINGS = ("utf-8", "utf-8-sig", "utf-16", "cp1252")


@pytest.mark.parametrize("coding", CODINGS)
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_a_text_is_read_in_each_coding(coding: str, ends: str) -> None:
    data = ANNA.replace("\n", ends).encode(coding)
    assert text_of(data, "it") == ANNA


@pytest.mark.parametrize(
    "data", [b"\x00\x01\x02", b"\x89PNG\r\n\x1a\n\xff", b"\xff\xfe\x00", b"\x81"]
)
def test_what_is_no_text_is_said_so(data: bytes) -> None:
    with pytest.raises(InputError, match=r"it cannot be read: it is no text.*save it as UTF-8"):
        text_of(data, "it")


@pytest.mark.parametrize("coding", CODINGS)
@pytest.mark.parametrize("name", ["anna.toml", "ANNA.TOML", "Anna.Toml"])
def test_a_player_file_of_any_coding_and_ending_is_one(
    tmp_path: Path, coding: str, name: str
) -> None:
    (tmp_path / name).write_bytes(ANNA.encode(coding))
    me = player_of(str(tmp_path / name))
    assert (me.name, me.base_level, me.hand) == ("Jürgen", "club-adult", "left")


@pytest.mark.parametrize("coding", CODINGS)
def test_studies_and_texts_are_read_by_the_same_reader(tmp_path: Path, coding: str) -> None:
    study, texts = tmp_path / "s.toml", tmp_path / "t.toml"
    study.write_bytes(f"# für\n{TINY}".encode(coding))
    texts.write_bytes('[page]\ntitle = "Für dich"\n'.encode(coding))
    assert load_study(study) == load_study_of(TINY, tmp_path)
    assert texts_of(texts, wordless=False).say("page.title") == "Für dich"


def load_study_of(text: str, folder: Path) -> object:
    (folder / "plain.toml").write_text(text, "utf-8")
    return load_study(folder / "plain.toml")


# --- numbers ----------------------------------------------------------------------------------


def test_a_decimal_comma_is_one_where_it_can_be_nothing_else() -> None:
    def small(v: float) -> bool:
        return 0 <= v <= 10

    assert decimal("1,5", small) == decimal(" 1.5 ", small) == decimal("1,50", small) == 1.5
    assert decimal("1,500", small) == 1.5  # 1500 does not fit
    assert decimal("2,500", lambda v: 0 <= v <= 5000) is None  # 2.5 or 2500?
    assert decimal("0,125", lambda v: True) == 0.125
    for text in ("", ",", "1,2,3", "a", "1_0", "1,5 m", "1.234,5"):
        assert decimal(text, small) is None, text


@pytest.mark.parametrize(
    "text", ["5ft6in", "5'6\"", "5 ft 6 in", "5ft6", "5 feet 6 inches", "5\u20326\u2033"]
)
def test_heights_in_feet_and_inches(text: str) -> None:
    assert number("--height", text, "m", 0.9, 2.4) == pytest.approx(1.6764)


def test_units_with_a_comma() -> None:
    assert number("--height", "1,68", "m", 0.9, 2.4) == 1.68
    assert number("--height", "1,68 m", "m", 0.9, 2.4) == pytest.approx(1.68)
    with pytest.raises(InputError, match="is the comma a decimal one"):
        number("--topspin", "2,500 rpm", "rpm", -5000, 5000)


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (["player", "--forehand-speed", "65"], 'Did you mean "65 km/h"?'),
        (["player", "--backhand-speed", "50"], 'Did you mean "50 km/h"?'),
        (["player", "--height", "168"], 'Did you mean "168 cm"?'),
        (["shot", "--from", "3,-12,1", "--to", "0,6", "--speed", "95"], '"95 km/h"?'),
        (["spot", "--height", "110"], 'Did you mean "110 cm"?'),
    ],
)
def test_a_plain_number_in_another_unit_is_asked_about(words: list[str], asked: str) -> None:
    told = CliRunner().invoke(main, words)
    assert told.exit_code == 2 and asked in told.stderr and "Traceback" not in told.output


def test_a_speed_in_km_h_under_a_name_in_m_s_is_asked_about(tmp_path: Path) -> None:
    path = tmp_path / "p.toml"
    speed = "forehand_speed_m_s = { value = 95, low = 90, high = 99 }"
    path.write_text(f"{ANNA}[hitter]\n{speed}\n", "utf-8")
    with pytest.raises(InputError, match=r'allowed: .* Did you mean "90.0 km/h"'):
        read_player_file(path)


# --- names ------------------------------------------------------------------------------------


def test_capitals_spaces_and_underscores_do_not_matter_in_names() -> None:
    assert surface("Clay") is surface("clay")
    assert player("Club Adult", "LEFT") == player("club-adult", "left")
    assert make_policy("Middle") == make_policy("middle")
    assert make_shot_model("Open_Court") == make_shot_model("open-court")
    assert named("surface", "HARD", ["hard", "clay"]) == "hard"
    with pytest.raises(InputError, match=r"unknown surface 'cly'\. Did you mean 'clay'"):
        surface("cly")
    with pytest.raises(InputError, match="unknown"):
        named("thing", "A", ["a", "_a", "a "])


def test_a_capital_changes_nothing_of_an_answer() -> None:
    words = ["spot", "--player", "professional-man", "--seed", "1", "--balls", "100", "--json"]
    lower, upper = (CliRunner().invoke(main, [*words, "--surface", s]) for s in ("clay", "Clay"))
    assert lower.exit_code == 0 and upper.stdout == lower.stdout


# --- charts -----------------------------------------------------------------------------------


def chart_text(
    separator: str = ",", comma: str = ".", turned: tuple[str, ...] = (), times: int = 1
) -> str:
    """The demo chart, with the sign of some columns turned, each stroke so many times."""

    def cell(name: str, value: str) -> str:
        shown = f"{-float(value):g}" if name in turned and value else value
        return shown.replace(".", comma)

    lines = [separator.join(ROWS[0])]
    lines += [separator.join(cell(k, v) for k, v in row.items()) for row in ROWS * times]
    return "\n".join(lines) + "\n"


def parsed(text: str) -> Chart:
    chart, problems = parse_chart(text, "demo")
    assert not problems, problems
    return chart


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("before", ["", "sep=;\n"])
def test_spreadsheets_with_decimal_commas_are_charts(separator: str, before: str) -> None:
    text = chart_text(separator, ",")
    found = parsed(before.replace(";", separator) + text)
    assert [vars(s) | {"line": 0} for s in found.strokes] == [
        vars(s) | {"line": 0} for s in parsed(DEMO).strokes
    ]


@pytest.mark.parametrize("coding", CODINGS)
def test_charts_are_read_by_the_same_reader(tmp_path: Path, coding: str) -> None:
    (tmp_path / "MINE.CSV").write_bytes(chart_text(";", ",").upper().encode(coding))
    assert read_chart(str(tmp_path / "MINE.CSV")).strokes == parsed(DEMO).strokes


HEAD = "contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,speed_m_s,topspin_rpm\n"


def test_a_chart_with_a_speed_in_another_unit_is_asked_about() -> None:
    _, (problem,) = parse_chart(f"{HEAD}3,12,-3,-9,70,\n", "it")
    assert "allowed: 5 to 55 m/s; another unit? then name the column speed_km_h" in str(problem)
    _, (problem,) = parse_chart(f'{HEAD}3,12,-3,-9,27,"2,500"\n', "it")
    assert "is the comma a decimal one" in str(problem)
    assert parsed(f'{HEAD}3,12,-3,-9,"27,5",2500\n').strokes[0].speed_m_s == 27.5


def test_a_mirrored_chart_is_asked_about() -> None:
    assert list(questions(parsed(DEMO))) == []
    assert [c.name for c in corners(parsed(DEMO))] == ["forehand", "backhand"]
    bounces = parsed(chart_text(turned=("bounce_x_m",), times=2))
    (asked,) = [q for q in questions(bounces) if "forehand" in q]
    usual = "(usual: 12); is that so?"
    assert asked.startswith(f"4 of 18 from the forehand corner go crosscourt {usual}")
    assert f"Question: {asked}" in check_text(bounces)
    whole = parsed(chart_text(turned=("contact_x_m", "bounce_x_m", "receiver_x_m")))
    (asked,) = questions(whole)
    assert "21 of 21 strokes from the corners are on the other wing" in asked
    left = parsed(chart_text(turned=("contact_x_m", "bounce_x_m")).replace(",right", ",left"))
    assert list(questions(left)) == []


def test_the_question_stands_below_the_advice(tmp_path: Path) -> None:
    path = tmp_path / "mirrored.csv"
    path.write_text(chart_text(turned=("bounce_x_m",), times=2), "utf-8")
    words = ["chart", "spot", str(path), "--seed", "1", "--balls", "400", "--resamples", "20"]
    told = CliRunner().invoke(main, words)
    assert told.exit_code == 0 and "Question: 4 of 18" in told.output
