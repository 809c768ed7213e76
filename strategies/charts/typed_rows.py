"""Rows that people typed into a table (CSV): cut into cells, and what is wrong in them."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

from sim.errors import InputError

SEPARATORS = (",", ";", "\t")
MOST_PROBLEMS = 50  # that are told

Rows = list[tuple[int, list[str]]]  # the line of the file, and the cells


@dataclass(frozen=True)
class Problem:
    """What is wrong in a table: the line of the file, the column, the value, what is allowed."""

    line: int
    column: str
    value: str
    allowed: str

    def __str__(self) -> str:
        return f"line {self.line}, {self.column} is {self.value!r}; {self.allowed}"


def header_and_rows(text: str, where: str) -> tuple[list[str], Rows]:
    """The header in lower case, and the rows below it, cells stripped; empty rows among them.

    Raises:
        InputError: a text that is no CSV.
    """
    try:
        reader = csv.reader(io.StringIO(text), delimiter=separator_of(text))
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        raise InputError(f"{where} is no CSV: {error}") from None
    if rows and rows[0][1][:1] and rows[0][1][0].lower().startswith("sep="):
        rows = rows[1:]  # a spreadsheet's note of its separator
    return ([name.lower() for name in rows[0][1]], rows[1:]) if rows else ([], [])


def separator_of(text: str) -> str:
    """What stands between the cells: a comma, or the semicolon or tab of spreadsheets elsewhere."""
    lines = [line for line in text.split("\n", 2) if not line.lower().startswith("sep=")]
    return max(SEPARATORS, key=lines[0].count) if lines else SEPARATORS[0]


def require_none(problems: Sequence[Problem], where: str) -> None:
    """Refuse a table with problems, all of them told.

    Raises:
        InputError: there are any.
    """
    if not problems:
        return
    shown = [f"  {problem}" for problem in problems[:MOST_PROBLEMS]]
    more = len(problems) - len(shown)
    shown += [f"  and {more} more"] if more else []
    count = f"{len(problems)} problem{'s' if len(problems) > 1 else ''}"
    raise InputError("\n".join([f"{where} has {count}:", *shown]))
