"""How long whole processes take, from before they are started until they have ended.

They are timed by the wall clock, and by the processor's, in three states of the machine: warm;
without our cache, as the first time after installing; and so with the files of the packages not
read yet. For the last one the system is told to forget these files (`posix_fadvise`), which needs
no special rights; it keeps what another running program has loaded, so this is best called before
much is imported, and it says what share was kept. This module itself imports nothing heavy.
"""

from __future__ import annotations

import ctypes
import mmap
import os
import statistics
import subprocess
import sys
import sysconfig
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

PROCESSES: dict[str, tuple[str, ...]] = {
    "help": ("-m", "experiments", "--help"),
    "notebook": ("-c", "import experiments.notebook"),
    "spot": ("-m", "experiments", "spot", "--seed", "1"),
}
WARM, NO_CACHE, COLD = STATES = ("warm", "no_cache", "cold_files")
MOST_ROUNDS = 5
HOME = Path(__file__).resolve().parent.parent.parent


class Took(NamedTuple):
    """Seconds of a process: by the wall clock, and those that it had a processor for (0 on systems
    that do not tell)."""

    wall_s: float
    processor_s: float


def start_up(seconds: float) -> dict[str, Any]:
    """Seconds of each process in each state, for some seconds each: `times`, and of cold files
    what share stayed in memory or why they were left out (`kept_share`, `left_out`).

    Raises:
        RuntimeError: a process fails; with what it says.
    """
    reason = why_not_cold()
    kept: list[float] = []
    times = []
    for name, arguments in PROCESSES.items():
        states: dict[str, Callable[[], Took]] = {
            WARM: partial(seconds_of, arguments),
            NO_CACHE: partial(first_seconds_of, arguments),
            COLD: partial(cold_seconds_of, arguments, kept),
        }
        seconds_of(arguments)  # so that the first round is warm, too
        for state, timed in states.items():
            if state != COLD or not reason:
                times.append({"process": name, "state": state, **rounds(timed, seconds)})
    cold = {"left_out": reason} if reason else {"kept_share": max(kept)}
    return {"times": times, "cold_files": cold}


def rounds(timed: Callable[[], Took], seconds: float) -> dict[str, float]:
    """The least and the median seconds of up to MOST_ROUNDS processes."""
    end = time.perf_counter() + seconds
    took = [timed()]
    while time.perf_counter() < end and len(took) < MOST_ROUNDS:
        took.append(timed())
    wall_s = [each.wall_s for each in took]
    return {
        "least_s": min(wall_s),
        "median_s": statistics.median(wall_s),
        "least_processor_s": min(each.processor_s for each in took),
        "rounds": len(took),
    }


def seconds_of(arguments: Sequence[str], **settings: str) -> Took:
    """How long this Python takes with these arguments and environment variables.

    Raises:
        RuntimeError: it fails.
    """
    path = os.pathsep.join(filter(None, (str(HOME), os.environ.get("PYTHONPATH"))))
    told = os.environ | {"PYTHONPATH": path, **settings}
    start, before = time.perf_counter(), _processor_s()
    done = subprocess.run([sys.executable, *arguments], env=told, capture_output=True, text=True)
    took = Took(time.perf_counter() - start, _processor_s() - before)
    if done.returncode:
        raise RuntimeError(f"{' '.join(arguments)}: {done.stderr.strip()}")
    return took


def _processor_s() -> float:
    """What all processes that this one has waited for had a processor for."""
    times = os.times()
    return times.children_user + times.children_system


def first_seconds_of(arguments: Sequence[str]) -> Took:
    """The same with an empty cache of ours."""
    with tempfile.TemporaryDirectory() as empty:
        return seconds_of(arguments, RALLY_RECOVERY_CACHE=empty)


def cold_seconds_of(arguments: Sequence[str], kept: list[float]) -> Took:
    """The same with files of the packages not read yet; adds to `kept` what share was read."""
    kept.append(forget(package_files()))
    return first_seconds_of(arguments)


def why_not_cold() -> str:
    """Why the system cannot be told to forget files; nothing where it can."""
    if not hasattr(os, "posix_fadvise") or not hasattr(ctypes.CDLL(None), "mincore"):
        return f"{sys.platform} cannot be told to forget files"
    return ""


def package_files() -> Iterator[Path]:
    """Every file of the installed packages and of this one."""
    installed = {sysconfig.get_path(kind) for kind in ("purelib", "platlib")}
    own = {str(HOME / layer) for layer in ("sim", "strategies", "experiments")}
    for folder in sorted(installed | own):
        for where, _, names in os.walk(folder):
            yield from (Path(where, name) for name in names)


def forget(paths: Iterator[Path]) -> float:
    """Have the system read these files anew when they are next used; the share that it keeps.

    A file that cannot be read counts for nothing.
    """
    os.sync()  # what is not written yet is not forgotten
    held = pages = 0
    for path in paths:
        try:
            file = os.open(path, os.O_RDONLY)
        except OSError:
            continue
        try:
            size = os.fstat(file).st_size
            pages += -(-size // mmap.PAGESIZE)
            if pages_in_memory(file, size):  # to forget is slow
                os.posix_fadvise(file, 0, 0, os.POSIX_FADV_DONTNEED)
                held += pages_in_memory(file, size)
        finally:
            os.close(file)
    return held / max(pages, 1)


def pages_in_memory(file: int, size: int) -> int:
    """How many pages of a file of so many bytes the system has in memory, without reading any."""
    if not size:
        return 0
    told = (ctypes.c_ubyte * -(-size // mmap.PAGESIZE))()
    with mmap.mmap(file, size, access=mmap.ACCESS_COPY) as mapped:
        first = ctypes.c_char.from_buffer(mapped)
        place, length = ctypes.c_void_p(ctypes.addressof(first)), ctypes.c_size_t(size)
        del first  # a file that something points into cannot be closed
        ctypes.CDLL(None).mincore(place, length, told)
    return bytes(told).count(1)
