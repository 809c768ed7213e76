"""What a start imports: no library before it is needed, and the compiler not at all.

A command's file and the notebook import an answer when it is asked for, and what is slow to import
there is imported in the function that uses it, with a comment that says so.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.native.load import is_fresh, library
from sim.source import LAYERS

ROOT = Path(__file__).resolve().parent.parent
LIBRARIES = {
    *("distributed", "jinja2", "matplotlib", "numpy", "pandas", "PIL", "pint", "pyarrow"),
    *("pydantic", "simpy", "tqdm"),
    *(f"scipy.{part}" for part in ("interpolate", "optimize", "special", "stats")),
}
OF_COMPILER = ("sim.just_in_time", "sim.kernel_cache", "sim.native.build")
COMPILER = {"llvmlite", "numba"}
COMMAND = "from experiments.command.main import main; main(sys.argv[1:])"
RUN = "report.run, report.page, report.figures, report.study_text, study.runner"


def imported(code: str, *arguments: str) -> set[str]:
    """Which of the libraries a program has imported when it ends."""
    known = LIBRARIES | COMPILER
    tell = f"atexit.register(lambda: print('\\nimported:', *({known!r} & set(sys.modules))))"
    done = subprocess.run(
        [sys.executable, "-c", f"import atexit, sys; {tell}; {code}", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    return set(done.stdout.splitlines()[-1].split()[1:])


STARTS: dict[str, tuple[str, set[str]]] = {
    "--help": (COMMAND, set()),
    "--version": (COMMAND, set()),
    "spot --help": (COMMAND, set()),
    "study --help": (COMMAND, set()),
    "spot --seed 1 --balls 200 --json": (COMMAND, {"numpy"}),
    "shot --from 3,-11.885,1 --to -3,9 --speed 30 --topspin 2000": (COMMAND, {"numpy"}),
    "list": (COMMAND, {"numpy"}),
    "player --sprint 10:2.05": (COMMAND, {"numpy", "pydantic"}),
    "study --schema": (COMMAND, {"numpy", "pydantic"}),
    "the notebook": ("import experiments.notebook", set()),
    "a spot in a notebook": (
        "from experiments.notebook import spot; spot(balls=200, seed=1)",
        {"numpy"},
    ),
    "a worker of a study": ("import experiments.study.provenance", {"numpy", "pydantic"}),
}


@pytest.mark.parametrize("start", STARTS)
def test_only_what_is_needed_is_imported(start: str) -> None:
    code, needed = STARTS[start]
    assert imported(code, *start.split()) - COMPILER == needed


def test_a_study_imports_no_slow_parts_of_scipy() -> None:
    modules = ", ".join(f"experiments.{name}" for name in RUN.split(", "))
    found = imported(f"import {modules}") - COMPILER
    assert {"jinja2", "matplotlib", "pandas", "pydantic"} <= found, "what a report is made with"
    assert found.isdisjoint({f"scipy.{part}" for part in ("interpolate", "optimize", "stats")})


def test_no_kernel_is_called_while_modules_are_imported() -> None:
    modules = [module for layer in LAYERS for module in modules_of(layer)]
    assert len(modules) > 200
    assert imported(f"import {', '.join(modules)}").isdisjoint(COMPILER)


def modules_of(layer: str) -> Iterator[str]:
    """The modules of a layer, but for those of the compiler and those that run by themselves."""
    for path in sorted((ROOT / layer).rglob("*.py")):
        name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        if not name.endswith((*OF_COMPILER, "__main__")) and ".benchmark." not in name:
            yield name.removesuffix(".__init__")


@pytest.mark.skipif(
    not is_fresh("strategies") or library() is None,
    reason="no kernels were shipped for this machine and this version of the source",
)
@pytest.mark.parametrize("start", STARTS)
def test_the_compiler_is_not_imported(start: str) -> None:
    assert imported(STARTS[start][0], *start.split()).isdisjoint(COMPILER)
