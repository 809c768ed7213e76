"""What an unfinished run leaves for its continuation, and whether this one may continue it.

`run.json` is written once the folder is prepared, and removed when everything else is written: a
folder with a manifest and without it lacks only its name.
"""

from __future__ import annotations

import hashlib
import json
import tempfile
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from experiments.study.block_store import BlockStore
from experiments.study.design import Study
from experiments.study.file import parse_study
from experiments.study.folder_files import BLOCKS, MANIFEST, RUN_FILE, STUDY, results_of_run, sha256
from experiments.study.provenance import differences, own_policy_files, terms_here
from sim.errors import InputError
from sim.whole_file import write_whole

CAME_TO = ("reached", "raced")  # keys in which a run writes down where its looks ended


@dataclass(frozen=True)
class RunRecord:
    """How a run began: its terms, the hashes of the user's own files, the time.

    `studies` are the hashes that its study file may have: the run writes down where its looks end.
    """

    terms: dict[str, str]
    own: dict[str, str]
    started: str
    studies: tuple[str, ...] = ()


def write_record(folder: Path, record: RunRecord) -> None:
    """Write run.json in one step."""
    write_whole(folder / RUN_FILE, (json.dumps(asdict(record), indent=1) + "\n").encode())


def write_study(folder: Path, study: Study) -> None:
    """The resolved study, in one step, once run.json, if there is one, knows its hash: a run that
    is resumed reads it."""
    content = study.toml().encode()
    if (folder / RUN_FILE).exists():
        record = _record(folder)
        known = (*record.studies, hashlib.sha256(content).hexdigest())
        write_record(folder, replace(record, studies=known))
    write_whole(folder / STUDY, content)


def is_whole(folder: Path) -> bool:
    """Whether everything was written, and only the rename is left."""
    return (folder / MANIFEST).exists() and not (folder / RUN_FILE).exists()


def finish(folder: Path) -> None:
    """Remove what only an unfinished run needs."""
    (folder / RUN_FILE).unlink(missing_ok=True)
    if (folder / BLOCKS).exists():
        BlockStore(folder, "").remove()


def unfinished_study(folder: Path) -> Study:
    """The resolved study, with its seed, of an unfinished folder.

    Raises:
        InputError: the run ended before it kept anything, or the file is damaged.
    """
    path = folder / STUDY
    record = _record(folder) if (folder / RUN_FILE).exists() and path.exists() else None
    if record is None or not all((folder / name).exists() for name in record.own):
        raise InputError(
            f"the run in {str(folder)!r} ended before anything was finished;"
            " start again with --overwrite"
        )
    held = {name: sha256(folder / name) for name in record.own}
    _require_same(folder, differences(record.own, held, "in the folder"))
    if sha256(path) not in record.studies:
        raise InputError(
            f"{str(path)!r} is not as the run wrote it: put it back, or start again with"
            " --overwrite; another study is run from another file"
        )
    return parse_study(path.read_text("utf-8"), f"study file {str(path)!r}", folder)


def continued(folder: Path, given: Study | None, seed: int | None) -> tuple[Study, RunRecord]:
    """The study of an unfinished folder, its own files named relative to it, and how it began.

    `given` and `seed` are what the user asks for, None for what is there.

    Raises:
        InputError: study, seed, own files, source or versions are not those of the folder (each
            difference is named), or the folder is damaged.
    """
    found = relative(unfinished_study(folder))[0]
    record = _record(folder)
    other = []
    if given is not None:
        wanted, own = relative(given)
        wanted = wanted.model_copy(update={"seed": found.seed if seed is None else seed})
        other += study_differences(found, wanted)
        other += differences(record.own, own, "in the study given")
    elif seed is not None and seed != found.seed:
        other.append(f"the seed is {found.seed} in the run and {seed} now")
    other += differences(record.terms, terms_here(), "now")
    _require_same(folder, other)
    return found, record


def _require_same(folder: Path, other: list[str]) -> None:
    """Refuse to go on where something is not as the run had it."""
    if other:
        raise InputError(
            f"the run in {str(folder)!r} cannot be resumed, since something has changed:"
            f" {'; '.join(dict.fromkeys(other))}. Put that back, or start again with --overwrite"
        )


def _record(folder: Path) -> RunRecord:
    try:
        found = RunRecord(**json.loads((folder / RUN_FILE).read_text("utf-8")))
        return replace(found, studies=tuple(found.studies))
    except (ValueError, TypeError):
        raise InputError(
            f"{str(folder / RUN_FILE)!r} is damaged; start again with --overwrite"
        ) from None


def relative(study: Study) -> tuple[Study, dict[str, str]]:
    """The study with own files named as in a result folder, and their hashes."""
    with tempfile.TemporaryDirectory() as folder:
        return own_policy_files(study, Path(folder))


def study_differences(found: Study, wanted: Study) -> list[str]:
    """The keys in which two studies differ, with both values.

    Where the looks end follows from the rest, so one that does not say it is alike.
    """
    before, now = found.model_dump(mode="json"), wanted.model_dump(mode="json")
    return [
        f"{_named(key)} is {_short(before[key])} in the run and {_short(now[key])} now"
        for key in before
        if before[key] != now[key] and not (key in CAME_TO and None in (before[key], now[key]))
    ]


def _named(key: str) -> str:
    return "the seed" if key == "seed" else f"{key} of the study"


def _short(value: Any) -> str:
    text = json.dumps(value)
    return text if len(text) <= 200 else f"{text[:200]}..."


def clear_tables(folder: Path) -> None:
    """Remove what an earlier attempt wrote after its blocks."""
    for name in results_of_run(folder, own=()):
        if name != STUDY:
            (folder / name).unlink()
