"""Plays a little of everything into a folder, so that its bytes can be compared between machines.

`tests/test_other_processors.py` runs it in other environments: `python a_little_of_all.py FOLDER`.
"""

from __future__ import annotations

import json
import math
import os
import shlex
import sys
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from click.testing import CliRunner
from fuzz_folder import CHART
from tiny_study import only, run_tiny

from experiments.answers.game.zero_sum import solve_hidden
from experiments.command.main import main
from experiments.report import run as shown_run
from experiments.statistics.estimates import quantile, share_of
from experiments.statistics.group_sequential import level_each_look
from sim.air import Air
from sim.legs import Legs
from sim.players import PLAYERS
from sim.world import World
from strategies.recovery.place_losses import losses
from strategies.shots.charted import Charted

COMMANDS = {
    "spot": "spot --balls 200",
    "weighed": "spot --policy weighed --policy safest --balls 100",
    "learned": "spot --policy learned --balls 100",
    "chart": "chart spot chart.csv --balls 200 --resamples 20",
    "game": "game --strokes 20",
    "footspeed": "footspeed --balls 1000",
    "stroke": "stroke --balls 100",
    "map": "map standing --balls 100",
    "side": "side",
    "player": "player --name Anna --sprint 5:1.3 --sprint 10:2.1",
}
SEEDLESS = ("side", "player")


def write_all(folder: Path) -> None:
    """Tables of two studies and numbers of the answers, into a folder that is there."""
    os.chdir(folder)
    Path("chart.csv").write_text(CHART)
    for name, words in COMMANDS.items():
        seed = "" if name in SEEDLESS else " --seed 1"
        told = CliRunner().invoke(main, shlex.split(f"{words}{seed} --json"))
        assert told.exit_code == 0, told.output
        Path(f"{name}.json").write_text(told.output)
    shown_run.write_pictures = shown_run.write_report_page = lambda folder: None
    for setting in ("rally", "recovery"):
        run_tiny(only(setting), folder / setting)
    write_bits(own_numbers(), Path("bits.json"))


def write_bits(numbers: Mapping[str, np.ndarray], path: Path) -> None:
    """Numbers with all their digits."""
    hexed = {name: [v.hex() for v in many.ravel().tolist()] for name, many in numbers.items()}
    path.write_text(json.dumps(hexed))


def own_numbers() -> dict[str, np.ndarray]:
    """Numbers that the answers round before they tell them."""
    x = np.random.default_rng(1).normal(size=(40, 60))
    one, world = PLAYERS["club-adult"], World().numbers.tobytes()
    shares = [share_of(v, 0.01, 900, 300.0) for v in (0.0, 0.01, 0.37)]
    return {
        "quantiles": np.array([quantile(0.95, n) for n in (math.inf, 2.0, 40.0, 5000.0)]),
        "shares": np.array([(s.low, s.high) for s in shares]),
        "levels": np.array([level_each_look(n, 0.95) for n in (2, 5)]),
        "mixes": np.concatenate([solve_hidden(x).rows, solve_hidden(x).columns]),
        "running times": Legs(top_speed_m_s=6.3, tau_s=0.61).times["time_s"],
        "belief": Charted().fit(one).aims(),
        "losses": losses(one, one, world, 1.0, 3, strokes=32),
        "air": np.array([Air(altitude_m=650.0).density_kg_m3]),
    }


def others_numbers() -> dict[str, np.ndarray]:
    """What others' libraries make of the same numbers."""
    x = np.random.default_rng(1).normal(size=10_000)
    square = x.reshape(100, 100)
    each = np.array([math.exp(v) for v in x.tolist()])
    return {"matrix product": square @ square, "NumPy": np.exp(x), "C": each}


if __name__ == "__main__":
    write_bits(others_numbers(), Path(sys.argv[1], "others.json"))
    write_all(Path(sys.argv[1]))
