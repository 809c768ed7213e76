"""Player files: what they hold, what is refused, and who plays when a command reads one."""

from __future__ import annotations

import csv
import dataclasses
import json
import tomllib
from pathlib import Path

import pytest
from fixture_folder import pages_of
from tiny_study import TINY, only, run_tiny, without_pages

from experiments.answers.player.answer import Measures, estimate
from experiments.answers.player.words import player_text
from experiments.answers.replay.answer import replay_of_study
from experiments.report.page import write_report
from experiments.scene.people import players_of, waiting_depth_m
from experiments.scene.player_file import (
    name_of,
    opponent_of,
    player_of,
    player_toml,
    read_player_file,
    write_player_file,
)
from experiments.scene.player_schema import PlayerFile
from experiments.study.design import Study
from experiments.study.file import load_study
from experiments.study.parameter_draws import draw_sets
from experiments.study.plan import plan_text
from sim.errors import InputError
from sim.players import PLAYERS, player, player_parameters
from sim.world import World

STRANGE = "Änne <script>alert('$x_1$')</script> | \"a\", ../b"
ANNA = """
name = "Anna"
level = "college-man"
hand = "left"
backhand = "one-handed"

[legs]
top_speed_m_s = { value = 6.4, low = 6.1, high = 6.7 }
tau_s = { value = 1, low = 0.9, high = 1.1 }

[hitter]
forehand_speed_m_s = { value = 25.0, low = 24.0, high = 26.0 }

[repertoire]
slice_share = { value = 0.4, low = 0.3, high = 0.5 }

[waiting]
waits_behind_m = { value = 0.9, low = 0.6, high = 1.2 }
"""


def measured(name: str = "Anna", **more: object) -> PlayerFile:
    values = {"sprints": {5.0: [1.25], 10.0: [2.05, 2.09], 20.0: [3.6]}, "height_m": 1.7, **more}
    return estimate(Measures(name, "college-man", hand="left", **values)).file  # type: ignore[arg-type]


@pytest.fixture
def anna(tmp_path: Path) -> str:
    path = tmp_path / "anna.toml"
    path.write_text(ANNA, "utf-8")
    return str(path)


@pytest.mark.parametrize("name", ["Anna", STRANGE])
def test_a_written_file_reads_back_equal(tmp_path: Path, name: str) -> None:
    file = measured(name, shuttles={4.0: [2.9]}, forehand_speed_m_s=25.0, waits_behind_m=0.1)
    path = tmp_path / "p.toml"
    write_player_file(file, path)
    assert read_player_file(path) == file
    assert tomllib.loads(player_toml(file))["name"] == name
    assert [p.name for p in tmp_path.iterdir()] == ["p.toml"]
    assert file.measured.sprints[1].times_s == (2.05, 2.09)
    assert file.waiting["waits_behind_m"].low == 0.0


def test_a_file_is_not_replaced_unless_asked(tmp_path: Path) -> None:
    path = tmp_path / "p.toml"
    write_player_file(measured(), path)
    before = path.read_bytes()
    with pytest.raises(InputError, match="is there already"):
        write_player_file(measured("Berta"), path)
    assert path.read_bytes() == before
    write_player_file(measured("Berta"), path, overwrite=True)
    assert name_of(str(path)) == "Berta"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_place_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot write .* choose another place"):
        write_player_file(measured(), tmp_path / "no" / "p.toml")
    with pytest.raises(InputError, match=r"must end in \.toml"):
        write_player_file(measured(), tmp_path / "p.txt")
    assert list(tmp_path.iterdir()) == []


def test_the_player_of_a_file_is_the_level_with_what_was_measured(anna: str) -> None:
    me, base = player_of(anna), PLAYERS["college-man"]
    assert (me.name, me.base_level, me.hand) == ("Anna", "college-man", "left")
    assert (me.legs.top_speed_m_s, me.legs.tau_s, me.waits_behind_m) == (6.4, 1.0, 0.9)
    assert not me.legs.two_handed_backhand
    assert me.hitter.forehand_speed_m_s == 25.0
    assert me.hitter.backhand_speed_m_s == base.hitter.backhand_speed_m_s
    assert me.legs.reaction_s == base.legs.reaction_s


def test_measured_ranges_are_what_is_drawn(anna: str) -> None:
    me = player_of(anna)
    rows = {row.name: row for row in player_parameters(me)}
    level = {row.name: row for row in player_parameters(player("college-man"))}
    assert (rows["top_speed_m_s"].low, rows["top_speed_m_s"].high) == (6.1, 6.7)
    assert rows["top_speed_m_s"].status == "measured"
    for name in ("reaction_s", "backhand_speed_m_s", "depth_sd_m"):
        assert (rows[name].low, rows[name].high) == (level[name].low, level[name].high)
        assert rows[name].status == level[name].status
    sets = draw_sets((me,), World(), 64, 1, only=["top_speed_m_s", "waits_behind_m"])
    speeds = [s.players[0].legs.top_speed_m_s for s in sets]
    assert 6.1 <= min(speeds) < 6.15 and 6.65 < max(speeds) <= 6.7
    assert {s.players[0].legs.tau_s for s in sets} == {1.0}


def test_the_hand_is_the_files_own(anna: str) -> None:
    assert player_of(anna, "left") == player_of(anna)
    with pytest.raises(InputError, match="says left-handed and 'right' was asked for"):
        player_of(anna, "right")
    assert player_of("club-adult").hand == "right"
    assert player_of("club-adult", "left") == player("club-adult", "left")
    with pytest.raises(InputError, match="hand is ''"):
        player_of("club-adult", "")


def test_an_opponent_who_is_not_named_is_one_like_the_player(anna: str) -> None:
    me, other = players_of(anna)
    assert other == opponent_of(anna) and other.name == "like Anna"
    assert other.hitter == me.hitter and other.waits_behind_m == me.waits_behind_m
    assert me.hand == "left" and other.hand == "right"
    assert other.legs == me.with_hand("right").legs
    assert opponent_of(anna, "left").legs == me.legs
    assert other.base_level == "college-man"
    with pytest.raises(InputError, match="'right' or 'left'"):
        opponent_of(anna, "both")
    assert players_of("college-man")[1] == player("college-man")
    assert players_of("club-adult", anna)[1] == player_of(anna)
    assert players_of("club-adult", None, "left", "left")[1] == player("club-adult", "left")


def test_a_measured_waiting_depth_holds_on_clay_too(tmp_path: Path, anna: str) -> None:
    text = ANNA.replace("college-man", "professional-man")
    (tmp_path / "p.toml").write_text(text)
    (tmp_path / "q.toml").write_text(text[: text.index("[waiting]")])
    assert waiting_depth_m(player_of(str(tmp_path / "p.toml")), "clay") == 0.9
    assert waiting_depth_m(player_of(str(tmp_path / "q.toml")), "clay") == waiting_depth_m(
        player("professional-man"), "clay"
    )


WRONG = {
    'name = "Anna"': ("", "the key 'name' is missing"),
    'level = "college-man"': ('level = "colege-man"', "Did you mean 'college-man'"),
    'hand = "left"': ('hnad = "left"', "unknown key 'hnad'. Did you mean 'hand'"),
    'backhand = "one-handed"': ('backhand = "three-handed"', "backhand: .*'one-handed'"),
    "top_speed_m_s": ("top_sped_m_s", "unknown parameter 'top_sped_m_s'. Did you mean 'top_speed"),
    "value = 6.4": ("value = 64.0", "value 64, high 6.7; they must stand in this order"),
    "value = 6.4, low = 6.1, high = 6.7": (
        "value = 64.0, low = 61.0, high = 67.0",
        "top_speed_m_s is 61 m/s; allowed: 1.05 to 12.8 m/s",
    ),
    "low = 6.1": ('low = "fast"', r"legs.top_speed_m_s.low: .*number .*given: 'fast'"),
    "low = 6.1, ": ("low = 6.1, hihg = 7.0, ", "unknown key 'hihg'. Did you mean 'high'"),
    "low = 0.6": ("low = nan", "waits_behind_m.low: .*finite"),
    "tau_s = { value = 1, low = 0.9, high = 1.1 }": (
        "tau_s = 0.9",
        r"legs.tau_s is 0.9; give a value with its range, such as \{ value",
    ),
    "[hitter]": ("[hiter]", "unknown key 'hiter'. Did you mean 'hitter'"),
    "[legs]": ("[legs", "is not valid TOML: .*line 7"),
    "tau_s = { value = 1, low = 0.9, high = 1.1 }\n": (
        "comfortable_reach_m = { value = 1.3, low = 1.3, high = 1.3 }\n"
        "full_reach_m = { value = 1.2, low = 1.2, high = 1.2 }\n",
        "a comfortable reach below the full one",
    ),
    "Anna": ("college-man", "is the name of a level"),
    'name = "Anna"\n': ('name = "A\\u001b[2J"\n', "control character"),
}


@pytest.mark.parametrize(("right", "wrong", "message"), [(k, *v) for k, v in WRONG.items()])
def test_mistakes_are_named(anna: str, right: str, wrong: str, message: str) -> None:
    assert right in ANNA
    Path(anna).write_text(ANNA.replace(right, wrong, 1))
    with pytest.raises(InputError, match=message) as caught:
        player_of(anna)
    assert anna in str(caught.value)


def test_files_that_are_none_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"does not exist; check the path"):
        player_of(str(tmp_path / "none.toml"))
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="cannot be read"):
        player_of(str(tmp_path / "bytes.toml"))
    (tmp_path / "long.toml").write_text("#" * 200_000)
    with pytest.raises(InputError, match="too much for such a file"):
        player_of(str(tmp_path / "long.toml"))
    (tmp_path / "zero.toml").write_text(
        f"{ANNA}[measured]\nsprints = [{{ distance_m = 5, times_s = [0] }}]\n"
    )
    with pytest.raises(InputError, match="greater than 0") as caught:
        player_of(str(tmp_path / "zero.toml"))
    assert "at least 1 item" not in str(caught.value)
    with pytest.raises(InputError, match=r"unknown player 'anna'.*Or a player file"):
        player_of("anna")


def study_with(folder: Path, **more: str) -> Study:
    """The tiny study with a measured player of a strange name beside a level."""
    write_player_file(measured(STRANGE), folder / "mine.toml", overwrite=True)
    text = TINY.replace('["club-adult"]', '["club-adult", "mine.toml"]')
    (folder / "study.toml").write_text(text)
    return load_study(folder / "study.toml")


def test_a_study_plays_a_measured_player_against_one_like_that_player(tmp_path: Path) -> None:
    study = study_with(tmp_path)
    assert study.level_names() == ["club-adult", STRANGE]
    game = study.game(study.level_text(STRANGE), "habit", "middle", 1)
    assert game.studied.player == player_of(str(tmp_path / "mine.toml"))
    assert game.studied.player.hand == "left"
    assert game.opponent.player == opponent_of(str(tmp_path / "mine.toml"))
    assert study.game("club-adult", "habit", "middle", 1).studied.player == player("club-adult")


def test_two_players_of_one_name_are_refused(tmp_path: Path) -> None:
    study_with(tmp_path)
    write_player_file(measured(STRANGE), tmp_path / "other.toml")
    text = TINY.replace('["club-adult"]', '["other.toml", "mine.toml"]')
    (tmp_path / "study.toml").write_text(text)
    with pytest.raises(InputError, match="stands twice"):
        load_study(tmp_path / "study.toml")


def test_choices_take_a_player_file_of_the_study(tmp_path: Path) -> None:
    study_with(tmp_path)
    choices = '[choices]\nlevel = "LEVEL.toml"\nopponent = "habit"\nplace = "corner"\n'
    text = (tmp_path / "study.toml").read_text()
    (tmp_path / "study.toml").write_text(text + choices.replace("LEVEL", "mine"))
    study = load_study(tmp_path / "study.toml")
    assert study.choices and study.choices.level == study.levels[1]
    write_player_file(measured(STRANGE, height_m=1.9), tmp_path / "other.toml")
    (tmp_path / "study.toml").write_text(text + choices.replace("LEVEL", "other"))
    with pytest.raises(InputError, match="has the name of another one"):
        load_study(tmp_path / "study.toml")


def test_factors_vary_over_the_measured_range(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Labels of points are the player's name, and the range is that of the file."""
    without_pages(monkeypatch)
    study = study_with(tmp_path)
    speed = {"name": "legs.top_speed_m_s", "of": "studied"}
    factors = {"design": "one-at-a-time", "outcomes": ["missed_per_100"], "vary": [speed]}
    asked = only("placed", levels=[study.levels[1]], factors=factors)
    assert "Änne" in plan_text(asked, 1)
    out = run_tiny(asked, tmp_path / "out")
    points, designed = (
        list(csv.DictReader((out / f"{name}.csv").open(newline="", encoding="utf-8")))
        for name in ("points", "designed")
    )
    measured_range = measured(STRANGE).legs["top_speed_m_s"]
    speeds = [float(row["studied legs.top_speed_m_s"]) for row in points]
    assert speeds == pytest.approx([measured_range.low, measured_range.high], abs=1e-4)
    assert {row["level"] for row in (*points, *designed)} == {STRANGE}


def test_a_study_with_a_player_file_can_be_run_again_from_its_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study = study_with(tmp_path)
    with monkeypatch.context() as patch:
        without_pages(patch)
        small = {"opponents": ["habit"], "policies": ["middle", "bisector"]}
        first = run_tiny(only("rally", levels=list(study.levels), **small), tmp_path / "first")
        (tmp_path / "mine.toml").unlink()  # the folder has a copy
        second = run_tiny(load_study(first / "study.toml"), tmp_path / "second")
    for name in ("cells.csv", "summary.json", "study.toml", "own/mine.toml"):
        assert (first / name).read_bytes() == (second / name).read_bytes(), name
    manifest = json.loads((first / "manifest.json").read_text())
    assert manifest["measured_players"] == {
        STRANGE: {
            "file": "own/mine.toml",
            "opponent_player": f"like {STRANGE}",
            "opponent_hand": "right",
            "opponent_forehand_km_h": 112.0,
            "opponent_backhand_km_h": 103.0,
        }
    }
    assert list(manifest["own_policies"]) == ["own/mine.toml"]
    with (first / "cells.csv").open(newline="", encoding="utf-8") as stream:
        assert {row["level"] for row in csv.DictReader(stream)} == {"club-adult", STRANGE}
    replay = replay_of_study(first, 0, None, STRANGE, None, None, None)
    assert replay.game.studied.player.name == STRANGE
    write_report(first)
    page = pages_of(first)
    assert "<script" not in page and "Änne &lt;script&gt;" in page
    assert "6.9" in page and "measured" in page
    assert "forehand 112 km/h, backhand 103 km/h" in page


def test_a_file_holds_what_a_player_plays_beside_the_drive(tmp_path: Path, anna: str) -> None:
    me, level = player_of(anna), player("college-man")
    assert me.hitter.repertoire == dataclasses.replace(level.hitter.repertoire, slice_share=0.4)
    (row,) = (r for r in player_parameters(me) if r.name == "slice_share")
    assert (row.low, row.high, row.status) == (0.3, 0.5, "measured")
    file = read_player_file(Path(anna))
    again = tmp_path / "again.toml"
    write_player_file(file, again)
    assert read_player_file(again) == file
    Path(anna).write_text(ANNA.replace("slice_share", "slise_share"), "utf-8")
    with pytest.raises(InputError, match=r"repertoire.*Did you mean 'slice_share'"):
        player_of(anna)


@pytest.mark.parametrize("level", ["under-12", "club-woman", "professional-man"])
def test_the_wing_that_was_not_told_keeps_the_level_s_ratio(level: str) -> None:
    """Else who told a hard forehand alone would be met with the level's backhand."""
    usual = player(level).hitter
    faster = 1.2 * usual.forehand_speed_m_s
    found = estimate(Measures("Mia", level, forehand_speed_m_s=faster))
    backhand = found.file.hitter["backhand_speed_m_s"]
    assert backhand.value == pytest.approx(1.2 * usual.backhand_speed_m_s, abs=1e-3)
    assert backhand.high - backhand.low == pytest.approx(0.2 * backhand.value, abs=1e-3)
    assert "usual backhand was not told" in " ".join(player_text(found, None).split())
    both = Measures("Mia", level, forehand_speed_m_s=faster, backhand_speed_m_s=20.0)
    assert estimate(both).file.hitter["backhand_speed_m_s"].value == 20.0
    assert "was not told" not in player_text(estimate(both), None)
    assert not estimate(Measures("Mia", level, height_m=1.7)).file.hitter
