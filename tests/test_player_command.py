"""`rally-recovery player`, and the commands that take its file."""

from __future__ import annotations

import dataclasses
import json
import tomllib
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.answers.player.legs_range import legs_range, measured_legs, shares_of_legs
from experiments.answers.spot.answer import find_spot
from experiments.command.main import main
from experiments.scene.scene import Scene, scene_of

TIMES = ("--sprint", "5:1.25", "--sprint", "10 m: 2.05 s", "--sprint", "10:2.09")
LONG = ("--sprint", "20:3.6", "--shuttle", "4:2.9")
ME = ("--name", "Zoë", "--level", "college-man", "--hand", "left")


def printed(*arguments: str | Path) -> str:
    """What a command that succeeds prints."""
    done = CliRunner().invoke(main, [str(a) for a in arguments])
    assert done.exit_code == 0, done.output
    return done.stdout


def refused(*arguments: str | Path) -> str:
    """The one message of a command that refuses its input."""
    done = CliRunner().invoke(main, [str(a) for a in arguments])
    assert (done.exit_code, done.stdout) == (2, ""), done.output
    assert done.stderr.count("Error: ") == 1 and "Traceback" not in done.stderr
    return done.stderr


@pytest.fixture
def zoe(tmp_path: Path) -> Path:
    path = tmp_path / "zoe file.toml"
    printed("player", path, *ME, *TIMES, *LONG, "--height", "5.5 ft")
    return path


def test_the_page_says_what_was_measured_what_follows_and_what_is_left_open(
    tmp_path: Path,
) -> None:
    path = tmp_path / "z.toml"
    page = printed("player", path, *ME, *TIMES, *LONG, "--height", "1.7")
    for words in (
        "Zoë, left-handed, two-handed backhand; level college-man",
        "sprint 10 m in 2.05 2.09 s",
        "0.2 to 0.3 s after the push-off",
        "top sprint speed",
        "90 % range",
        "The shuttle leaves",
        "Not measured, so as the level has it: reaction time",
        "elite-junior",
        "Warm up",
        "stop on any pain",
        "physician",
        "Children",
        f"spot --player {path}",
    ):
        assert words in " ".join(page.split()), words
    assert all(len(line) <= 100 for line in page.splitlines() if str(path) not in line)


def test_one_distance_says_that_it_cannot_tell_speed_from_quickness() -> None:
    page = printed("player", "--sprint", "10:2.05")
    assert "One distance cannot tell" in page and "Nothing was written" in page
    assert "One distance" not in printed("player", *TIMES)


def test_a_wrong_level_is_pointed_out() -> None:
    quick = ("--sprint", "5:1.0", "--sprint", "10:1.68", "--sprint", "20:2.94")
    assert "is club-adult the right level?" in printed("player", *quick)
    assert "right level?" not in printed("player", *quick, "--level", "professional-man")


def test_json_holds_the_file_and_the_comparison(zoe: Path) -> None:
    found = json.loads(printed("player", *ME, *TIMES, *LONG, "--height", "5.5 ft", "--json"))
    table = tomllib.loads(zoe.read_text("utf-8"))
    assert found["legs"] == table["legs"]
    assert found["measured"]["height_m"] == pytest.approx(1.6764)
    assert found["run_time_s"]["low"] < found["run_time_s"]["value"] < found["run_time_s"]["high"]
    shares = [level["share_of_evidence"] for level in found["levels"].values()]
    assert sum(shares) == pytest.approx(1.0, abs=1e-3)
    assert 0 < found["braking_range_left"] < 1


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "nothing was measured"),
        (("--sprint", "10"), "give METRES:SECONDS"),
        (("--sprint", "10:fast"), "time of --sprint is 'fast'"),
        (("--sprint", "10 kg:2"), "distance of --sprint is '10 kg'"),
        (("--sprint", "10:-2"), "from 0.1 to 60 s"),
        (("--sprint", "10:2", "--level", "pro"), "unknown player 'pro'"),
        (("--sprint", "10:2", "--timing", "gate"), "Did you mean 'gates'"),
        (("--sprint", "10:2", "--start-offset", "0.3"), "give LOW,HIGH"),
        (("--sprint", "10:2", "--start-offset", "0.3,0.2"), "the smaller one first"),
        (("--sprint", "10:2", "--name", "college-man"), "is the name of a level"),
        (("--sprint", "10:2", "--name", ""), "name"),
        (("--sprint", "10:1.9", "--sprint", "5:2"), "must take longer"),
    ],
)
def test_bad_measures_are_refused_and_nothing_is_written(
    tmp_path: Path, arguments: tuple[str, ...], message: str
) -> None:
    assert message in refused("player", tmp_path / "p.toml", *arguments)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_is_kept(zoe: Path) -> None:
    before = zoe.read_bytes()
    assert "--overwrite" in refused("player", zoe, *TIMES)
    assert zoe.read_bytes() == before
    printed("player", zoe, *TIMES, "--overwrite")
    assert zoe.read_bytes() != before


def test_spot_takes_the_file_and_says_how_far_the_best_place_moves(zoe: Path) -> None:
    spot = ("spot", "--player", zoe, "--seed", "4", "--balls", "300")
    page = printed(*spot)
    assert (
        "(like Zoë, right-handed, habit; forehand 112 km/h" in page
        and "You (Zoë, left-handed)" in page
    )
    assert "Over what your measured legs may be" in page
    found = json.loads(printed(*spot, "--json"))["over_measured_legs"]
    assert found["best_x_m"]["low"] <= found["best_x_m"]["high"]
    assert "top_speed_m_s" in found["parameters"]
    level = printed("spot", "--seed", "4", "--balls", "300")
    assert "measured legs" not in level
    assert "leave the hand out" in " ".join(refused(*spot, "--hand", "right").split())


def test_other_commands_take_the_file(zoe: Path) -> None:
    assert "Zoë" in printed("angle", "--player", zoe)
    assert "Zoë" in printed("replay", "--player", zoe, "--seed", "1")
    assert "Zoë" in printed("game", "--player", zoe, "--strokes", "20", "--count", "winners")
    assert "Zoë" in printed("chart", "spot", "demo", "--player", zoe, "--balls", "300",
                            "--resamples", "20", "--seed", "1")  # fmt: skip


def asked_of(me: str, hitter: str = "any-allowed") -> Scene:
    return scene_of(player=me, opponent_player="college-man", hitter=hitter, balls=400, seed=5)


@pytest.mark.parametrize("hitter", ["any-allowed", "open-court"])
def test_shares_over_legs_are_those_of_the_spot_for_each_legs(zoe: Path, hitter: str) -> None:
    """The same balls for all legs: those of the player itself give the shares of its own curve."""
    asked = asked_of(str(zoe), hitter)
    slow = dataclasses.replace(asked.player.legs, top_speed_m_s=5.0)
    found = find_spot(asked, [])
    shares, balls = shares_of_legs(asked, found.curve_x_m, [asked.player.legs, slow])
    assert balls == found.curve_balls == 400
    assert np.array_equal(shares[0], found.curve_share_in_time)
    assert (shares[1] <= shares[0]).all() and (shares[1] < shares[0]).any()


def test_without_width_nothing_moves(zoe: Path) -> None:
    asked = asked_of(str(zoe))
    sharp = tuple((n, v, v) for n in measured_legs(asked.player)
                  for v in (getattr(asked.player.legs, n),))  # fmt: skip
    sure = dataclasses.replace(asked, player=dataclasses.replace(asked.player, ranges=sharp))
    found = legs_range(find_spot(sure, []))
    assert found is not None and found.lost == 0.0
    assert found.best_x_m[0] == found.best_x_m[1]
    open_ = legs_range(find_spot(asked, []))
    assert open_ is not None and open_.share_in_time[0] < open_.share_in_time[1]
    assert legs_range(find_spot(asked_of("college-man"), [])) is None
