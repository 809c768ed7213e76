"""Tables that are worked out once and kept on disk.

A file is sealed (sim.whole_file): one that was damaged is made again. What cannot be written is not
kept: it never stops a run.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
from collections.abc import Callable
from pathlib import Path

import numpy as np

from sim.cache_folder import TABLES, folder_of
from sim.source import hash_now, source_hash
from sim.whole_file import read_sealed, sealed, write_whole

LAYER = "sim"  # whose kernels make the tables


@functools.cache
def cache_folder() -> Path | None:
    """The folder for the tables of this source; None where there can be none.

    No machine or compiler is in its name: all make the same tables.
    """
    return folder_of(TABLES, source_hash(LAYER)[:24])


def kept_table(name: str, inputs: bytes, build: Callable[[], np.ndarray]) -> np.ndarray:
    """The read-only float64 table that `build` makes, from the disk if it was made before.

    `inputs` are all numbers that the table depends on; the folder stands for the source.
    """
    folder = cache_folder()
    if folder is None:
        return read_only(build())
    path = folder / f"{name}-{hashlib.sha256(inputs).hexdigest()[:24]}"
    found = _read(path)
    if found is None:
        found = read_only(build())
        # Not under an old name if the source was edited since this process chose its folder.
        if hash_now(LAYER) == source_hash(LAYER):
            _write(path, found)
    return found


def read_only(table: np.ndarray) -> np.ndarray:
    """The same values as they come from the disk: kernels are compiled for one of the two kinds."""
    table.setflags(write=False)
    return table


def _read(path: Path) -> np.ndarray | None:
    """The table in a file; None if there is no file, or it is not what was written."""
    values = read_sealed(path)
    # An aligned copy: the kernels' loads are compiled for it.
    return None if values is None else read_only(np.frombuffer(values, np.float64).copy())


def _write(path: Path, table: np.ndarray) -> None:
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, sealed(table.tobytes()))
