"""Against whom: every command's answer says so, and all commands default to the same opponent."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from experiments import notebook
from experiments.answers.replay.answer import replay_of_players
from experiments.command.main import main
from experiments.scene.defaults import BALLS, HITTER, LEVEL, SURFACE
from experiments.scene.scene import scene_of
from sim.surface import surface

SLOW = """
name = "Mia"
level = "club-adult"
hand = "left"

[hitter]
forehand_speed_m_s = { value = 17.5, low = 16.0, high = 19.0 }
backhand_speed_m_s = { value = 16.0, low = 15.0, high = 17.0 }
"""
WHO = "like Mia, right-handed"
FAST_ENOUGH = "forehand 63 km/h, backhand 58 km/h"
ASKED: dict[str, list[str]] = {
    "spot": ["--balls", "100", "--seed", "1"],
    "map standing": ["--balls", "100", "--seed", "1", "--quiet"],
    "map policies": ["--balls", "100", "--seed", "1", "--quiet", "--step", "2 m"],
    "footspeed": ["--balls", "1000", "--seed", "1", "--quiet", "--vary", "reach"],
    "depth": ["--rallies", "300", "--depths", "0,4,2", "--seed", "1", "--quiet"],
    "stroke": ["--balls", "200", "--seed", "1", "--quiet"],
    "game": ["--strokes", "20", "--seed", "1", "--count", "winners"],
    "side": ["--shot", "crosscourt"],
    "replay": ["--seed", "1"],
    "chart stood demo": ["--seed", "1"],
    "chart spot demo": ["--seed", "1", "--balls", "400", "--resamples", "20"],
    "handout": ["--seed", "1", "--balls", "100", "--rallies", "100", "--out", "page.svg"],
}
TEXT_ONLY = ("map standing", "map policies", "replay", "handout")


@pytest.fixture
def mia(tmp_path: Path) -> str:
    path = tmp_path / "mia.toml"
    path.write_text(SLOW, "utf-8")
    return str(path)


def told(*words: str) -> str:
    found = CliRunner().invoke(main, list(words))
    assert found.exit_code == 0, found.output
    return found.stdout


@pytest.mark.parametrize("command", ASKED)
def test_an_answer_says_against_whom_and_how_fast(
    command: str, mia: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    asked = [*command.split(), *ASKED[command], "--player", mia]
    said = " ".join(told(*asked).split())
    assert WHO in said and FAST_ENOUGH in said
    if command not in TEXT_ONLY:
        found = json.loads(told(*asked, "--json"))
        assert found["opponent_player"] == "like Mia" and found["opponent_hand"] == "right"
        assert found["opponent_forehand_km_h"] == 63.0
        assert found["opponent_backhand_km_h"] == 57.6


def commands(group: click.Group, before: str = "") -> dict[str, click.Command]:
    """All commands by their words."""
    found: dict[str, click.Command] = {}
    for name, command in group.commands.items():
        words = f"{before} {name}".strip()
        found |= commands(command, words) if isinstance(command, click.Group) else {words: command}
    return found


def test_options_of_one_name_have_one_default() -> None:
    """Meant to differ: more balls where places are searched, fewer over many opponents."""
    expected: dict[str, Any] = {
        "hitter": HITTER,
        "player": LEVEL,
        "level": LEVEL,
        "surface": SURFACE,
        "balls": BALLS,
        "depth": None,
        "seed": None,
        "opponent_player": None,
    }
    meant = {(name, "balls") for name in ("footspeed", "misread", "net", "opponents")}
    seen = set()
    for words, command in commands(main).items():
        for option in command.params:
            if option.name not in expected or words == "replay" or (words, option.name) in meant:
                continue
            default = option.to_info_dict()["default"]
            if isinstance(option, click.Option):
                assert default == expected[option.name], (words, option.name)
                seen.add(option.name)
    assert seen == set(expected)


def test_notebook_and_replay_share_these_defaults() -> None:
    here, told_nothing = notebook.scene(seed=1), replay_of_players(0, 1).game
    assert (
        here == scene_of(seed=1) and here.player.name == told_nothing.studied.player.name == LEVEL
    )
    assert here.hitter.name == told_nothing.opponent.shots.name == HITTER
    assert here.world.surface == told_nothing.world.surface == surface(SURFACE)
    assert here.balls == BALLS
