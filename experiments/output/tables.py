"""Tables as CSV: the one writer and the one reader, between which every text stays what it is.

A spreadsheet takes a cell that begins with one of SIGNS for a formula. Such a text is written with
an apostrophe before it, which says "text" there, and read back without.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.files import Ours, require_ours, write_output

SIGNS = ("=", "+", "-", "@", "\t", "\r")
TEXT_MARK = "'"


def fill_table(table: pd.DataFrame, path: Path, digits: int | None = None) -> None:
    """Write a CSV of a result folder; floats with so many digits, or as they are."""
    path.write_bytes(_content(table, digits))


def require_table(path: Path, columns: Iterable[str]) -> None:
    """Refuse a place where there is something else than a table with these columns.

    Raises:
        InputError: there is.
    """
    require_ours(path, "table", _with_columns(columns))


def write_table(table: pd.DataFrame, path: Path) -> Path:
    """Write a CSV that people asked for; one that is there is replaced if it has these columns.

    Raises:
        InputError: something else is there, or it cannot be written.
    """
    return write_output(path, _content(table), "table", _with_columns(table.columns))


def _with_columns(columns: Iterable[str]) -> Ours:
    """What says of a CSV whether it has these columns."""
    head = ",".join(columns).encode()
    return lambda content: content.partition(b"\n")[0] == head


def read_table(path: Path, texts: Iterable[str] = ()) -> pd.DataFrame:
    """A table that was written here; an empty cell holds nothing. The columns `texts` hold texts,
    whatever they look like, "" for none."""
    kinds = dict.fromkeys(texts, object)
    table = pd.read_csv(path, dtype=kinds, keep_default_na=False, na_values=[""])
    held = table.columns.intersection(list(kinds))
    return _mapped(table.fillna(dict.fromkeys(held, "")), _unmarked)


def _content(table: pd.DataFrame, digits: int | None = None) -> bytes:
    form = None if digits is None else f"%.{digits}g"
    text = _mapped(table, _marked).to_csv(index=False, lineterminator="\n", float_format=form)
    return text.encode()


def _mapped(table: pd.DataFrame, change: Callable[[str], str]) -> pd.DataFrame:
    """The table with `change` applied to its texts; columns without a text stay as they are."""
    changed: dict[str, Any] = {}
    for name, column in table.items():
        if not pd.api.types.is_numeric_dtype(column):
            cells = [change(cell) if isinstance(cell, str) else cell for cell in column]
            changed[str(name)] = pd.Series(cells, column.index, column.dtype)
    return table.assign(**changed)


def _is_formula(text: str) -> bool:
    return text.lstrip(TEXT_MARK).startswith(SIGNS)


def _marked(text: str) -> str:
    return f"{TEXT_MARK}{text}" if _is_formula(text) else text


def _unmarked(text: str) -> str:
    return text[1:] if text.startswith(TEXT_MARK) and _is_formula(text) else text
