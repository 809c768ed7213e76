"""Kernels that come with the package: called without a compiler, and left aside when they are old.

What they compute is compared in test_same_digits; here a copy of the package is damaged, edited or
moved to a machine that it does not know, and still answers.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import sim
from sim.arithmetic import exp
from sim.chance import fill_normals, normals, uniforms
from sim.compiled import Kernel
from sim.native import load
from sim.native.build import split
from sim.native.met import note
from sim.native.notation import described, element, from_described, key_of, text_of
from sim.records import BALL, WORLD

REAL = Path(sim.__file__).parent
ASK = """
import sys
import numpy as np
from sim.chance import normals, uniforms
print(normals(uniforms(3, np.arange(4), 1, 0, 3)).tolist())
print("numba" in sys.modules)
"""


def test_types_have_texts_and_records_come_back_from_them() -> None:
    values = (1.0, 2, True, None, np.zeros((2, 3)), np.zeros(1, np.int64), (1.0, 2), np.float64(3))
    texts = [text_of(key_of(value)) for value in values]
    assert texts == ["f8", "i8", "b1", "none", "f8[2]", "i8[1]", "(f8,i8)", "f8"]
    assert split(",".join(map(str, texts))) == texts
    ball = np.zeros(2, BALL)
    assert text_of(key_of(ball)) == element(BALL) + "[1]"
    assert text_of(key_of(ball[0])) == element(BALL) != element(WORLD)
    assert from_described(described(BALL)) == BALL
    assert text_of(key_of("words")) is None


def test_a_kernel_can_be_called_by_records_numbers_and_parts_of_arrays() -> None:
    """An array whose numbers lie apart is filled as any other."""
    u = uniforms(5, np.arange(8), 1, 0, 4)
    wide = np.full((8, 4), 7.0)
    fill_normals(u[:, 1], wide[:, 2])
    assert wide[:, 2].tolist() == normals(u[:, 1]).tolist()
    assert (wide[:, [0, 1, 3]] == 7.0).all()
    assert exp(np.float64(1.0)) == exp(1.0) == exp(1) == pytest.approx(np.e, rel=1e-15)


def test_what_is_shipped_is_made_from_this_source() -> None:
    assert all(load.is_fresh(layer) for layer in load.SHIPPED_LAYERS), (
        "sim or strategies were edited since the kernels were made: `python -m sim.native.build`"
    )
    assert load.library() is not None or load.platform_name() not in load.listed()["objects"]


def test_a_call_that_was_not_foreseen_is_written_down(tmp_path: Path) -> None:
    file = tmp_path / "met"
    note(str(file), "sim.court:is_wide", (int,))
    note(str(file), "sim.stroke:fill_ball", (key_of(np.zeros(3, BALL)), key_of(None)))
    note(str(file), "sim.court:is_wide", (str,))  # nothing compiled ahead takes a text
    note(str(file), "experiments.benchmark.limits:root", (float,))  # only measures
    told = [json.loads(line) for line in file.read_text().splitlines()]
    assert [(t["kernel"], t["takes"]) for t in told] == [
        ("sim.court:is_wide", "i8"),
        ("sim.stroke:fill_ball", f"{element(BALL)}[1],none"),
    ]
    assert from_described(told[1]["types"][element(BALL)]) == BALL


# No bytecode, and what a copy compiles is nothing that should have been shipped.
ALONE = {"PYTHONDONTWRITEBYTECODE": "1", "RALLY_RECOVERY_KERNELS_MET": os.devnull}


@pytest.fixture(scope="module")
def copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("copied")
    shutil.copytree(REAL, folder / "sim", ignore=shutil.ignore_patterns("__pycache__"))
    return folder


def asked(folder: Path, before: str = "") -> tuple[list[str], str]:
    """What the copy answers, and what it says on the error stream."""
    env = {"PYTHONPATH": str(folder), "RALLY_RECOVERY_CACHE": str(folder / "cache")}
    run = subprocess.run(
        [sys.executable, "-c", before + ASK],
        env={**os.environ, **env, **ALONE},
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert run.returncode == 0, run.stderr
    return run.stdout.splitlines(), run.stderr


def edit(folder: Path) -> None:
    with open(folder / "sim" / "court.py", "a") as file:
        file.write("# edited\n")


def cut_short(folder: Path) -> None:
    for file in (folder / "sim" / "native").glob("*-*.*"):
        file.write_bytes(file.read_bytes()[:-5000])


CHANGES: dict[str, tuple[Callable[[Path], None] | str, str]] = {
    "edited": (edit, "those that came with it are of another version of the source"),
    "cut short": (cut_short, "none came with it for this machine"),
    "without list": (
        lambda folder: (folder / "sim" / "native" / "kernels.json").unlink(),
        "none came with this version",
    ),
    "other machine": (
        "import platform\nplatform.machine = lambda: 'abacus'\n",
        "none came with it for this machine",
    ),
    "other Python": (
        "import platform\nplatform.python_implementation = lambda: 'Other'\n",
        "none came with it for this machine",
    ),
}


def test_the_compiler_is_not_needed(copied: Path) -> None:
    answer, said = asked(copied)
    assert answer[1] == "False" and said == ""


@pytest.mark.parametrize("change", CHANGES)
def test_old_damaged_or_missing_kernels_are_compiled_here(
    copied: Path, tmp_path: Path, change: str
) -> None:
    """The same digits, and one line that says why it took longer."""
    expected, _ = asked(copied)
    how, why = CHANGES[change]
    shutil.copytree(copied / "sim", tmp_path / "sim")
    if callable(how):
        how(tmp_path)
    for run in range(2):
        answer, said = asked(tmp_path, how if isinstance(how, str) else "")
        assert answer == [expected[0], "True"]
        assert said.count("\n") == (1 if run == 0 else 0)
        assert why in said or run == 1


def test_every_kernel_of_the_project_is_one_that_can_be_shipped() -> None:
    """All that is listed is there to be called, under the name that it is listed by."""
    for path in load.listed()["entries"]:
        home, name = path.split(":")
        found = getattr(__import__(home, fromlist=[name]), name)
        assert isinstance(found, Kernel) and found.path == path
