"""Where a result folder goes: written beside its final name by one run, renamed when whole."""

from __future__ import annotations

import os
import re
import socket
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from experiments.output.files import NotWrittenError
from experiments.study.folder_files import names_in, remove_files, strangers
from sim.errors import InputError

SHOWN = 3


@contextmanager
def whole_folder(out: Path, overwrite: bool, resume: bool = False) -> Iterator[Path]:
    """Give `out`.partial to write into; on success it takes the name `out` in one rename.

    On an error or interrupt the partial folder stays; with `resume` it is given as it is. A folder
    that is replaced stands until then, is moved to `out`.replaced, and removed when the new one
    stands.

    Raises:
        InputError: `out` or its partial folder exists and `overwrite` is false, one of them may not
            be replaced, another run is writing, there is nothing to resume, or a file cannot be
            written (a full disk, no permission).
    """
    out = out.resolve()
    partial = out.with_name(out.name + ".partial")
    try:
        _refuse_existing(out, partial, overwrite, resume)
        with only_run(out):
            _refuse_existing(out, partial, overwrite, resume)
            if partial.exists() and not resume:
                remove_files(partial, _files_of(partial))
            partial.mkdir(parents=True, exist_ok=True)
            yield partial
            _take_place(partial, out)
    except OSError as error:
        what = f"{error.strerror or error} ({error.filename or partial})"
        said = f"the result folder {str(out)!r} cannot be written: {what}."
        raise _not_written(said, partial) from error
    except NotWrittenError as error:
        raise _not_written(f"{error}.", partial) from error


def _refuse_existing(out: Path, partial: Path, overwrite: bool, resume: bool) -> None:
    """Refuse a folder that is there, or one that a run should go on with and is not."""
    if resume and not partial.exists():
        raise InputError(
            f"there is nothing to resume: no folder {str(partial)!r}; check --out, or leave out"
            " --resume"
        )
    existing = {out: "result folder"}
    if not resume:
        existing[partial] = "unfinished folder of an earlier run"
    for folder, what in existing.items():
        if folder.exists() and not overwrite:
            go_on = ", go on with it by --resume" if folder == partial else ""
            raise InputError(
                f"{what} {str(folder)!r} exists; choose another --out, delete it,"
                f" or add --overwrite (in Python overwrite=True) to replace it{go_on}"
            )
    _require_replaceable(out, finished=True)
    if overwrite:
        _require_replaceable(_aside(out), finished=True)
    if not resume:
        _require_replaceable(partial, finished=False)


def _aside(out: Path) -> Path:
    return out.with_name(out.name + ".replaced")


def _not_written(said: str, partial: Path) -> InputError:
    """What to do when the file system refused; `said` is a sentence of what happened."""
    if not partial.exists():
        return InputError(f"{said} Put that right and start again, or choose another --out")
    return InputError(
        f"{said} What was written stays in {str(partial)!r}: put that right and go on with"
        " --resume, start again with --overwrite, or choose another --out"
    )


def _require_replaceable(folder: Path, finished: bool) -> None:
    """Refuse to replace what no study wrote: --overwrite must not cost anyone other files."""
    if not folder.exists():
        return
    for what, place in _places():
        if place.is_relative_to(folder):
            raise _kept(folder, f"is {what}, or holds it")
    foreign = strangers(folder, finished) if folder.is_dir() else None
    if foreign is None:
        kind = "result folder" if finished else "unfinished folder of a run"
        raise _kept(folder, f"is not a {kind}" if finished else f"is no {kind}")
    if any(".git" in name.split("/") for name in foreign):
        raise _kept(folder, "is a checkout, or holds one")
    if foreign:
        more = f" and {len(foreign) - SHOWN} more" if len(foreign) > SHOWN else ""
        names = ", ".join(repr(name) for name in foreign[:SHOWN])
        raise _kept(folder, f"holds what no study wrote: {names}{more}")


def _places() -> Iterator[tuple[str, Path]]:
    """Folders that are never replaced; a user or process may have none."""
    with suppress(OSError):
        yield "the current folder", Path.cwd().resolve()
    with suppress(OSError, RuntimeError):
        yield "your home folder", Path.home().resolve()


def _kept(folder: Path, why: str) -> InputError:
    return InputError(
        f"{str(folder)!r} {why}, so it is not replaced; choose another --out, or move away what"
        " is there"
    )


def _take_place(partial: Path, out: Path) -> None:
    """Rename the whole folder, the one that it replaces out of the way and back if that fails."""
    aside = _aside(out)
    replaces = out.exists()
    if replaces:
        _require_replaceable(out, finished=True)  # again: much may have happened since
        _clear(aside)
        out.rename(aside)
    try:
        partial.rename(out)
    except BaseException:
        if replaces:
            aside.rename(out)
        raise
    with suppress(OSError, InputError):
        _clear(aside)


def _clear(aside: Path) -> None:
    """Remove a folder that was moved aside, now or by a run that was killed."""
    if aside.exists():
        _require_replaceable(aside, finished=True)
        remove_files(aside, _files_of(aside))


def _files_of(folder: Path) -> list[str]:
    return [name for name in names_in(folder) if not (folder / name).is_dir()]


SUFFIX = ".rally-recovery-lock"
WHO = re.compile(rb"rally-recovery: (process \d+ on [^\n]*)\n")
WITHOUT_LINKS = getattr(os, "O_NOFOLLOW", 0)

if sys.platform == "win32":
    import msvcrt

    BEYOND_THE_TEXT = 1000  # so that the text can be read while that byte is locked

    def _lock(handle: int) -> None:
        os.lseek(handle, BEYOND_THE_TEXT, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            raise BlockingIOError from None
        finally:
            os.lseek(handle, 0, os.SEEK_SET)

    def _let_go(path: Path, handle: int) -> None:
        os.close(handle)  # an open file cannot be removed
        with suppress(OSError):
            path.unlink()

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _let_go(path: Path, handle: int) -> None:
        if _is_still(path, handle):
            path.unlink(missing_ok=True)
        os.close(handle)


@contextmanager
def only_run(out: Path) -> Iterator[None]:
    """Hold the lock of `out`, a file beside it, while a run writes.

    The system gives a lock up when its process ends, however it ends, so that a file left by a run
    that was killed bars nobody. It holds the process and machine for the message of a second run.

    Raises:
        InputError: another run holds it, or what has its name is no lock of ours.
        OSError: the file cannot be made or locked.
    """
    path = out.with_name(out.name + SUFFIX)
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = _locked(path, out)
    try:
        os.ftruncate(handle, 0)
        who = f"rally-recovery: process {os.getpid()} on {socket.gethostname()}\n"
        os.write(handle, who.encode())
        yield
    finally:
        _let_go(path, handle)


def _locked(path: Path, out: Path) -> int:
    """The handle of the locked file."""
    while True:
        _require_file(path)
        handle = os.open(path, os.O_RDWR | os.O_CREAT | WITHOUT_LINKS, 0o644)
        try:
            held = os.pread(handle, 400, 0) if hasattr(os, "pread") else os.read(handle, 400)
            found = WHO.fullmatch(held)
            if held and not found:
                raise _not_ours(path)
            _lock(handle)
            if _is_still(path, handle):
                return handle
        except BlockingIOError:
            who = found[1].decode("utf-8", "replace") if found else "another process"
            os.close(handle)
            raise InputError(
                f"another run ({who}) is writing to {str(out)!r}; wait for it to end,"
                " or choose another --out"
            ) from None
        except InputError:
            os.close(handle)
            raise
        os.close(handle)


def _require_file(path: Path) -> None:
    """Refuse a folder, a link or a device under the lock's name: opening some of them has effects.

    Raises:
        InputError: it is one.
    """
    with suppress(FileNotFoundError):
        if not stat.S_ISREG(os.lstat(path).st_mode):
            raise _not_ours(path)


def _not_ours(path: Path) -> InputError:
    return InputError(
        f"{str(path)!r} is where a run keeps its lock, and it is not one; it stays:"
        " move it away, or choose another --out"
    )


def _is_still(path: Path, handle: int) -> bool:
    """Whether the path still leads to the locked file: its last owner removes it at the end."""
    try:
        return os.path.samestat(os.lstat(path), os.fstat(handle))
    except FileNotFoundError:
        return False
