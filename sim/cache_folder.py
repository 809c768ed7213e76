"""The user's cache folder: a folder of its own for each version of what is kept in it."""

from __future__ import annotations

import contextlib
import functools
import os
import re
from pathlib import Path

import platformdirs

from sim.source import LAYERS
from sim.whole_file import UNFINISHED

VERSIONS_KEPT = 3
TABLES = "tables"
KINDS = (TABLES, *LAYERS)  # tables (sim.table_cache), and each layer's kernels (sim.kernel_cache)
OWN_FOLDER = re.compile(rf"({'|'.join(KINDS)})-[0-9a-f]{{24}}")
# Indices, machine code and tables.
OWN_FILE = re.compile(rf".+\.nb[ic](\.tmp\.\w+)?|[\w-]+-[0-9a-f]{{24}}|{UNFINISHED.pattern}")


def cache_root() -> Path:
    """The folder that holds the cache: RALLY_RECOVERY_CACHE, or else the user's cache folder.

    Raises:
        OSError: there is neither.
    """
    chosen = os.environ.get("RALLY_RECOVERY_CACHE")
    if chosen:
        return Path(chosen).absolute()
    root = Path(platformdirs.user_cache_dir("rally-recovery", appauthor=False))
    if not root.is_absolute():  # "~/..." remains for a user without a home folder
        raise OSError(f"there is no user's cache folder: {root}")
    return root


@functools.cache
def folder_of(kind: str, key: str) -> Path | None:
    """The folder for what is kept of a kind under a key of 24 digits; None where there can be none.

    It is made if need be, and then the oldest folders of the kind are removed. One that is there
    and cannot be written is read.
    """
    try:
        folder = cache_root() / f"{kind}-{key}"
        is_new = not folder.is_dir()
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    with contextlib.suppress(OSError):
        os.utime(folder)
        if is_new:
            _prune(folder.parent, kind)
    return folder


def _prune(root: Path, kind: str) -> None:
    """Remove all but the last used folders of a kind; a run that uses one makes it again.

    The root may be a folder with other things in it: what is not named as ours stays.
    """
    found = [path for path in root.glob(f"{kind}-*") if OWN_FOLDER.fullmatch(path.name)]
    for folder in sorted(found, key=lambda path: path.stat().st_mtime)[:-VERSIONS_KEPT]:
        for path in sorted(folder.rglob("*"), reverse=True):  # what a folder holds before it
            _remove(path)
        _remove(folder)


def _remove(path: Path) -> None:
    """Remove a file of ours or an empty folder; another process may be doing the same."""
    with contextlib.suppress(OSError):
        if path.is_dir():
            path.rmdir()
        elif OWN_FILE.fullmatch(path.name):
            path.unlink()
