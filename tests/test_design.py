"""Study files: what is read, what is refused and how the message helps."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import numpy as np
import pytest
from random_situations import recovery_situation, shot_situation
from tiny_study import OWN_POLICY, TINY, tiny_study

from experiments.answers.chart.demo import demo_chart
from experiments.scene.own_code import located, policy_of, shot_model_of, split_own
from experiments.study.design import OWN_STROKES, USUAL, Study
from experiments.study.file import load_study, parse_study
from experiments.study.provenance import map_files, own_policy_files
from sim.contracts import PerRally, intents_of
from sim.errors import InputError
from strategies.catalogue import SHOT_MODELS


def refused(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_study(text, "study file 'mine.toml'")
    message = str(caught.value)
    assert message.startswith("study file 'mine.toml'")
    assert "\n" not in message and "pydantic" not in message
    return message


def changed(old: str, new: str) -> str:
    assert old in TINY
    return TINY.replace(old, new, 1)


def top(line: str) -> str:
    """The tiny study with one more line at the top level."""
    return line + "\n" + TINY


def test_the_bundled_main_study_holds_what_it_promises() -> None:
    study = load_study()
    assert set(study.settings) == set(USUAL) and set(study.own_strokes) == set(OWN_STROKES)
    assert study.levels == ("club-adult", "college-man", "professional-man")
    assert set(study.opponents) == {"any-allowed", "habit", "pressing", "open-court"}
    assert [p.name for p in study.places] == ["middle", "corner", "wide", "short wide"]
    assert study.placed_balls >= 2000 and study.recovery_balls >= 2000
    shown = [policy_of(p).name for p in study.policies]
    assert {"middle", "stay", "bisector", "time-balanced"} <= set(shown)
    assert [s for s in shown if s.startswith("linear-shade")] == [
        f"linear-shade 0.{k}0" for k in range(1, 7)
    ]


@pytest.mark.parametrize("study", [load_study(), tiny_study(), tiny_study(seed=2**63 - 1)])
def test_toml_reads_back_to_an_equal_study(study: Study) -> None:
    assert parse_study(study.toml(), "copy") == study


def test_toml_keeps_awkward_text_and_numbers() -> None:
    places = [{"name": 'the "é" \\ corner', "x_m": 0.1 + 0.2, "y_m": 12, "z_m": 1e-1}]
    study = tiny_study(places=places, title="one\ntwo\t'three'", limits={"least_in": 2 / 3})
    again = parse_study(study.toml(), "copy")
    assert again == study
    assert again.places[0].x_m == 0.1 + 0.2 and again.limits["least_in"] == 2 / 3


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (top('levles = ["club-adult"]'), ["unknown key 'levles'", "Did you mean 'levels'"]),
        (
            changed("x_m = 3.115", "x_m = 3.115\nheight = 1.0"),
            ["places.1.height", "unknown key", "Valid: name, x_m, y_m, z_m"],
        ),
        (top('placed = "yes"'), ["unknown key 'placed'", "Did you mean 'places'"]),
        (changed('levels = ["club-adult"]', ""), ["'levels' is missing"]),
        (changed("x_m = 3.115\n", ""), ["'places.1.x_m' is missing"]),
    ],
)
def test_a_key_that_is_wrong_is_named(text: str, parts: list[str]) -> None:
    message = refused(text)
    for part in parts:
        assert part in message


@pytest.mark.parametrize(
    ("text", "key", "what"),
    [
        (changed("rallies = 12", 'rallies = "many"'), "rallies", "integer"),
        (changed("rallies = 12", "rallies = 12.5"), "rallies", "integer"),
        (changed("rallies = 12", "rallies = true"), "rallies", "integer"),
        (changed('levels = ["club-adult"]', 'levels = "club-adult"'), "levels", "list"),
        (changed('levels = ["club-adult"]', "levels = [3]"), "levels.0", "text"),
        (changed('title = "A tiny study"', "title = 7"), "title", "text"),
        (changed("x_m = 3.115", 'x_m = "3.115"'), "places.1.x_m", "number"),
        (changed("x_m = 3.115", "x_m = true"), "places.1.x_m", "number"),
        (top('depth_m = "deep"'), "depth_m", "number"),
        (top("limits = 3"), "limits", "table"),
        (top('seed = "7"'), "seed", "integer"),
    ],
)
def test_a_value_of_the_wrong_type_is_named_with_its_key(text: str, key: str, what: str) -> None:
    message = refused(text)
    assert re.search(rf"(: |; ){re.escape(key)}: ", message) and what in message
    assert "given: " in message and "tuple" not in message


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("levels = [", 1),
        (TINY + "\nrallies = = 3\n", TINY.count("\n") + 2),
        ('title = "one"\nwidth : 3\n', 2),
        ("rallies = 12\nrallies = 13\n", 2),
    ],
)
def test_a_file_that_is_not_toml_is_refused_with_the_line(text: str, line: int) -> None:
    message = refused(text)
    assert "not valid TOML" in message
    assert f"line {line}," in message or "end of document" in message


@pytest.mark.parametrize(
    ("text", "kind", "near"),
    [
        (changed('"bisector"', '"bisektor"'), "recovery policy 'bisektor'", "bisector"),
        (changed('"habit"', '"habbit"'), "shot model 'habbit'", "habit"),
        (top('own_shots = "presing"'), "shot model 'presing'", "pressing"),
        (top('opponent_policy = "midle"'), "recovery policy 'midle'", "middle"),
        (changed('"club-adult"', '"club-adlt"'), "player 'club-adlt'", "club-adult"),
        (top('surface = "gras"'), "surface 'gras'", "grass"),
        (top('settings = ["placd"]'), "setting 'placd'", "placed"),
        (changed('"crosscourt"', '"crosscut"'), "own stroke 'crosscut'", "crosscourt"),
        (top('rule = "balancd"'), "meeting rule 'balancd'", "balanced"),
        (
            top("limits = { least = 0.3 }"),
            "limit of the drives 'least'",
            "least_in",
        ),
    ],
)
def test_an_unknown_name_gets_the_nearest_match(text: str, kind: str, near: str) -> None:
    message = refused(text)
    assert f"unknown {kind}" in message
    assert f"Did you mean '{near}'" in message and "Valid: " in message


@pytest.mark.parametrize("bad", ["nan", "inf", "-inf"])
@pytest.mark.parametrize("where", ["x_m", "depth_m", "limits", "z_m"])
def test_numbers_that_are_not_finite_are_refused(bad: str, where: str) -> None:
    text = {
        "x_m": changed("x_m = 3.115", f"x_m = {bad}"),
        "z_m": changed("x_m = 3.115", f"x_m = 3.115\nz_m = {bad}"),
        "depth_m": top(f"depth_m = {bad}"),
        "limits": top(f"limits = {{ least_in = {bad} }}"),
    }[where]
    message = refused(text)
    assert where in message and "finite" in message


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (top("depth_m = -0.5"), ["depth_m", "greater than or equal to 0", "-0.5"]),
        (top("depth_m = 9"), ["depth_m", "6.4"]),
        (top("limits = { least_in = -0.2 }"), ["least_in", "not negative"]),
        (top("seed = -1"), ["seed", "-1"]),
        (changed("x_m = 3.115\ny_m = 11.885", "x_m = 3.115\ny_m = -11.885"), ["far side", "y"]),
        (changed("x_m = 3.115", "x_m = 31.15"), ["places.1", "contact place x", "-10 to 10"]),
        (changed("x_m = 3.115", "x_m = 3.115\nz_m = 4.5"), ["contact height", "0.1 to 3.2"]),
        (changed("placed_balls = 40", "placed_balls = 9"), ["placed_balls", "10", "9"]),
        (changed("recovery_balls = 40", "recovery_balls = 0"), ["recovery_balls", "10"]),
        (changed("rallies = 12", "rallies = -12"), ["rallies", "10"]),
        (top("stroke_limit = 1"), ["stroke_limit", "2"]),
        (changed("stroke_rows_per_cell = 5", "stroke_rows_per_cell = -5"), ["stroke_rows_per"]),
        (changed("=0.2", "=-0.2"), ["shade_m_per_m", "not negative"]),
        (changed("=0.2", "=wide"), ["shade_m_per_m", "'wide'", "number"]),
        (changed("shade_m_per_m=0.2", "shade=0.2"), ["'shade'", "shade_m_per_m"]),
        (top('hand = "both"'), ["hand", "'both'", "'left'"]),
        (top("settings = []"), ["settings", "at least 1"]),
        (changed('["crosscourt", "middle"]', "[]"), ["own_strokes", "at least 1"]),
        (changed('name = "corner"', 'name = ""'), ["places.1.name", "at least 1"]),
        (changed('name = "corner"', 'name = "all places"'), ["'all places'", "choose another"]),
    ],
)
def test_impossible_values_are_refused(text: str, parts: list[str]) -> None:
    message = refused(text)
    for part in parts:
        assert part in message


@pytest.mark.parametrize(
    ("text", "twice"),
    [
        (changed('["middle", "stay"', '["middle", "middle", "stay"'), "'middle'"),
        (changed('"habit", "open-court"', '"habit", "habit"'), "'habit'"),
        (changed('["club-adult"]', '["club-adult", "club-adult"]'), "'club-adult'"),
        (changed('name = "corner"', 'name = "middle"'), "'middle'"),
        (changed('"crosscourt", "middle"', '"middle", "middle"'), "'middle'"),
        (top('settings = ["rally", "rally"]'), "'rally'"),
        # Other words, the same display name: their cells could not be told apart.
        (changed('"stay"', '"linear-shade"'), "'linear-shade 0.20'"),
        (changed('"stay"', '"linear-shade,shade_m_per_m=0.2001"'), "'linear-shade 0.20'"),
        (changed('"open-court"', '"habit,margin_share=1.0"'), "'habit'"),
    ],
)
def test_a_name_given_twice_is_refused(text: str, twice: str) -> None:
    message = refused(text)
    assert f"{twice} stands twice" in message


def test_the_reference_must_be_there_and_have_a_spot() -> None:
    assert "add it" in refused(top('reference = "time-balanced"'))
    assert "'stay' has no spot in the setting 'placed'" in refused(top('reference = "stay"'))
    assert tiny_study(reference="stay", settings=["rally"]).reference == "stay"


def test_several_slips_are_told_at_once() -> None:
    text = changed("rallies = 12", "rallies = 2").replace("placed_balls = 40", "placed_balls = 2")
    message = refused(text)
    assert "rallies: " in message and "placed_balls: " in message


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="does not exist"):
        load_study(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a folder; give a file"):
        load_study(tmp_path)
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="cannot be read"):
        load_study(tmp_path / "bytes.toml")


# --- a user's own files ---------------------------------------------------------------------


def own_study(folder: Path, text: str = OWN_POLICY, words: str = "slow.py:Slow") -> Path:
    (folder / "slow.py").write_text(text)
    path = folder / "mine.toml"
    path.write_text(changed('"bisector"', f'"{words}"'))
    return path


def test_own_files_are_found_beside_the_study_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = own_study(tmp_path)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    study = load_study(path)
    assert policy_of(study.policies[2]).name == "a step over -0.7"
    (tmp_path / "slow.py").unlink()
    with pytest.raises(InputError, match="no file"):
        load_study(path)


def test_a_relative_study_path_will_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own_study(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert load_study(Path("mine.toml")).policies[2] == "slow.py:Slow"


def test_an_absolute_own_file_stays(tmp_path: Path) -> None:
    path = own_study(tmp_path, words=f"{(tmp_path / 'slow.py').as_posix()}:Slow")
    assert split_own(load_study(path).policies[2])[0] == tmp_path / "slow.py"


def test_a_bad_own_file_is_refused_when_the_study_is_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"slow\.py, line 3: SyntaxError"):
        load_study(own_study(tmp_path, "x = 1\n\ndef broken(:\n"))
    with pytest.raises(InputError, match="Did you mean 'Slow'"):
        load_study(own_study(tmp_path, words="slow.py:Slo"))
    with pytest.raises(InputError, match="is no recovery policy"):
        load_study(own_study(tmp_path, "Slow = 3\n"))


def test_own_files_are_copied_hashed_and_named_relative_to_the_folder(tmp_path: Path) -> None:
    study = load_study(own_study(tmp_path, words="slow.py:Slow,shift_m=-0.4"))
    out = tmp_path / "out"
    out.mkdir()
    copied, hashes = own_policy_files(study, out)
    assert copied.policies[2] == "own/slow.py:Slow,shift_m=-0.4"
    assert (out / "own" / "slow.py").read_text() == OWN_POLICY
    assert hashes == {"own/slow.py": hashlib.sha256(OWN_POLICY.encode()).hexdigest()}
    # Read from the folder, the study is the one that ran there, and copies to the same again.
    (out / "study.toml").write_text(copied.toml())
    again = load_study(out / "study.toml")
    assert again == map_files(copied, lambda file: str(out / file))
    assert own_policy_files(again, tmp_path / "out") == (copied, hashes)


def test_own_files_of_one_name_get_copies_of_their_own(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        shift = "-0.7" if folder == "one" else "-0.9"
        (tmp_path / folder / "slow.py").write_text(OWN_POLICY.replace("-0.7", shift))
    study = tiny_study(
        policies=["middle", f"{tmp_path}/one/slow.py:Slow", f"{tmp_path}/two/slow.py:Slow"],
        reference=f"{tmp_path}/two/slow.py:Slow",
        settings=["placed"],
    )
    copied, hashes = own_policy_files(study, tmp_path)
    assert len(hashes) == 2 and len(set(hashes.values())) == 2
    assert copied.reference == copied.policies[2] != copied.policies[1]
    names = [policy_of(located(p, tmp_path)).name for p in copied.policies[1:]]
    assert names == ["a step over -0.7", "a step over -0.9"]


@pytest.mark.parametrize(
    ("text", "file", "rest"),
    [
        ("middle", None, "middle"),
        ("linear-shade,shade_m_per_m=0.1", None, "linear-shade,shade_m_per_m=0.1"),
        ("a/b.py:Name", "a/b.py", "Name"),
        ("a/b.py:Name,shift_m=1,way=x:y", "a/b.py", "Name,shift_m=1,way=x:y"),
    ],
)
def test_own_names_are_split(text: str, file: str | None, rest: str) -> None:
    found, name = split_own(text)
    assert (found and found.as_posix(), name) == (file, rest)


def test_charts_are_found_beside_the_study_and_copied_like_code(tmp_path: Path) -> None:
    chart, words = demo_chart(), "charted,chart=seen.csv,prior_strokes=4"
    (tmp_path / "seen.csv").write_text(chart, "utf-8")
    text = TINY.replace('"habit"', f'"{words}", "charted,chart=demo"')
    text = text.replace('"stay"', '"best-for-belief, chart = seen.csv"')
    (tmp_path / "mine.toml").write_text(text, "utf-8")
    study, out = load_study(tmp_path / "mine.toml"), tmp_path / "out"
    out.mkdir()
    copied, hashes = own_policy_files(study, out)
    assert copied.opponents[:2] == (words.replace("seen", "own/seen"), "charted,chart=demo")
    assert hashes == {"own/seen.csv": hashlib.sha256(chart.encode()).hexdigest()}
    (out / "study.toml").write_text(copied.toml())
    again = load_study(out / "study.toml")
    assert own_policy_files(again, out) == (copied, hashes)
    names = [policy_of(s.policies[1]).name for s in (study, again)]
    assert names == ["best-for-belief chart=seen"] * 2


WRONG_ANSWERS = {
    "np.full((len(seen), 2), np.nan)": "cannot be stood on",
    "np.full((len(seen), 2), 3.0)": "y, negative",
    "np.zeros((len(seen), 4))": "shape",
    "1 / 0": "line 18: ZeroDivisionError",
    "'middle'": "no plain numbers",
}


@pytest.mark.parametrize(("answer", "message"), WRONG_ANSWERS.items())
def test_mistakes_of_an_own_policy_become_messages(
    tmp_path: Path, answer: str, message: str
) -> None:
    head = OWN_POLICY[: OWN_POLICY.index("return np.stack")]
    (tmp_path / "slow.py").write_text(f"{head}return {answer}\n")
    with pytest.raises(InputError, match=message) as caught:
        policy_of(f"{tmp_path}/slow.py:Slow").spots(recovery_situation())
    assert "slow.py:Slow" in str(caught.value)


OWN_SHOTS = """
from sim.contracts import intents_of
from strategies.shots.habit import Habit

class Mine:
    name, draws, sees_receiver = "mine", 0, True

    def intents(self, seen, chance):
        n = len(seen)
        return ANSWER
"""
WRONG_INTENTS = {
    "intents_of([0.0] * n, [8.0] * n, [float('nan')] * n, 200.0)": "speed_m_s .* nan; allowed",
    "intents_of([0.0] * n, [-8.0] * n, [25.0] * n, 200.0)": "beyond the net",
    "[1.0] * n": "INTENT records",
    "seen.nothing": "line 10: AttributeError",
}


@pytest.mark.parametrize(("answer", "message"), WRONG_INTENTS.items())
def test_mistakes_of_an_own_shot_model_become_messages(
    tmp_path: Path, answer: str, message: str
) -> None:
    (tmp_path / "mine.py").write_text(OWN_SHOTS.replace("ANSWER", answer))
    seen = shot_situation()
    with pytest.raises(InputError, match=message):
        shot_model_of(f"{tmp_path}/mine.py:Mine").intents(seen, np.zeros((len(seen), 0)))


def test_own_code_that_is_right_answers_unchanged(tmp_path: Path) -> None:
    (tmp_path / "mine.py").write_text(
        OWN_POLICY
        + OWN_SHOTS.replace("ANSWER", "intents_of([0.0] * n, [8.0] * n, [25.0] * n, 200.0)")
    )
    seen = recovery_situation()
    spots = policy_of(f"{tmp_path}/mine.py:Slow").spots(seen)
    alone = PerRally("same", lambda one: (-0.7, -13.0)).spots(seen)
    assert np.array_equal(spots, alone)
    shots = shot_model_of(f"{tmp_path}/mine.py:Mine")
    assert (shots.name, shots.draws, shots.sees_receiver) == ("mine", 0, True)
    n = len(shot_situation())
    want = intents_of(np.zeros(n), np.full(n, 8.0), np.full(n, 25.0), np.full(n, 200.0))
    assert np.array_equal(shots.intents(shot_situation(), np.zeros((n, 0))), want)


def test_catalogue_names_are_not_wrapped() -> None:
    assert {name: type(shot_model_of(name)) for name in SHOT_MODELS} == dict(SHOT_MODELS)
