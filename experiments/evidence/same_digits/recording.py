"""Calls of kernels, written down: what each was called with, and what it gave.

A folder of them holds three files. ARRAYS: the content of all arguments one after another, each
content once. CALLS: a line of JSON a call. NATIVE: what the calls gave; for each the numbers that
it returned, then the whole content of the arguments that it changed, in words of 8 bytes. Arguments
are counted without None and with tuples opened.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, BinaryIO, TextIO

import numpy as np

from sim.compiled import Kernel
from sim.errors import InputError
from sim.native.load import SHIPPED_LAYERS, flat, shipped
from sim.native.notation import key_of, text_of

ARRAYS, CALLS, NATIVE = "arrays.bin", "calls.jsonl", "native.bin"
WORD = 8
ROOM_BYTES = 200_000  # for the arguments of calls that are alike, until `Recording.anew`


def content_of(value: Any) -> bytes:
    """An argument's content; a number's is one word, as a 64-bit number of its kind."""
    if isinstance(value, np.ndarray):
        return np.ascontiguousarray(value).tobytes()
    return np.float64(value).tobytes() if isinstance(value, float) else np.int64(value).tobytes()


def results_of(result: Any) -> bytes:
    """What a kernel returned, as words."""
    if result is None:
        return b""
    return b"".join(map(content_of, result if isinstance(result, tuple) else (result,)))


def whole_words(content: bytes) -> bytes:
    return content + bytes(-len(content) % WORD)


def _unlike(*contents: bytes) -> int:
    """How many words of two contents are not the same."""
    one, other = (np.frombuffer(whole_words(content), np.int64) for content in contents)
    return int(np.count_nonzero(one != other))


@dataclass(frozen=True)
class Call:
    """One line of CALLS."""

    kernel: str  # its path
    takes: str  # the notation of its types (sim.native.notation)
    given: list[list[int]]  # the place in ARRAYS and the shape of each argument
    changed: list[int]  # which arguments it changed
    words: int  # how many it gave
    numbers: int  # how many of them it returned or changed


@dataclass
class Recording:
    """The files of a recording in the making.

    A policy that looks ahead strikes and meets thousands of balls. So of calls that are alike, of
    one kernel with arrays of the same lengths, only the first are written down, until their
    arguments take ROOM_BYTES.
    """

    arrays: BinaryIO
    calls: TextIO
    given: BinaryIO
    places: dict[bytes, int] = field(default_factory=dict)
    end: int = 0
    missing: set[str] = field(default_factory=set)
    taken: Counter[Hashable] = field(default_factory=Counter)

    def anew(self) -> None:
        """Take calls like those before again."""
        self.taken.clear()

    def place(self, content: bytes) -> int:
        """Where a content stands in ARRAYS; it is added if it is new."""
        digest = hashlib.blake2b(content, digest_size=16).digest()
        if digest not in self.places:
            self.places[digest] = self.end
            self.end += self.arrays.write(whole_words(content))
        return self.places[digest]

    def call(self, kernel: Kernel, run: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        """Call a kernel and write it down."""
        key = [key_of(value) for value in arguments]
        texts = [text_of(each) for each in key]
        if kernel.path.partition(".")[0] not in SHIPPED_LAYERS:
            return run(kernel, *arguments)
        takes = ",".join(map(str, texts))
        if shipped(kernel.path, key) is None:
            self.missing.add(f"{kernel.path} of {takes}")
            return run(kernel, *arguments)
        values = flat(arguments)
        alike = kernel.path, takes, tuple([np.shape(value) for value in values])
        if self.taken[alike] >= ROOM_BYTES:
            return run(kernel, *arguments)
        before = [content_of(value) for value in values]
        self.taken[alike] += sum(map(len, before))
        result = run(kernel, *arguments)
        after = [content_of(value) for value in values]
        changed = [i for i, content in enumerate(after) if content != before[i]]
        places = [[self.place(c), *np.shape(v)] for c, v in zip(before, values, strict=True)]
        returned = results_of(result)
        gave = returned + b"".join(whole_words(after[i]) for i in changed)
        self.given.write(gave)
        numbers = len(returned) // WORD + sum(_unlike(before[i], after[i]) for i in changed)
        line = Call(kernel.path, takes, places, changed, len(gave) // WORD, numbers)
        self.calls.write(json.dumps(asdict(line), separators=(",", ":")) + "\n")
        return result


@contextmanager
def recorded(folder: Path) -> Iterator[Recording]:
    """Write down the calls of shipped kernels that Python code makes meanwhile.

    Raises:
        InputError: a call that no kernel was shipped for.
    """
    run = Kernel.__call__
    with (
        (folder / ARRAYS).open("wb") as arrays,
        (folder / CALLS).open("w", encoding="utf-8") as calls,
        (folder / NATIVE).open("wb") as given,
    ):
        recording = Recording(arrays, calls, given)
        Kernel.__call__ = lambda kernel, *a: recording.call(kernel, run, a)  # type: ignore[method-assign]
        try:
            yield recording
        finally:
            Kernel.__call__ = run  # type: ignore[method-assign]
    if recording.missing:
        raise InputError(
            "These calls found no kernel that came with the package; make them by `python -m"
            " sim.native.build` (see there):\n" + "\n".join(sorted(recording.missing))
        )


def calls_in(folder: Path) -> Iterator[Call]:
    """The calls of a recording, in their order."""
    with (folder / CALLS).open(encoding="utf-8") as lines:
        for line in lines:
            yield Call(**json.loads(line))
