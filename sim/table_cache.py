"""Tables that are worked out once and kept on disk, beside the compiled kernels.

A file holds the SHA-256 of its values, then the values. It appears by one rename, so that a reader
finds a whole file or none while several processes write; one that was damaged later fails its hash
and is made again. What cannot be written is not kept: it never stops a run.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from sim.kernel_cache import cache_folder, cache_key

LAYER = "sim"
HASH_BYTES = hashlib.sha256().digest_size


def kept_table(name: str, inputs: bytes, build: Callable[[], np.ndarray]) -> np.ndarray:
    """The read-only float64 table that `build` makes, from the disk if it was made before.

    `inputs` are all numbers that the table depends on; the folder stands for the source.
    """
    folder = cache_folder(LAYER)
    if folder is None:
        return read_only(build())
    path = folder / "tables" / f"{name}-{hashlib.sha256(inputs).hexdigest()[:24]}"
    found = _read(path)
    if found is None:
        found = read_only(build())
        # Not under an old name if the source was edited since this process chose its folder.
        if folder.name == f"{LAYER}-{cache_key(LAYER)}":
            _write(path, found)
    return found


def read_only(table: np.ndarray) -> np.ndarray:
    """The same values as they come from the disk: kernels are compiled for one of the two kinds."""
    table.setflags(write=False)
    return table


def _read(path: Path) -> np.ndarray | None:
    """The table in a file; None if there is no file, or it is not what was written."""
    try:
        content = path.read_bytes()
    except OSError:
        return None
    values = content[HASH_BYTES:]
    if len(values) % 8 or hashlib.sha256(values).digest() != content[:HASH_BYTES]:
        return None
    # An aligned copy: the kernels' loads are compiled for it.
    return read_only(np.frombuffer(values, np.float64).copy())


def _write(path: Path, table: np.ndarray) -> None:
    values = table.tobytes()
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(values).digest() + values)
            os.replace(part, path)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(part)
            raise
