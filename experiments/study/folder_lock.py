"""One run at a time for a result folder."""

from __future__ import annotations

import os
import re
import socket
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sim.errors import InputError

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
