"""Files from people: read only so far as they can be what they should be."""

from __future__ import annotations

import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from sim.errors import InputError

DEEPEST = 20  # tables and lists inside one another; ours have four
# A long chain of keys with dots between: the library takes its length squared to read it.
CHAIN = re.compile(rf"""(?<![\w-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){{{DEEPEST},}}""")


def read_bytes(path: Path, where: str, most: int) -> bytes:
    """The content of a file; `where` names it in messages.

    Raises:
        InputError: it is no ordinary file (a device or a pipe may never end), or is longer than
            `most` bytes.
        OSError: it cannot be read.
    """
    if not stat.S_ISREG(path.stat().st_mode):
        kind = "a folder" if path.is_dir() else "no ordinary file"
        raise InputError(f"{where} is {kind}; give a file")
    with path.open("rb") as stream:
        content = stream.read(most + 1)
    if len(content) > most:
        raise InputError(f"{where} has more than {most:,} bytes, which is too much for such a file")
    return content


def toml_table(text: str, where: str) -> dict[str, Any]:
    """The table in a TOML text; `where` names it in messages.

    Raises:
        InputError: it is not valid TOML, or is nested without need.
    """
    if CHAIN.search(text):
        raise _too_deep(where)
    try:
        table = tomllib.loads(text)
    except RecursionError:
        raise _too_deep(where) from None
    except ValueError as error:  # also of numbers that are too long to be read
        raise InputError(f"{where} is not valid TOML: {error}") from None
    level: list[Any] = [table]
    for _ in range(DEEPEST):
        inside = [part.values() if isinstance(part, dict) else part for part in level]
        level = [part for parts in inside for part in parts if isinstance(part, dict | list)]
        if not level:
            return table
    raise _too_deep(where)


def _too_deep(where: str) -> InputError:
    return InputError(f"{where} nests tables or lists more than {DEEPEST} deep; none of ours does")
