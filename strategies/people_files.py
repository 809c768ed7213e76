"""Text files and numbers as people write them: one reader for player files, charts, studies, texts.

Editors and spreadsheets save the same words in several codings, with a mark in front or without,
and half of the world writes a comma in a number. What can mean one thing only is read as that.
"""

from __future__ import annotations

import codecs
import re
import unicodedata
from collections.abc import Callable

from sim.errors import InputError

MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
WITHOUT_MARK = ("utf-8", "cp1252")
COMMA = re.compile(r"([+-]?\d*),(\d+)")
PLAIN = re.compile(r"[+-]?(?:(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?|nan|inf(?:inity)?)", re.IGNORECASE)


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
