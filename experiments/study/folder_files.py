"""The files of a result folder: their names, their hashes, and which of them a run wrote.

What no run wrote is never removed or replaced. A large table may be kept compressed in its place,
with PACKED after its name: its hash is that of what it holds.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import zlib
from collections.abc import Collection, Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from sim.errors import InputError
from sim.whole_file import UNFINISHED, write_whole

STUDY, MANIFEST, SUMMARY = "study.toml", "manifest.json", "summary.json"
REPORT, DETAILS = "report.html", "details.html"
COLUMNS, RUN_FILE = "columns.csv", "run.json"
CELLS, CHOICES_FILE, STROKES = "cells.csv", "choices.csv", "strokes.parquet"
POINTS_FILE, DESIGNED_FILE = "points.csv", "designed.csv"
PRECISION_FILE, RACE_FILE = "precision.csv", "race.csv"
RALLIES, WHERE, BATCHES_FILE = "rallies.parquet", "where.csv", "batches.parquet"
TABLES = {
    "cells": CELLS,
    "choices": CHOICES_FILE,
    "points": POINTS_FILE,
    "designed": DESIGNED_FILE,
    "precision": PRECISION_FILE,
    "race": RACE_FILE,
    "where": WHERE,
    "rally_rows": RALLIES,
    "batches": BATCHES_FILE,
    "strokes": STROKES,
}
# What a study with factors gets besides (experiments.evidence.sensitivity); labelled as cells are.
ANALYSES = {
    "one_at_a_time": "one_at_a_time.csv",
    "sensitivity": "sensitivity.csv",
    "draws": "draws.csv",
    "assumptions": "assumptions.csv",
    "turning": "turning.csv",
    "best_place": "best_place.csv",
}


OWN, PACKED = "own/", ".gz"
SPOILT = "spoilt"  # in place of the hash of a packed file that holds nothing whole


def held(folder: Path, name: str) -> Path:
    """The path of a file of a result folder, or of what holds it compressed."""
    packed = folder / f"{name}{PACKED}"
    return packed if packed.exists() and not (folder / name).exists() else folder / name


def pack(folder: Path, name: str) -> Path:
    """Keep a table of a result folder compressed from now on; the same bytes each time."""
    packed = folder / f"{name}{PACKED}"
    write_whole(packed, gzip.compress((folder / name).read_bytes(), mtime=0))
    (folder / name).unlink()
    return packed


def sha256(path: Path) -> str:
    """SHA-256 of a file, or of what a packed one holds."""
    if path.suffix == PACKED:
        try:
            return hashlib.sha256(gzip.decompress(path.read_bytes())).hexdigest()
        except (gzip.BadGzipFile, EOFError, zlib.error):
            return SPOILT
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def file_hashes(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """SHA-256 of these files of the folder, by name."""
    return {name: sha256(held(folder, name)) for name in names}


def table_of(path: Path) -> dict[str, Any]:
    """The table in a JSON file; empty if there is no such file or it holds something else.

    Raises:
        InputError: it is no JSON.
    """
    try:
        found = json.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError) as error:
        raise InputError(f"{str(path)!r} cannot be read: {error}; put it back") from None
    return found if isinstance(found, dict) else {}


def listed(folder: Path) -> dict[str, str]:
    """The hash of each file of a result folder by its name; empty where there is no manifest."""
    files = table_of(folder / MANIFEST).get("files")
    return files if isinstance(files, dict) else {}


def sound(folder: Path, name: str) -> Path:
    """The path of a file of a result folder, seen to be as the study wrote it.

    What the manifest does not list is taken as it is; so is a file that is not there.

    Raises:
        InputError: the file is another one now.
    """
    require_sound(folder, name)
    return held(folder, name)


def require_sound(folder: Path, *names: str) -> None:
    """Compare these files of a result folder, and the user's own in it, with the manifest.

    Raises:
        InputError: some are not as the study wrote them (each is named).
    """
    files = listed(folder).items()
    wanted = {n: h for n, h in files if n in names or n.startswith(OWN)}
    _require({n: h for n, h in wanted.items() if held(folder, n).exists()}, folder)


def require_whole(folder: Path) -> None:
    """Compare all files that a manifest lists with it.

    Raises:
        InputError: some are missing or not as the study wrote them (each is named).
    """
    _require(listed(folder), folder)


def _require(files: dict[str, str], folder: Path) -> None:
    """Refuse files whose hashes are others now, or that are not there, and say what to do."""
    paths = {held(folder, name): wanted for name, wanted in files.items()}
    names = [path for path in paths if not path.exists() or sha256(path) != paths[path]]
    if not names:
        return
    which = ", ".join(repr(str(path)) for path in names)
    raise InputError(
        f"{which}: not as the study wrote {'it' if len(names) == 1 else 'them'} (the hash in"
        f" {MANIFEST} is another). Put the file back, or run the study again. If you changed it on"
        " purpose: copy a study file out of the folder and run it there; take any other file's"
        f' line out of "files" in {MANIFEST}, then it is read unchecked'
    )


BLOCKS, BLOCK_SUFFIX = "blocks", ".block"
BLOCK = re.compile(rf"\d{{7,}}\{BLOCK_SUFFIX}")
FOLDERS = ("own", "figures", BLOCKS)
FILES = {MANIFEST, REPORT, DETAILS, RUN_FILE, STUDY, SUMMARY, COLUMNS}
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


def results_of_run(folder: Path, own: Collection[str]) -> list[str]:
    """Those of them that stay: all but what only an unfinished run needs."""
    names = files_of_run(folder, own)
    return [n for n in names if n != RUN_FILE and not n.startswith(f"{BLOCKS}/")]


def strangers(folder: Path, finished: bool) -> list[str] | None:
    """What is in a result folder and no run wrote; None if it is no result folder at all.

    A finished one has a manifest, which lists all; what an unfinished one holds goes by the names
    of what a run writes, its own files by its record. An empty folder is either.
    """
    found = list(names_in(folder))
    listed, own = (table_of(folder / f).get(k) for f, k in ((MANIFEST, "files"), (RUN_FILE, "own")))
    if not isinstance(listed, dict) and (finished or not isinstance(own, dict)):
        left = [n for n in found if not UNFINISHED.fullmatch(n)]
        return None if left else []
    known = {*(listed or ()), MANIFEST, REPORT, DETAILS}
    known |= {f"{name}{PACKED}" for name in listed or ()}
    ours = {n for n in found if n in known or (not finished and is_of_run(n, own or ()))}
    return [n for n in found if not _is_ours(folder / n, n, ours)]


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
