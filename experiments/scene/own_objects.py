"""Policies and shot models made in Python, in the words that a study file has for them.

A study is kept as text, and its folder holds the code of whatever is no part of the catalogue, so
that it can be played again elsewhere. A class of a module is named by its file. A class that was
written in a notebook or a script has no file that can be run for it alone: its source, with what it
uses of the notebook, is written into a file of its own, which goes when the process ends.
"""

from __future__ import annotations

import ast
import atexit
import dataclasses
import inspect
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

from experiments.output.files import portable_stem
from sim.errors import InputError
from strategies.watched import WatchedPolicy, WatchedShots

PLAIN = str | int | float


def words_of(thing: Any, catalogue: Mapping[str, type]) -> str:
    """The words for a policy or shot model: its name in a catalogue or its file, its parameters.

    Words stay as they are.

    Raises:
        InputError: an object that is not made from plain parameters, or whose source is not known.
    """
    if isinstance(thing, str):
        return thing
    if isinstance(thing, WatchedPolicy | WatchedShots):
        return thing.text
    kind: type = type(thing)
    listed = next((name for name, known in catalogue.items() if known is kind), None)
    return ",".join([listed or f"{_file_of(kind)}:{kind.__name__}", *_parameters(thing)])


def _parameters(thing: Any) -> Iterator[str]:
    """The parameters that differ from their defaults, as `name=value`."""
    if not dataclasses.is_dataclass(thing):
        if vars(thing):
            raise _refused(thing, "is no dataclass, so its parameters are not known")
        return
    for field in dataclasses.fields(thing):
        value = getattr(thing, field.name)
        made = field.default_factory
        default = field.default if made is dataclasses.MISSING else made()
        if not field.init or value == default:
            continue
        if not isinstance(value, PLAIN) or "," in str(value):
            raise _refused(thing, f"has the parameter {field.name} that is no number or plain text")
        yield f"{field.name}={value!r}" if isinstance(value, float) else f"{field.name}={value}"


def _refused(thing: Any, why: str) -> InputError:
    return InputError(
        f"{type(thing).__name__!r} {why}, so a study cannot hold it; save it as an object of a file"
        " and name that: 'path/to/file.py:name'"
    )


@cache
def _file_of(kind: type) -> Path:
    """The file of code that gives the class, run by itself."""
    file = getattr(sys.modules.get(kind.__module__), "__file__", None)
    if kind.__module__ != "__main__" and file is not None and "." not in kind.__qualname__:
        return Path(file).resolve()
    try:
        text = "\n\n".join(_sources(kind))
    except (OSError, TypeError):
        raise InputError(
            f"the source of {kind.__name__!r} is not known; save it in a file and name that:"
            f" 'path/to/file.py:{kind.__name__}'"
        ) from None
    folder = Path(tempfile.mkdtemp(dir=_folder()))
    out = folder / f"{portable_stem(kind.__name__.lower())}.py"
    out.write_text(f"from __future__ import annotations\n\n{text}\n", "utf-8", newline="\n")
    return out


@cache
def _folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="rally-recovery-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _sources(thing: Any, known: set[str] | None = None) -> Iterator[str]:
    """The source of a class or function, after that of whatever it uses from its own module."""
    known = set() if known is None else known
    known.add(thing.__name__)
    text = inspect.cleandoc("\n" + inspect.getsource(thing))
    module = vars(sys.modules[thing.__module__])
    for name in sorted({n.id for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Name)}):
        if name in known or name not in module:
            continue
        known.add(name)
        used, origin = module[name], getattr(module[name], "__name__", None)
        if isinstance(used, ModuleType):
            yield f"import {origin} as {name}"
        elif isinstance(used, type | FunctionType) and used.__module__ == thing.__module__:
            yield from _sources(used, known)
        elif origin is not None:
            yield f"from {used.__module__} import {origin} as {name}"
        elif isinstance(used, PLAIN | tuple):
            yield f"{name} = {used!r}"
        else:
            raise TypeError(f"{name} is {type(used).__name__}")
    yield text
