"""Policies made in Python become words for a study file, their source a file that runs alone."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from experiments.scene.own_objects import words_of
from sim.contracts import PerRally
from sim.errors import InputError
from strategies.catalogue import POLICIES, SHOT_MODELS, make_policy, make_shot_model

SCRIPT = '''
"""A script as a notebook holds it: a policy, what it needs, and a study of it."""
import sys
from dataclasses import dataclass

import numpy as np

from sim.parameter import parameter

STEP_M = 0.75


def steps(count):
    return STEP_M * count


@dataclass(frozen=True)
class Pace:
    """Stand so many steps to the left."""

    count: float = parameter(1.0, "1", "steps", low=0.0, high=5.0)

    @property
    def name(self):
        return f"{self.count:g} steps"

    def spots(self, seen):
        return np.stack([np.full(len(seen), -steps(self.count)), np.full(len(seen), -13.0)], axis=1)


if __name__ == "__main__":
    from experiments.notebook import run, study

    small = study(
        "first", policies=["middle", Pace(), Pace(2.0)], settings=["placed"], placed_balls=40
    )
    results = run(small, sys.argv[1], seed=1, workers=2, progress=False)
    cells = results.cells.query("outcome == 'spot_x_m'")
    print({n: float(x) for n, x in zip(cells["policy"], cells["estimate"])})
'''


def test_a_policy_of_a_script_is_studied_and_its_code_kept(tmp_path: Path) -> None:
    (tmp_path / "script.py").write_text(SCRIPT)
    done = subprocess.run(
        [sys.executable, "script.py", "out"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(Path(__file__).resolve().parent.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout.strip().splitlines()[-1].replace("'", '"'))
    assert found == {"middle": 0.0, "1 steps": -0.75, "2 steps": -1.5}
    (own,) = (tmp_path / "out" / "own").glob("*.py")
    kept = own.read_text()
    assert "STEP_M = 0.75" in kept and "import numpy as np" in kept and "__main__" not in kept
    again = ["-m", "experiments", "study", "out/study.toml", "--out", "again", "--quiet"]
    subprocess.run(
        [sys.executable, *again],
        cwd=tmp_path,
        env={"PYTHONPATH": str(Path(__file__).resolve().parent.parent)},
        check=True,
        capture_output=True,
    )
    cells = [(tmp_path / name / "cells.csv").read_bytes() for name in ("out", "again")]
    assert cells[0] == cells[1]


@pytest.mark.parametrize(
    ("words", "catalogue", "made"),
    [
        ("middle", POLICIES, make_policy),
        ("linear-shade,shade_m_per_m=0.3", POLICIES, make_policy),
        ("bisector,least_in=0.9", POLICIES, make_policy),
        ("habit", SHOT_MODELS, make_shot_model),
    ],
)
def test_words_come_back_from_what_they_make(words: str, catalogue: Any, made: Any) -> None:
    thing = made(words)
    assert made(words_of(thing, catalogue)) == thing
    assert words_of(words, catalogue) == words


def test_an_object_of_a_file_keeps_its_words(tmp_path: Path) -> None:
    (tmp_path / "mine.py").write_text(SCRIPT)
    words = f"{tmp_path / 'mine.py'}:Pace,count=3"
    assert words_of(make_policy(words), POLICIES) == words


def test_what_has_no_words_says_what_to_do() -> None:
    with pytest.raises(InputError, match=r"no number or plain text.*file\.py:name"):
        words_of(PerRally("lazy", lambda seen: (0.0, -13.0)), POLICIES)
    scope: dict[str, Any] = {"__name__": "nowhere"}
    exec("class Odd:\n    name = 'odd'\n    def spots(self, seen): ...", scope)
    with pytest.raises(InputError, match=r"source of 'Odd' is not known"):
        words_of(scope["Odd"](), POLICIES)
