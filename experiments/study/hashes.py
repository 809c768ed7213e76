"""Reading what a study stored: compared with the hashes in its manifest."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from experiments.study.file_names import MANIFEST
from sim.errors import InputError

OWN = "own/"


def sha256(path: Path) -> str:
    """SHA-256 of a file."""
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def file_hashes(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """SHA-256 of these files of the folder, by name."""
    return {name: sha256(folder / name) for name in names}


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
    return folder / name


def require_sound(folder: Path, *names: str) -> None:
    """Compare these files of a result folder, and the user's own in it, with the manifest.

    Raises:
        InputError: some are not as the study wrote them (each is named).
    """
    files = listed(folder).items()
    wanted = {n: h for n, h in files if n in names or n.startswith(OWN)}
    _require({n: h for n, h in wanted.items() if (folder / n).exists()}, folder)


def require_whole(folder: Path) -> None:
    """Compare all files that a manifest lists with it.

    Raises:
        InputError: some are missing or not as the study wrote them (each is named).
    """
    _require(listed(folder), folder)


def _require(files: dict[str, str], folder: Path) -> None:
    """Refuse files whose hashes are others now, or that are not there, and say what to do."""
    names = [n for n in files if not (folder / n).exists() or sha256(folder / n) != files[n]]
    if not names:
        return
    which = ", ".join(repr(str(folder / name)) for name in names)
    raise InputError(
        f"{which}: not as the study wrote {'it' if len(names) == 1 else 'them'} (the hash in"
        f" {MANIFEST} is another). Put the file back, or run the study again. If you changed it on"
        " purpose: copy a study file out of the folder and run it there; take any other file's"
        f' line out of "files" in {MANIFEST}, then it is read unchecked'
    )
