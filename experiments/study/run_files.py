"""What a run writes into its folder, by name: nothing else in it is ever removed or replaced."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from contextlib import suppress
from pathlib import Path

from experiments.study.block_store import BLOCK
from experiments.study.block_store import FOLDER as BLOCKS
from experiments.study.file_names import (
    ANALYSES,
    COLUMNS,
    MANIFEST,
    REPORT,
    RUN_FILE,
    STUDY,
    SUMMARY,
    TABLES,
)
from experiments.study.hashes import table_of
from sim.whole_file import UNFINISHED

FOLDERS = ("own", "figures", BLOCKS)
FILES = {MANIFEST, REPORT, RUN_FILE, STUDY, SUMMARY, COLUMNS}
FILES |= {*TABLES.values(), *ANALYSES.values()}
BY_PATTERN = re.compile(
    rf"figures/(captions\.json|[\w-]+\.(png|svg))|{BLOCKS}/{BLOCK.pattern}|(.+/)?{UNFINISHED.pattern}"
)


def is_of_run(name: str, own: Collection[str]) -> bool:
    """Whether a run with these own files writes a file of this name, relative to its folder."""
    return name in FILES or name in own or BY_PATTERN.fullmatch(name) is not None


def names_in(folder: Path) -> Iterator[str]:
    """All that is in a folder, at any depth, by relative name with slashes."""
    return (path.relative_to(folder).as_posix() for path in sorted(folder.rglob("*")))


def files_of_run(folder: Path, own: Collection[str]) -> list[str]:
    """The files in a folder that a run with these own files wrote."""
    return [n for n in names_in(folder) if is_of_run(n, own) and (folder / n).is_file()]


def strangers(folder: Path, finished: bool) -> list[str] | None:
    """What is in a result folder and no run wrote; None if it is no result folder at all.

    A finished one has a manifest, which lists all; what an unfinished one holds goes by the names
    of what a run writes, its own files by its record. An empty folder is either.
    """
    held = list(names_in(folder))
    listed, own = (table_of(folder / f).get(k) for f, k in ((MANIFEST, "files"), (RUN_FILE, "own")))
    if not isinstance(listed, dict) and (finished or not isinstance(own, dict)):
        left = [n for n in held if not UNFINISHED.fullmatch(n)]
        return None if left else []
    known = {*(listed or ()), MANIFEST, REPORT}
    ours = {n for n in held if n in known or (not finished and is_of_run(n, own or ()))}
    return [n for n in held if not _is_ours(folder / n, n, ours)]


def _is_ours(path: Path, name: str, ours: Collection[str]) -> bool:
    if path.is_symlink():
        return False
    return name in FOLDERS if path.is_dir() else name in ours


def remove_files(folder: Path, names: Collection[str]) -> None:
    """Remove these files of a folder, the manifest last, and what is empty then.

    Raises:
        OSError: a file cannot be removed.
    """
    for name in sorted(names, key=lambda name: name in (MANIFEST, RUN_FILE)):
        (folder / name).unlink(missing_ok=True)
    for place in (*(folder / name for name in FOLDERS), folder):
        with suppress(OSError):  # not there, or somebody else's things are in it
            place.rmdir()
