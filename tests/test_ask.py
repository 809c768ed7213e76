"""One way to ask: every command takes the same options alike, and says and writes alike."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from matplotlib.figure import Figure

from experiments.command.ask import Asked, Said, asks
from experiments.command.main import main
from experiments.command.options import (
    SCENE,
    balls_option,
    csv_option,
    figure_option,
    json_option,
    seed_option,
)
from experiments.output.numbers import json_text, plain
from experiments.scene.scene import Scene, scene_of


def commands(group: click.Group = main, above: str = "") -> Iterator[tuple[str, click.Command]]:
    """Every command with its words."""
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from commands(command, f"{above}{name} ")
        else:
            yield f"{above}{name}", command


ALL = dict(commands())
SHARED = {
    param.name: param
    for option in (*SCENE, balls_option, seed_option, figure_option, csv_option, json_option)
    for param in option(lambda: None).__click_params__
}


def params(command: click.Command) -> dict[str, click.Parameter]:
    return {str(param.name): param for param in command.params}


@pytest.mark.parametrize("words", [w for w in ALL if w != "player"])  # its height is the body's
def test_a_shared_option_is_the_same_everywhere(words: str) -> None:
    """Type and flags; a command may say in its own words what it means there."""
    for name, param in params(ALL[words]).items():
        if name in SHARED and name != "surface":  # replay leaves it to the study
            assert param.opts == SHARED[name].opts, name
            assert type(param.type) is type(SHARED[name].type), name


@pytest.mark.parametrize("words", [w for w, c in ALL.items() if "figure" in params(c)])
def test_every_picture_is_tried_before_any_work(words: str, tmp_path: Path) -> None:
    given = [words.split(), ["--figure", str(tmp_path / "picture.txt")]]
    given += [["demo"]] if words.startswith("chart") else []
    done = CliRunner().invoke(main, [part for more in given for part in more])
    assert done.exit_code == 2 and done.stdout == ""
    assert "give a name that ends in one of .png, .svg, .pdf" in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", [w for w, c in ALL.items() if "figure" in params(c)])
def test_whatever_can_be_drawn_can_be_had_as_numbers(words: str) -> None:
    assert words == "replay" or "as_json" in params(ALL[words])


# --- a command made for the purpose -------------------------------------------------------------


@click.group()
def toys() -> None:
    """Commands of this test."""


@asks(*SCENE, balls_option, seed_option, saves=(figure_option, csv_option, json_option))
@click.option("--worth", type=float, default=1.0)
def toy(asked: Asked, worth: float) -> Said:
    """A command that only repeats what it was asked."""
    scene = asked.scene()
    numbers = {**scene.numbers, "worth": worth, "low": -math.inf, "some": np.array([0.1, math.nan])}
    table = pd.DataFrame({"worth": [worth]})
    return Said(f"worth {worth:g}", lambda: numbers, Figure, lambda: table)


toys.add_command(toy)


def run(*words: str) -> Any:
    return CliRunner().invoke(toys, ["toy", *words], catch_exceptions=False)


def test_options_make_the_scene_that_words_make() -> None:
    done = run("--player", "college-man", "--opponent", "-2,12", "--seed", "4", "--json")
    scene = scene_of((-2.0, 12.0), player="college-man", seed=4)
    assert json.loads(done.stdout)["opponent_contact_m"] == [-2.0, 12.0, 1.0]
    assert {k: v for k, v in json.loads(done.stdout).items() if k in scene.numbers} == plain(
        scene.numbers
    )


def test_json_holds_no_number_that_json_lacks() -> None:
    values = json.loads(run("--json", "--seed", "1").stdout, parse_constant=pytest.fail)
    assert values["low"] is None and values["some"] == [0.1, None]


def test_files_are_named_after_the_answer_and_not_under_json(tmp_path: Path) -> None:
    picture, table = tmp_path / "a.png", tmp_path / "a.csv"
    files = ("--figure", str(picture), "--csv", str(table), "--seed", "1")
    said = run(*files).stdout
    assert said == f"worth 1\n\nTable: {table}\nPicture: {picture}\n"
    assert picture.read_bytes().startswith(b"\x89PNG") and table.read_text() == "worth\n1.0\n"
    assert "Picture" not in run(*files, "--json").stdout


def test_own_options_stand_between_shared_ones_and_files_in_the_help() -> None:
    shown = run("--help").stdout
    order = [shown.index(f"--{name}") for name in ("opponent", "player", "worth", "figure", "json")]
    assert order == sorted(order)


def test_numbers_are_plain() -> None:
    scene: Scene = scene_of(seed=1)
    assert plain(-1e-9) == 0.0 and math.copysign(1.0, plain(-1e-9)) == 1.0
    assert plain({"limits": scene.limits})["limits"]["least_in"] == 0.7
    assert plain(np.float64(1 / 3)) == 0.333333 and plain(1 / 3, None) == 1 / 3
    assert json_text([np.int64(3), (True, None, "x")]) == json.dumps(
        [3, [True, None, "x"]], indent=1
    )
