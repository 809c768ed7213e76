"""Files that a command writes where the user says: whole or absent, never over somebody's own.

The one rule: what is there already is replaced only if it is a file of the same kind that we wrote.
Pictures, films and pages carry our name; a table has the very columns that are to be written.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sim.errors import InputError
from sim.whole_file import write_whole

NAME = "rally-recovery"
MOST_BYTES = 500_000_000
PICTURES = (".png", ".svg", ".pdf")
Ours = Callable[[bytes], bool]
# What a disk says that has no hard links: a memory stick, many network folders.
NO_LINKS = {
    getattr(errno, name, None) for name in ("EPERM", "EINVAL", "ENOSYS", "ENOTSUP", "EOPNOTSUPP")
}
# Windows gives these names to devices, whatever their ending.
DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


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
    if not path.is_file():
        kind = "a folder" if path.is_dir() else "no ordinary file"
        raise InputError(
            f"cannot write the {what}: {str(path)!r} is {kind}, so it stays; give another name"
        )
    raise InputError(
        f"cannot write the {what} {str(path)!r}: what is there already is no {what} that {NAME}"
        " wrote, so it stays; choose another name, or move it away"
    )


def require_picture_suffix(path: Path) -> str:
    """The suffix of a picture file, in lower case.

    Raises:
        InputError: not one of PICTURES (says which are), or what is there is no picture of ours.
    """
    suffix = path.suffix.lower()
    if suffix not in PICTURES:
        raise InputError(
            f"cannot draw to {str(path)!r}: its name ends in {path.suffix or 'nothing'!r};"
            f" give a name that ends in one of {', '.join(PICTURES)}"
        )
    require_ours(path, "picture")
    return suffix


def require_writable(path: Path) -> None:
    """Try whether a file can be written there, without leaving anything behind.

    Raises:
        InputError: it is a folder or a device, or its folder is not there or takes no files.
    """
    try:
        if path.is_dir() or not path.name:
            raise InputError(f"{str(path)!r} is a folder; give the name of a file in it")
        with suppress(FileNotFoundError, NotADirectoryError):
            if not stat.S_ISREG(os.stat(path).st_mode):
                raise InputError(f"{str(path)!r} is no ordinary file; give another name")
        folder = Path(os.path.realpath(path)).parent
        if not folder.is_dir():
            raise InputError(
                f"there is no folder {str(path.parent)!r} to write {path.name!r} into; make it"
                " first or name another"
            )
        tempfile.TemporaryFile(dir=folder).close()
    except OSError as error:
        raise not_written(path, "file", error) from None


def require_new_folder(path: Path) -> None:
    """Try whether a new folder can be made there, without leaving anything behind.

    Raises:
        InputError: there is something of that name, or it cannot be made.
    """
    if os.path.lexists(path):
        raise InputError(f"{path} is there already; choose another folder or remove it")
    try:
        with suppress(FileNotFoundError):
            os.lstat(path)  # a name may be too long
        above = next(folder for folder in path.absolute().parents if folder.exists())
        tempfile.TemporaryFile(dir=above).close()
    except OSError as error:
        raise not_written(path, "folder", error) from None


def write_output(path: Path, content: bytes, what: str, ours: Ours = is_marked) -> Path:
    """Write a file whole or not at all, over nothing but one of the same kind of ours; returns it.

    Raises:
        InputError: something else is there, or it cannot be written.
    """
    require_ours(path, what, ours)
    try:
        write_whole(path, content)
    except OSError as error:
        raise not_written(path, what, error) from error
    return path


def require_new_file(path: Path) -> None:
    """Refuse a place where there is anything.

    Raises:
        InputError: there is.
    """
    if os.path.lexists(path):
        raise _taken(path)


def _taken(path: Path) -> InputError:
    return InputError(f"{path} is there already; choose another name or remove it")


def write_new(path: Path, text: str) -> None:
    """Write a text file that is not there yet, whole or not at all.

    Raises:
        InputError: there is something of that name, or it cannot be written.
    """
    try:
        try:
            write_whole(path, text.encode(), new=True)
        except FileExistsError:
            raise
        except (AttributeError, OSError) as error:  # systems without hard links, and disks
            if isinstance(error, OSError) and error.errno not in NO_LINKS:
                raise
            _write_claimed(path, text.encode())
    except FileExistsError:
        raise _taken(path) from None
    except OSError as error:
        raise not_written(path, "file", error) from error


def _write_claimed(path: Path, content: bytes) -> None:
    """Write a new file where there are no hard links: the name is taken by an empty file first, in
    whose place the whole one comes; on an error nothing is left.

    Raises:
        OSError: it cannot be written; a FileExistsError where something is there.
    """
    path.open("xb").close()
    try:
        write_whole(path, content)
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def portable_stem(stem: str) -> str:
    """A file's name without its ending that every system takes: not one of Windows' devices."""
    return f"{stem}_" if DEVICE.fullmatch(stem) else stem


def not_written(path: Path, what: str, error: OSError) -> NotWrittenError:
    """What an error of the file system says to someone who wants that file."""
    held = isinstance(error, PermissionError) and path.is_file()
    hint = "close it where it is open, put that right" if held else "put that right"
    return NotWrittenError(
        f"cannot write the {what} {str(path)!r}: {error.strerror or error};"
        f" {hint}, or choose another place"
    )


@contextmanager
def new_folder(out: Path) -> Iterator[Path]:
    """Give a folder to write into that takes the name `out` when all is written.

    On an error nothing is left.

    Raises:
        InputError: `out` is there already, or cannot be made.
    """
    require_new_folder(out)
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
