"""Decisions from a user's own file: `path/to/file.py:Name`."""

from __future__ import annotations

import hashlib
import importlib.util
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any, TypeVar

from sim.errors import InputError, unknown_name

Answer = TypeVar("Answer")


def is_user_file(word: str) -> bool:
    """Whether a word names an object in a file rather than a catalogue entry."""
    return word.endswith(".py") or ".py:" in word


def is_users(words: str) -> bool:
    """Whether words, which may go on with parameters, name an object in a file."""
    return is_user_file(words.partition(",")[0].strip())


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
    if not asked(word, lambda: hasattr(module, name)):
        public = [n for n in vars(module) if not n.startswith("_")]
        raise unknown_name(f"name in {path}", name, public)
    return asked(word, lambda: getattr(module, name))


def asked(word: str, ask: Callable[[], Answer], failed: str = "") -> Answer:
    """What the user's code that `word` names answers to `ask`; `failed` says what it could not.

    Raises:
        InputError: the code raised anything but an interrupt, which is told with its line: even
            an attempt to end the process, or an error that cannot be put into words.
    """
    try:
        return ask()
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        if type(error) is InputError:
            raise
        path = Path(word.partition(",")[0].rpartition(":")[0])
        raise InputError(f"{_where(error, path, word)}{failed}: {_what(error)}") from None


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
    load = spec.loader.exec_module
    try:
        asked(f"{path}:", lambda: load(module))
    except BaseException:
        del sys.modules[name]
        raise
    return module


def _where(error: BaseException, path: Path, word: str) -> str:
    """The user's word, and the line of the file where the error came up."""
    path, word = path.resolve(), word.removesuffix(":")
    frames = traceback.extract_tb(error.__traceback__)
    places = [(frame.filename, frame.lineno) for frame in frames]
    if isinstance(error, SyntaxError):
        places.append((error.filename or "", error.lineno))
    lines = [line for file, line in places if Path(file).resolve() == path]
    return f"{word}, line {lines[-1]}" if lines else word


def _what(error: BaseException) -> str:
    try:
        text = str(error.msg if isinstance(error, SyntaxError) else error)
    except BaseException as worse:
        if isinstance(worse, KeyboardInterrupt):
            raise
        text = "(an error without words)"
    return f"{type(error).__name__}: {text.splitlines()[0] if text else ''}".rstrip(": ")
