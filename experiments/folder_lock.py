"""One run at a time for a result folder."""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sim.errors import InputError

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
        path.unlink(missing_ok=True)
        os.close(handle)


@contextmanager
def only_run(out: Path) -> Iterator[None]:
    """Hold `out`.lock while a run writes.

    The system gives a lock up when its process ends, however it ends, so that a file left by a run
    that was killed bars nobody. It holds the process and machine for the message of a second run.

    Raises:
        InputError: another run holds it.
        OSError: the file cannot be made or locked.
    """
    path = out.with_name(out.name + ".lock")
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = _locked(path, out)
    try:
        os.ftruncate(handle, 0)
        os.write(handle, f"process {os.getpid()} on {socket.gethostname()}\n".encode())
        yield
    finally:
        _let_go(path, handle)


def _locked(path: Path, out: Path) -> int:
    """The handle of the locked file."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _lock(handle)
            if _is_still(path, handle):
                return handle
        except BlockingIOError:
            who = os.read(handle, 200).decode("utf-8", "replace").strip() or "another process"
            os.close(handle)
            raise InputError(
                f"another run ({who}) is writing to {str(out)!r}; wait for it to end,"
                " or choose another --out"
            ) from None
        os.close(handle)


def _is_still(path: Path, handle: int) -> bool:
    """Whether the path still leads to the locked file: its last owner removes it at the end."""
    try:
        return os.path.samestat(os.stat(path), os.fstat(handle))
    except FileNotFoundError:
        return False
