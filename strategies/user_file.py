"""Decisions from a user's own file: `path/to/file.py:Name`."""

from __future__ import annotations

import hashlib
import importlib.util
import sys
import traceback
from pathlib import Path
from types import ModuleType
from typing import Any

from sim.errors import InputError, unknown_name


def is_user_file(word: str) -> bool:
    """Whether a word names an object in a file rather than a catalogue entry."""
    return word.endswith(".py") or ".py:" in word


def user_file(word: str) -> Path:
    """The file of `path/to/file.py:Name`.

    Raises:
        InputError: the name is missing, or there is no such file.
    """
    path, _, name = word.rpartition(":")
    if not path.endswith(".py") or not name.isidentifier():
        raise InputError(f"{word!r} must have the form path/to/file.py:Name")
    if not Path(path).is_file():
        raise InputError(f"there is no file {path!r}; give path/to/file.py:Name")
    return Path(path)


def user_object(word: str) -> Any:
    """The class or object that `path/to/file.py:Name` names.

    The module's name is fixed by the file's content, so the same file gives the same objects and
    they pickle within one process and those forked from it.

    Raises:
        InputError: no such file or name, or the file cannot be imported.
    """
    path, name = user_file(word), word.rpartition(":")[2]
    module = _module(path)
    if not hasattr(module, name):
        public = [n for n in vars(module) if not n.startswith("_")]
        raise unknown_name(f"name in {path}", name, public)
    return getattr(module, name)


def _module(path: Path) -> ModuleType:
    try:
        digest = hashlib.sha256(str(path.resolve()).encode() + path.read_bytes()).hexdigest()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}") from None
    name = f"user_{path.stem}_{digest[:16]}"
    if name in sys.modules:
        return sys.modules[name]
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise InputError(f"{path} is not a Python file")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module  # dataclasses look their module up while it is being made
    try:
        spec.loader.exec_module(module)
    except (Exception, SystemExit) as error:
        del sys.modules[name]
        raise InputError(f"{_where(error, path)}: {_what(error)}") from None
    return module


def _where(error: BaseException, path: Path) -> str:
    """The file, and the line in it where the error came up."""
    if isinstance(error, SyntaxError):
        return f"{path}, line {error.lineno}"
    frames = traceback.extract_tb(error.__traceback__)
    lines = [frame.lineno for frame in frames if Path(frame.filename) == path]
    return f"{path}, line {lines[-1]}" if lines else str(path)


def _what(error: BaseException) -> str:
    text = error.msg if isinstance(error, SyntaxError) else str(error)
    return f"{type(error).__name__}: {(text or '').splitlines()[0] if text else ''}".rstrip(": ")
