"""Files that a command writes: tried before the work, and then written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from sim.errors import InputError

PICTURES = (".png", ".svg", ".pdf")


def require_picture_suffix(path: Path) -> str:
    """The suffix of a picture file, in lower case.

    Raises:
        InputError: not one of PICTURES; says which are.
    """
    suffix = path.suffix.lower()
    if suffix not in PICTURES:
        raise InputError(
            f"cannot draw to {str(path)!r}: its name ends in {path.suffix or 'nothing'!r};"
            f" give a name that ends in one of {', '.join(PICTURES)}"
        )
    return suffix


def require_writable(path: Path) -> None:
    """Try whether a file can be written there, without leaving anything behind.

    Raises:
        InputError: it is a folder or a device, or its folder is not there or takes no files.
    """
    try:
        if path.is_dir() or not path.name:
            raise InputError(f"{str(path)!r} is a folder; give the name of a file in it")
        if path.exists() and not path.is_file():
            raise InputError(f"{str(path)!r} is no ordinary file; give another name")
        _beside(path).exists()  # the longer name, too, must be one
        if not path.parent.is_dir():
            raise InputError(
                f"there is no folder {str(path.parent)!r} to write {path.name!r} into; make it"
                " first or name another"
            )
        tempfile.TemporaryFile(dir=path.parent).close()
    except OSError as error:
        raise _not_written(path, error) from None


def require_new_folder(path: Path) -> None:
    """Try whether a new folder can be made there, without leaving anything behind.

    Raises:
        InputError: there is something of that name, or it cannot be made.
    """
    if path.exists():
        raise InputError(f"{path} is there already; choose another folder or remove it")
    above = next(folder for folder in path.absolute().parents if folder.exists())
    try:
        tempfile.TemporaryFile(dir=above).close()
    except OSError as error:
        raise _not_written(path, error, "the folder") from None


def write_whole(path: Path, content: bytes, what: str = "the file") -> Path:
    """Write a file that appears whole or not at all; returns it. `what` names it in messages.

    Raises:
        InputError: it cannot be written.
    """
    try:
        _beside(path).write_bytes(content)
        os.replace(_beside(path), path)
    except OSError as error:
        _beside(path).unlink(missing_ok=True)
        raise _not_written(path, error, what) from None
    return path


def _beside(path: Path) -> Path:
    return path.with_name(f".{path.name}.partial")


def _not_written(path: Path, error: OSError, what: str = "the file") -> InputError:
    why = error.strerror or str(error)
    return InputError(f"cannot write {what} {str(path)!r}: {why}; choose another place")
