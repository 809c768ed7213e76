"""Finding and calling the kernels that were compiled ahead of time."""

from __future__ import annotations

import ctypes
import functools
import hashlib
import json
import platform
import sys
import sysconfig
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from sim.native.notation import NONE, text_of
from sim.source import LAYERS, source_hash

FOLDER = Path(__file__).parent
LISTED = FOLDER / "kernels.json"
NUMBER_TYPES: dict[str, Any] = {"f8": ctypes.c_double, "i8": ctypes.c_int64, "b1": ctypes.c_bool}
OF_TYPE: dict[str, Callable[[Any], Any]] = {"f8": float, "i8": int, "b1": bool}
SHIPPED_LAYERS = LAYERS[:2]  # those of experiments are for measuring
PROBE = "probe"  # the entry that tells whether arrays are laid out as the objects take them to be


def platform_name() -> str:
    """The name of this kind of machine in the list."""
    machine = platform.machine().lower()
    return f"{sys.platform}-{ {'amd64': 'x86_64', 'arm64': 'aarch64'}.get(machine, machine) }"


@functools.cache
def listed() -> dict[str, Any]:
    """What `kernels.json` says; empty where it is not there."""
    try:
        return json.loads(LISTED.read_text(encoding="utf-8"))
    except OSError:
        return {}


@functools.cache
def is_fresh(layer: str) -> bool:
    """Whether the kernels of a layer were made from the source as it is."""
    return listed().get("source", {}).get(layer) == source_hash(layer)


@functools.cache
def library() -> ctypes.CDLL | None:
    """The object for this machine; None where there is none, or it cannot be used here."""
    made = listed().get("objects", {}).get(platform_name())
    usual = platform.python_implementation() == "CPython" and sys.byteorder == "little"
    if made is None or not usual or sysconfig.get_config_var("Py_GIL_DISABLED"):
        return None
    file = FOLDER / made["file"]
    try:
        if hashlib.sha256(file.read_bytes()).hexdigest() != made["sha256"]:
            return None  # a damaged one would end the process
        found = ctypes.CDLL(str(file))
    except OSError:
        return None
    return found if _sees_arrays(found) else None


def _sees_arrays(found: ctypes.CDLL) -> bool:
    """Whether the objects read address and shape of an array as NumPy has them."""
    probe = getattr(found, PROBE)
    probe.argtypes, probe.restype = [ctypes.py_object, ctypes.c_void_p], None
    asked, told = np.zeros((3, 5)), (ctypes.c_int64 * 3)()
    probe(asked, told)
    return list(told) == [asked.ctypes.data, 3, 5]


def shipped(kernel: str, key: Sequence[Any]) -> Callable[..., Any] | None:
    """The compiled form of a kernel (`module:name`) for arguments of such types, if it is there."""
    layer = kernel.partition(".")[0]
    texts = [text_of(each) for each in key]
    entry = listed().get("entries", {}).get(kernel, {}).get(",".join(map(str, texts)))
    if entry is None or not is_fresh(layer) or (found := library()) is None:
        return None
    call = caller(found, entry, [str(text) for text in texts])
    scattered = any(isinstance(each, tuple) and each[-1] is False for each in key)
    return _through_copies(call) if scattered else call


def _through_copies(call: Callable[..., Any]) -> Callable[..., Any]:
    """A call for arrays whose numbers do not lie one after another, as the objects ask for."""

    def run(*values: Any) -> Any:
        whole = [np.ascontiguousarray(v) if isinstance(v, np.ndarray) else v for v in values]
        result = call(*whole)
        for value, copy in zip(values, whole, strict=True):
            if copy is not value and value.flags.writeable:
                value[...] = copy
        return result

    return run


def caller(found: ctypes.CDLL, entry: Mapping[str, str], texts: list[str]) -> Callable[..., Any]:
    """A Python function that hands its arguments on and brings back what the kernel returns.

    `entry` is a kernel's in the list, `texts` the notations of what it takes.
    """
    function, gives = getattr(found, entry["symbol"]), entry["gives"]
    opened = ",".join(texts).replace("(", "").replace(")", "").split(",")
    function.argtypes = [_argument(text) for text in opened if text != NONE]
    plain = all(text.endswith("]") or text in ("f8", "i8", "b1") for text in texts)
    several = "," in gives or gives.startswith("(")
    function.restype = None if several or gives == NONE else NUMBER_TYPES[gives]
    call = function if not several else _with_results(function, gives.strip("(,)").split(","))
    return call if plain else lambda *values: call(*flat(values))


def _argument(text: str) -> Any:
    return NUMBER_TYPES.get(text, ctypes.py_object)


def flat(values: Sequence[Any]) -> list[Any]:
    """Arguments as the objects take them: without None, tuples opened, a record as an array."""
    out: list[Any] = []
    for value in values:
        if isinstance(value, tuple):
            out += flat(value)
        elif isinstance(value, np.void):
            out.append(np.ndarray((1,), value.dtype, buffer=value))
        elif value is not None:
            out.append(value)
    return out


def _with_results(function: Any, gives: list[str]) -> Callable[..., tuple[Any, ...]]:
    """A call of a kernel that returns several numbers."""
    room = ctypes.c_double * len(gives)
    kinds = [OF_TYPE[each] for each in gives]
    function.argtypes = [*function.argtypes, ctypes.POINTER(ctypes.c_double)]

    def call(*values: Any) -> tuple[Any, ...]:
        out = room()
        function(*values, out)
        return tuple([kind(number) for kind, number in zip(kinds, out, strict=True)])

    return call
