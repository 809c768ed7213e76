"""The forms that kernels come in, and how a recording is made again by each."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sim.errors import InputError
from sim.native.build import for_processor
from sim.native.load import FOLDER

ROOM = "experiments.evidence.same_digits"
REPLAY = f"{ROOM}.replay"
# Of x86-64, as LLVM names them: one without fused operations or wide vectors, one with them, and
# one with the widest. A processor that lacks them cannot run what is made for it.
PROCESSORS = ("nehalem", "haswell", "skylake-avx512")


@dataclass(frozen=True)
class Form:
    """One form of the kernels: what makes it, for what processor, and how it repeats a recording,
    given the folder and a name for the file there."""

    made: str
    target: str
    name: str
    again: Callable[[Path, str], None]


def just_in_time(processor: str | None = None) -> Form:
    """Compiled by numba, for this processor with all that it can, or for one that is named."""

    def again(folder: Path, name: str) -> None:
        own = {}
        if processor is not None:  # what is compiled for it is of no use afterwards
            own = {"NUMBA_CPU_NAME": processor, "NUMBA_CPU_FEATURES": ""}
            own["RALLY_RECOVERY_CACHE"] = str(folder / f"cache-{processor}")
        _run([sys.executable, "-m", REPLAY, str(folder), name], own)

    target = processor or "this processor"
    return Form("just in time", target, f"just-in-time-{processor or 'here'}", again)


def built(objects: Path, processor: str) -> Form:
    """A native object that `sim.native.build` made for a processor, in the folder `objects`."""
    file = for_processor(processor).file

    def again(folder: Path, name: str) -> None:
        _run([sys.executable, "-m", REPLAY, str(folder), name, str(objects / file)], {})

    return Form("ahead of time", processor, f"built-{processor}", again)


def web(objects: Path = FOLDER) -> Form:
    """The WebAssembly module, run by Node.js."""

    def again(folder: Path, name: str) -> None:
        node = shutil.which("node")
        if node is None:
            raise InputError("node (Node.js) was not found; it runs the WebAssembly module")
        script = Path(__file__).with_name("replay.mjs")
        _run([node, str(script), str(folder), name, str(objects)], {})

    return Form("ahead of time", "WebAssembly", "web", again)


def build_for(processors: Sequence[str], objects: Path) -> None:
    """Build all objects, and one for each processor, into a folder."""
    options = [text for name in processors for text in ("--processor", name)]
    objects.mkdir(parents=True, exist_ok=True)
    _run([sys.executable, "-m", "sim.native.build", "--into", str(objects), *options], {})


def record(folder: Path, situations: int, seed: int) -> str:
    """Play situations with the shipped kernels and write all their calls down in a folder; returns
    how many strokes of each kind were struck, as JSON.

    In a process of its own that finds no tables made before, so that they are made there.

    Raises:
        InputError: a call that no kernel was shipped for.
    """
    command = [sys.executable, "-m", f"{ROOM}.situations", str(folder), str(situations), str(seed)]
    return _run(command, {"RALLY_RECOVERY_CACHE": str(folder / "cache")})


def _run(command: list[str], settings: dict[str, str]) -> str:
    """Run a program from the folder that the packages are in; what it says.

    Raises:
        InputError: it fails; with the end of what it said.
    """
    env, cwd = os.environ | settings, FOLDER.parent.parent
    done = subprocess.run(command, capture_output=True, text=True, env=env, cwd=cwd)
    if done.returncode:
        said = done.stderr.strip().splitlines()[-5:]
        raise InputError("\n".join([f"{' '.join(command[:4])} failed:", *said]))
    return done.stdout
