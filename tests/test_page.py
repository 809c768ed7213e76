"""The offline page's script in Node.js: its numbers are those of the engine, to the last digit."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from experiments.answers.spot.answer import find_spot
from experiments.answers.spot.words import spot_json
from experiments.balls.spots import with_own
from experiments.output.numbers import json_text, plain
from experiments.page.script import module_order, script_text
from experiments.scene.scene import Scene, scene_of
from sim.errors import InputError
from sim.native.load import is_fresh
from sim.players import PLAYERS
from sim.surface import SURFACES
from strategies.catalogue import SHOT_MODELS

ANSWERS = Path(__file__).with_name("page_answers.mjs")
QUICK = [policy for policy in with_own() if "losses" not in type(policy).__mro__[0].__module__]
HANDS = ("right", "left")


def not_here(reason: str) -> None:
    """Skip, or fail where the comparison of the kernels' forms is required."""
    if os.environ.get("RALLY_RECOVERY_FORMS") == "required":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="module")
def script(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The script for all levels, in a file."""
    if shutil.which("node") is None:
        not_here("Node.js (node) is not on the PATH")
    if not (is_fresh("sim") and is_fresh("strategies")):
        not_here("the shipped kernels are of another version of the source")
    path = tmp_path_factory.mktemp("page") / "script.js"
    path.write_text(script_text(), encoding="utf-8")
    return path


def answers(script: Path, messages: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The last answer to each message."""
    lines = "".join(json.dumps(message) + "\n" for message in messages)
    done = subprocess.run(
        ["node", str(ANSWERS), str(script)], input=lines, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def some_cases(count: int, seed: int, hitters: list[str]) -> list[dict[str, Any]]:
    """Random options of `spot`: all kinds of hitter in turn, anybody anywhere, in either hand."""
    rng = np.random.default_rng(seed)
    out = []
    for k in range(count):
        level, other = rng.choice(list(PLAYERS), 2).tolist()
        hand, opponent_hand = rng.choice(HANDS, 2).tolist()
        deep = bool(rng.random() < 0.8)  # else the usual depth
        x, y, z = rng.uniform(-5, 5), rng.uniform(7, 16), rng.uniform(0.3, 2.2)
        out.append(
            {
                "player": level,
                "hand": hand,
                "opponent_player": other,
                "opponent_hand": opponent_hand,
                "hitter": hitters[k % len(hitters)],
                "surface": str(rng.choice(list(SURFACES))),
                "opponent": (float(x) if rng.random() < 0.9 else 0.0, float(y)),
                "height": float(z),
                "depth": float(rng.uniform(0, 4)) if deep else None,
                "balls": int(rng.integers(100, 260)),
                "seed": int(rng.integers(2**62)),
            }
        )
    return out


def asked(case: dict[str, Any]) -> dict[str, Any]:
    """The same question as the script takes it."""
    people = list(PLAYERS)
    x, y = case["opponent"]
    return {
        "player": people.index(case["player"]),
        "hand": case["hand"],
        "opponent": people.index(case["opponent_player"]),
        "opponent_hand": case["opponent_hand"],
        "hitter": case["hitter"],
        "surface": case["surface"],
        "contact_m": [x, y, case["height"]],
        "depth_m": case["depth"],
        "balls": case["balls"],
        "seed": str(case["seed"]),
    }


def shared(said: dict[str, Any], there: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """What both say, from the numbers of the command and from the script's."""
    both = [key for key in said if key in there and key != "seed"]
    assert len(both) >= 10
    paths = [{k: v for k, v in drive.items() if k != "path"} for drive in there["extremes"]]
    return {key: said[key] for key in both}, {key: there[key] for key in both} | {"extremes": paths}


def compare(script: Path, cases: list[dict[str, Any]], policies: list[Any]) -> int:
    """Hold the script to the engine in each case; how many had balls to reach."""
    names = [policy.name for policy in policies]
    messages = [{"ask": "spot", "scene": asked(case), "policies": names} for case in cases]
    found = 0
    for case, there in zip(cases, answers(script, messages), strict=True):
        try:
            result = find_spot(scene_of(**case), policies)
        except InputError as error:
            assert there["error"] == str(error)
            continue
        mine, its = shared(plain(spot_json(result), None), there["spot"])
        assert its == mine, case
        found += 1
    return found
