"""Making policies and shot models from words, tables and users' own files."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from random_situations import recovery_situation

from sim.belief import Belief
from sim.errors import InputError
from sim.parameter import parameter_rows
from strategies.catalogue import (
    POLICIES,
    SHOT_MODELS,
    allowed_parameters,
    make_policy,
    make_shot_model,
    summary,
)
from strategies.recovery.biased import Biased
from strategies.recovery.linear_shade import LinearShade
from strategies.shots.habit import Habit
from strategies.shots.script import Script
from strategies.user_file import is_user_file, user_file

OWN = """
from __future__ import annotations
from dataclasses import dataclass
import numpy as np
from sim.contracts import PerRally

@dataclass(frozen=True)
class Left:
    metres: float = 1.0

    @property
    def name(self) -> str:
        return "left"

    def spots(self, seen):
        return seen.spots_at(np.full(len(seen), -self.metres))

class Plain:
    name = "plain"

    def spots(self, seen):
        return Left().spots(seen)

class Needy(Plain):
    def __init__(self, what):
        self.what = what

@dataclass(frozen=True)
class Flat:
    name: str = "flat"
    draws: int = 0
    sees_receiver: bool = False

    def intents(self, seen, chance):
        return None

def alone(seen):
    return 0.5, -13.0

lifted = PerRally("lifted", alone)
nameless = object()
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    path = tmp_path / "my_policies.py"
    path.write_text(OWN)
    return path


def test_every_name_makes_its_class() -> None:
    assert all(type(make_policy(name)) is kind for name, kind in POLICIES.items())
    assert all(type(make_shot_model(name)) is kind for name, kind in SHOT_MODELS.items())


def test_words_and_tables_say_the_same() -> None:
    words = make_policy("biased, shift_m=0.5, toward=left")
    assert words == Biased(0.5, toward="left")
    assert words == make_policy({"name": "biased", "shift_m": 0.5, "toward": "left"})
    assert words.name == "biased shift_m=0.5 toward=left"
    assert make_policy("linear-shade,shade_m_per_m=0.3") == LinearShade(0.3)
    shares = {"from_corner": [0.5, 0.2, 0.3, 0]}
    habit = make_shot_model({"name": "habit", "belief": shares, "margin_share": 1})
    assert habit == Habit(belief=Belief(from_corner=(0.5, 0.2, 0.3, 0.0)))
    script = make_shot_model({"name": "script", "shots": [[1, 9, 30, 2500]]})
    assert script == Script(((1.0, 9.0, 30.0, 2500.0),))


@pytest.mark.parametrize(
    ("make", "words", "parts"),
    [
        (make_policy, "bisektor", ["recovery policy 'bisektor'", "'bisector'", "time-balanced"]),
        (make_policy, "habit", ["recovery policy 'habit'", "middle"]),
        (make_policy, "", ["recovery policy ''"]),
        (make_shot_model, "open-cort", ["shot model", "'open-court'", "pressing"]),
        (make_policy, "stay,shift_m=1", ["stay has no parameter 'shift_m'", "none"]),
        (make_policy, "biased,shift=1", ["'shift'", "shift_m (0 to 1 m)", "left, right, backhand"]),
        (make_policy, "biased,shift_m", ["parameter=value", "'shift_m'"]),
        (make_policy, "biased,shift_m=1,shift_m=2", ["each once"]),
        (make_policy, "biased,shift_m=far", ["shift_m is 'far'", "0 to 1 m"]),
        (make_policy, "biased,shift_m=nan", ["shift_m is nan", "finite"]),
        (make_policy, "biased,toward=up", ["'up'", "favourite"]),
        (make_policy, {"name": "biased", "toward": 3}, ["toward is 3", "left, right"]),
        (make_policy, {"name": "biased", "shift_m": True}, ["shift_m is True"]),
        (make_policy, {"name": "biased", "shift_m": [1]}, ["shift_m is [1]"]),
        (make_policy, {"shift_m": 1}, ["key `name`"]),
        (make_policy, 7, ["not as 7"]),
        (make_shot_model, "habit,belief=0.5", ["belief is '0.5'", "four shares"]),
        (make_shot_model, {"name": "habit", "belief": {"from_net": [1]}}, ["four shares"]),
        (make_shot_model, {"name": "habit", "belief": {"from_corner": [1, 1, 1, 1]}}, ["up to 1"]),
        (make_shot_model, {"name": "script", "shots": [[1, 2]]}, ["target x"]),
        (make_shot_model, "script,shots=3", ["shots is '3'", "topspin rpm"]),
        (make_shot_model, "any-allowed,nearest_landing_m=20", ["20 m", "baseline"]),
    ],
)
def test_what_cannot_be_used_gets_one_clear_line(
    make: Callable[[object], object], words: object, parts: list[str]
) -> None:
    with pytest.raises(InputError) as caught:
        make(words)
    assert "\n" not in str(caught.value)
    for part in parts:
        assert part in str(caught.value)


def test_parameters_can_be_listed() -> None:
    shade = "shade_m_per_m (0 to 0.6 m/m), toward_backhand_m (0 to 0.9 m)"
    assert allowed_parameters(LinearShade) == shade
    rows = {row.name: row for row in parameter_rows("open-court", make_shot_model("open-court"))}
    assert rows["look_ahead_s"].unit == "s" and rows["look_ahead_s"].status == "assumed"
    assert summary(LinearShade).startswith("Stand so many metres")


def test_users_own_classes_and_objects(own: Path) -> None:
    seen = recovery_situation(4)
    for words, x in (
        (f"{own}:Left", -1.0),
        (f"{own}:Left,metres=2.5", -2.5),
        ({"name": f"{own}:Left", "metres": 3}, -3.0),
        (f"{own}:Plain", -1.0),
        (f"{own}:lifted", 0.5),
    ):
        policy = make_policy(words)
        assert np.all(policy.spots(seen)[:, 0] == x)
    assert make_shot_model(f"{own}:Flat").name == "flat"
    assert is_user_file(f"{own}:Left") and user_file(f"{own}:Left") == own
    assert not is_user_file("linear-shade,shade_m_per_m=0.3")


def test_users_own_objects_are_the_same_each_time_and_pickle(own: Path) -> None:
    first, second = make_policy(f"{own}:Left"), make_policy(f"{own}:Left")
    assert first == second and pickle.loads(pickle.dumps(first)) == first
    own.write_text(OWN.replace("-self.metres", "self.metres"))
    assert make_policy(f"{own}:Left").spots(recovery_situation(1))[0, 0] == 1.0


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("Lefty", ["'Lefty'", "Did you mean 'Left'"]),
        ("alone", ["no recovery policy", "PerRally"]),
        ("nameless", ["no recovery policy", "spots"]),
        ("Flat", ["no recovery policy", "spots"]),
        ("Needy", ["cannot be made", "what"]),
        ("Left,feet=2", ["no parameter 'feet'", "metres"]),
        ("Left,metres=far", ["metres is 'far'"]),
        ("Plain,metres=1", ["no parameter 'metres'", "none"]),
        ("lifted,metres=1", ["takes no parameters"]),
    ],
)
def test_an_own_file_that_does_not_fit(own: Path, name: str, parts: list[str]) -> None:
    with pytest.raises(InputError) as caught:
        make_policy(f"{own}:{name}")
    assert "\n" not in str(caught.value)
    for part in parts:
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("source", "parts"),
    [
        ("x = 1\ny = 1 / 0\n", ["line 2", "ZeroDivisionError", "division by zero"]),
        ("x = (\n", ["line 1", "SyntaxError"]),
        ("import no_such_module_here\n", ["line 1", "no_such_module_here"]),
        ("raise SystemExit\n", ["line 1", "SystemExit"]),
        ("raise ValueError('one\\ntwo')\n", ["ValueError: one"]),
    ],
)
def test_an_own_file_that_cannot_be_imported(tmp_path: Path, source: str, parts: list[str]) -> None:
    path = tmp_path / "broken.py"
    path.write_text(source)
    with pytest.raises(InputError) as caught:
        make_policy(f"{path}:Thing")
    assert "\n" not in str(caught.value) and str(path) in str(caught.value)
    for part in parts:
        assert part in str(caught.value)


@pytest.mark.parametrize("words", ["{0}/none.py:Name", "{0}/none.py", "{0}/none.py:", "a.py:b c"])
def test_a_file_that_is_not_there(tmp_path: Path, words: str) -> None:
    with pytest.raises(InputError, match=r"file\.py:Name"):
        make_policy(words.format(tmp_path))
