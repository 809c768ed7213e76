"""What pydantic says of a file's keys, in plain words."""

from __future__ import annotations

import reprlib
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from sim.errors import unknown_name

PLAIN = {"dictionary": "table", "tuple": "list", "string": "text", "Input": "it"}


MOST_ERRORS = 20


def all_plain(errors: Sequence[Any], explain: Callable[[Any], str]) -> str:
    """Errors in one line, the first MOST_ERRORS in words."""
    said = [explain(error) for error in errors[:MOST_ERRORS]]
    more = [f"and {len(errors) - MOST_ERRORS} more"] if len(errors) > MOST_ERRORS else []
    return "; ".join([*said, *more])


def plain_words(error: Any, keys_at: Callable[[tuple[Any, ...]], Iterable[str]]) -> str:
    """One of pydantic's errors with its key and the value given.

    `keys_at` gives the keys that are allowed where an unknown one stands, by its place in the file.
    """
    key = ".".join(str(part) for part in error["loc"])
    if error["type"] == "extra_forbidden":
        found = unknown_name("key", str(error["loc"][-1]), keys_at(error["loc"]))
        return f"{key}: {found}" if len(error["loc"]) > 1 else str(found)
    if error["type"] == "value_error":
        message = error["msg"].removeprefix("Value error, ")
        return f"{key}: {message}" if key else str(message)
    if error["type"] == "missing":
        return f"the key {key!r} is missing"
    message = error["msg"]
    for word, plain in PLAIN.items():
        message = message.replace(word, plain)
    return f"{key}: {message} (given: {reprlib.repr(error['input'])})"
