"""What an unfinished run leaves for its continuation, and whether this one may continue it.

`run.json` is written once the folder is prepared, and removed when everything else is written: a
folder with a manifest and without it lacks only its name.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from experiments.block_store import FOLDER
from experiments.design import Study
from experiments.own_files import own_policy_files
from experiments.study_file import parse_study
from experiments.terms import differences, terms_here
from sim.errors import InputError

RUN_FILE = "run.json"
KEPT = ("study.toml", "own", FOLDER, RUN_FILE)


@dataclass(frozen=True)
class RunRecord:
    """How a run began: its terms, the hashes of the user's own files, the time."""

    terms: dict[str, str]
    own: dict[str, str]
    started: str


def write_record(folder: Path, record: RunRecord) -> None:
    """Write run.json in one step."""
    beside = folder / f".{RUN_FILE}"
    beside.write_text(json.dumps(asdict(record), indent=1) + "\n", "utf-8")
    os.replace(beside, folder / RUN_FILE)


def is_whole(folder: Path) -> bool:
    """Whether everything was written, and only the rename is left."""
    return (folder / "manifest.json").exists() and not (folder / RUN_FILE).exists()


def finish(folder: Path) -> None:
    """Remove what only an unfinished run needs."""
    (folder / RUN_FILE).unlink(missing_ok=True)
    shutil.rmtree(folder / FOLDER, ignore_errors=True)


def unfinished_study(folder: Path) -> Study:
    """The resolved study, with its seed, of an unfinished folder.

    Raises:
        InputError: the run ended before it kept anything, or the file is damaged.
    """
    if not (is_whole(folder) or (folder / RUN_FILE).exists()):
        raise InputError(
            f"the run in {str(folder)!r} ended before anything was finished;"
            " start again with --overwrite"
        )
    path = folder / "study.toml"
    return parse_study(path.read_text("utf-8"), f"study file {str(path)!r}", folder)


def continued(folder: Path, given: Study | None, seed: int | None) -> tuple[Study, RunRecord]:
    """The study of an unfinished folder, its own files named relative to it, and how it began.

    `given` and `seed` are what the user asks for, None for what is there.

    Raises:
        InputError: study, seed, own files, source or versions are not those of the folder (each
            difference is named), or the folder is damaged.
    """
    found, hashes = _relative(unfinished_study(folder))
    record = _record(folder)
    other = []
    if given is not None:
        wanted, own = _relative(given)
        wanted = wanted.model_copy(update={"seed": found.seed if seed is None else seed})
        other += study_differences(found, wanted)
        other += differences(record.own, own, "in the study given")
    elif seed is not None and seed != found.seed:
        other.append(f"the seed is {found.seed} in the run and {seed} now")
    other += differences(record.own, hashes, "in the folder")
    other += differences(record.terms, terms_here(), "now")
    if other:
        raise InputError(
            f"the run in {str(folder)!r} cannot be resumed, since something has changed:"
            f" {'; '.join(dict.fromkeys(other))}. Put that back, or start again with --overwrite"
        )
    return found, record


def _record(folder: Path) -> RunRecord:
    try:
        return RunRecord(**json.loads((folder / RUN_FILE).read_text("utf-8")))
    except (ValueError, TypeError):
        raise InputError(
            f"{str(folder / RUN_FILE)!r} is damaged; start again with --overwrite"
        ) from None


def _relative(study: Study) -> tuple[Study, dict[str, str]]:
    """The study with own files named as in a result folder, and their hashes."""
    with tempfile.TemporaryDirectory() as folder:
        return own_policy_files(study, Path(folder))


def study_differences(found: Study, wanted: Study) -> list[str]:
    """The keys in which two studies differ, with both values.

    Where the looks of a precision end follows from the rest, so one that does not say it is alike.
    """
    before, now = found.model_dump(mode="json"), wanted.model_dump(mode="json")
    return [
        f"{_named(key)} is {_short(before[key])} in the run and {_short(now[key])} now"
        for key in before
        if before[key] != now[key] and not (key == "reached" and None in (before[key], now[key]))
    ]


def _named(key: str) -> str:
    return "the seed" if key == "seed" else f"{key} of the study"


def _short(value: Any) -> str:
    text = json.dumps(value)
    return text if len(text) <= 200 else f"{text[:200]}..."


def clear_tables(folder: Path) -> None:
    """Remove what an earlier attempt wrote after its blocks."""
    for path in folder.iterdir():
        if path.name in KEPT:
            continue
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()
