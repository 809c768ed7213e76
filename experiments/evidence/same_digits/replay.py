"""Calls of a recording, made again by another form of the same kernels.

As a program, `python -m experiments.evidence.same_digits.replay FOLDER NAME [LIBRARY]` compiles
the kernels for the processor that numba is told of (NUMBA_CPU_NAME), or calls those of a library
that was built for another one, and writes FOLDER/NAME.bin, laid out as NATIVE.
"""

from __future__ import annotations

import ctypes
import importlib
import json
import mmap
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from experiments.evidence.same_digits.recording import (
    ARRAYS,
    WORD,
    Call,
    calls_in,
    content_of,
    results_of,
    whole_words,
)
from sim.native.load import LISTED, caller, flat, listed
from sim.native.notation import NONE, NUMBERS, from_described, split

Runner = Callable[[str, str], Callable[..., Any]]  # of a kernel's path and types


def just_in_time(kernel: str, takes: str) -> Callable[..., Any]:
    """The kernel, compiled here."""
    home, name = kernel.split(":")
    return getattr(importlib.import_module(home), name).just_in_time


def of_library(path: Path) -> Runner:
    """The kernels of a library that was built by `sim.native.build`, with its list beside it."""
    library = ctypes.CDLL(str(path))
    entries = json.loads(path.with_name(LISTED.name).read_text(encoding="utf-8"))["entries"]

    def run(kernel: str, takes: str) -> Callable[..., Any]:
        return caller(library, entries[kernel][takes], split(takes))

    return run


def argument(text: str, places: list[list[int]], arrays: Any) -> Any:
    """The next argument, of a notation, from the places that are left; they are used up."""
    if text == NONE:
        return None
    if text.startswith("("):
        return tuple([argument(each, places, arrays) for each in split(text[1:-1])])
    at, *shape = places.pop(0)
    if text in NUMBERS.values():
        word = arrays[at : at + WORD]
        if text == "f8":
            return float(np.frombuffer(word, np.float64)[0])
        return {"i8": int, "b1": bool}[text](np.frombuffer(word, np.int64)[0])
    base = text.partition("[")[0]
    types = listed()["types"]
    dtype = from_described(types[base]) if base in types else np.dtype(base)
    size = dtype.itemsize * int(np.prod(shape, dtype=np.int64))
    value = np.frombuffer(bytearray(arrays[at : at + size]), dtype).reshape(shape or 1)
    return value if text.endswith("]") else value[0]


def again(call: Call, arrays: Any, run: Callable[..., Any]) -> bytes:
    """What a call gives when it is made again.

    Raises:
        ValueError: it changes an argument that it left alone when it was recorded.
    """
    places = list(call.given)
    arguments = [argument(text, places, arrays) for text in split(call.takes)]
    values = flat(arguments)
    before = [content_of(value) for value in values]
    returned = results_of(run(*arguments))
    after = [content_of(value) for value in values]
    changed = {i for i, content in enumerate(after) if content != before[i]}
    if not changed <= set(call.changed):
        raise ValueError(f"{call.kernel} changes argument {changed - set(call.changed)}")
    return returned + b"".join(whole_words(after[i]) for i in call.changed)


def replay(folder: Path, name: str, runner: Runner) -> Path:
    """Make all calls of a recording again; the file of what they gave."""
    found: dict[tuple[str, str], Callable[..., Any]] = {}
    out = folder / f"{name}.bin"
    with (folder / ARRAYS).open("rb") as file, out.open("wb") as given:
        arrays = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        for call in calls_in(folder):
            key = call.kernel, call.takes
            if key not in found:
                found[key] = runner(*key)
            given.write(again(call, arrays, found[key]))
    return out


def main(arguments: Sequence[str]) -> None:
    folder, name, *library = arguments
    replay(Path(folder), name, of_library(Path(library[0])) if library else just_in_time)


if __name__ == "__main__":
    main(sys.argv[1:])
