"""Files that a command writes where the user says: whole or absent, never over somebody's own.

The one rule: what is there already is replaced only if it is a file of the same kind that we wrote.
Pictures, films and pages carry our name; a table has the very columns that are to be written.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pandas as pd

from sim.errors import InputError
from sim.whole_file import write_whole

NAME = "rally-recovery"
MOST_BYTES = 500_000_000
Ours = Callable[[bytes], bool]


class NotWrittenError(InputError):
    """A file that the system does not let us write."""


def is_marked(content: bytes) -> bool:
    """Whether a picture, film or page carries our name."""
    return NAME.encode() in content


def require_ours(path: Path, what: str, ours: Ours = is_marked) -> None:
    """Refuse a place where there is something that we did not write.

    Raises:
        InputError: there is; `what` names the kind of file to be written.
    """
    if not os.path.lexists(path):
        return
    try:
        if path.is_file() and path.stat().st_size <= MOST_BYTES and ours(path.read_bytes()):
            return
    except OSError as error:
        raise not_written(path, what, error) from None
    raise InputError(
        f"cannot write the {what} {str(path)!r}: what is there already is no {what} that {NAME}"
        " wrote, so it stays; choose another name, or move it away"
    )


def write_output(path: Path, content: bytes, what: str, ours: Ours = is_marked) -> None:
    """Write a file whole or not at all, over nothing but one of the same kind of ours.

    Raises:
        InputError: something else is there, or it cannot be written.
    """
    require_ours(path, what, ours)
    try:
        write_whole(path, content)
    except OSError as error:
        raise not_written(path, what, error) from error


def write_new(path: Path, text: str) -> None:
    """Write a text file that is not there yet, whole or not at all.

    Raises:
        InputError: there is something of that name, or it cannot be written.
    """
    try:
        write_whole(path, text.encode(), new=True)
    except FileExistsError:
        raise InputError(f"{path} is there already; choose another name or remove it") from None
    except OSError as error:
        raise not_written(path, "file", error) from error


def with_columns(columns: Iterable[str]) -> Ours:
    """What says of a CSV whether it has these columns."""
    head = ",".join(columns).encode()
    return lambda content: content.partition(b"\n")[0] == head


def write_table(table: pd.DataFrame, path: Path) -> None:
    """Write a CSV; one that is there is replaced if it has these columns.

    Raises:
        InputError: something else is there, or it cannot be written.
    """
    content = table.to_csv(index=False, lineterminator="\n").encode()
    write_output(path, content, "table", with_columns(table.columns))


def not_written(path: Path, what: str, error: OSError) -> NotWrittenError:
    """What an error of the file system says to someone who wants that file."""
    return NotWrittenError(
        f"cannot write the {what} {str(path)!r}: {error.strerror or error};"
        " put that right, or choose another place"
    )


@contextmanager
def new_folder(out: Path) -> Iterator[Path]:
    """Give a folder to write into that takes the name `out` when all is written.

    On an error nothing is left.

    Raises:
        InputError: `out` is there already, or cannot be made.
    """
    if os.path.lexists(out):
        raise InputError(f"{out} is there already; choose another folder or remove it")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(
            prefix=".", suffix=".partial", dir=out.parent, ignore_cleanup_errors=True
        ) as beside:
            inside = Path(beside) / out.name
            inside.mkdir()
            yield inside
            inside.rename(out)
    except OSError as error:
        raise not_written(out, "folder", error) from error
