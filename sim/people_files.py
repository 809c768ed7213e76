"""Text files and numbers from people: the one reader of player files, charts, studies and texts.

A file is read only so far as it can be what it should be. Editors and spreadsheets save the same
words in several codings, with a mark in front or without, and half of the world writes a comma in a
number: what can mean one thing only is read as that.
"""

from __future__ import annotations

import codecs
import re
import stat
import tomllib
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sim.errors import InputError

MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
WITHOUT_MARK = ("utf-8", "cp1252")
COMMA = re.compile(r"([+-]?\d*),(\d+)")
PLAIN = re.compile(r"[+-]?(?:(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?|nan|inf(?:inity)?)", re.IGNORECASE)
DEEPEST = 20  # tables and lists inside one another; ours have four
# A long chain of keys with dots between: the library takes its length squared to read it.
CHAIN = re.compile(rf"""(?<![\w-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){{{DEEPEST},}}""")


def read_text(path: Path, where: str, most: int) -> str:
    """The text in a file of at most so many bytes; `where` names it in messages.

    Raises:
        InputError: as `read_bytes` and `text_of`.
        OSError: it cannot be read.
    """
    return text_of(read_bytes(path, where, most), where)


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


def text_of(data: bytes, where: str) -> str:
    """The text in a file's bytes: UTF-8, UTF-16 with its mark, or the Western code page 1252.

    The mark is left out and every line ends in a line feed; `where` names the file in messages.

    Raises:
        InputError: no text in one of these codings.
    """
    marked = [coding for mark, coding in MARKS.items() if data.startswith(mark)]
    for coding in marked or WITHOUT_MARK:
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\0" in text or (coding == "cp1252" and any(map(_is_control, text))):
            break
        return text.replace("\r\n", "\n").replace("\r", "\n")
    raise InputError(
        f"{where} cannot be read: it is no text in UTF-8, UTF-16 or the Western code page 1252;"
        " save it as UTF-8"
    )


def _is_control(character: str) -> bool:
    return unicodedata.category(character) == "Cc" and character not in "\t\n\r\f"


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


def decimal(text: str, fits: Callable[[float], bool]) -> float | None:
    """The number that a text says, with a decimal point or a decimal comma; None if it is none.

    A comma before three digits may also set off thousands: where both readings fit, the text says
    neither, and is None.
    """
    text = text.strip()
    if PLAIN.fullmatch(text):
        return float(text)
    found = COMMA.fullmatch(text)
    if found is None or not (found[1].lstrip("+-") or found[2]):
        return None
    value = float(f"{found[1]}.{found[2]}")
    if len(found[2]) == 3 and found[1].lstrip("+-0") and fits(value):
        thousands = float(found[1] + found[2])
        return None if fits(thousands) else value
    return value
