"""A study's own files, policies, shot models, charts and players: copied into its result folder."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from experiments.scene.own_code import map_file
from experiments.study.design import OWN_CODE_MANY, OWN_CODE_ONE, OWN_IN_CHOICES, Study
from sim.errors import InputError
from sim.plain_text import checked_line


def own_policy_files(study: Study, folder: Path) -> tuple[Study, dict[str, str]]:
    """Copy the files of the user's own policies, shot models, charts and players to `folder`/own.

    Returns the study with its names turned to the copies (relative to the folder) and the SHA-256
    of each copy, so that a re-run from the folder plays the same code.

    Raises:
        InputError: a file cannot be read any more, or its name cannot be shown as it is.
    """
    copies: dict[Path, str] = {}
    hashes: dict[str, str] = {}

    def kept(source: Path) -> str:
        if source not in copies:
            stem = checked_line("the name of a file", source.stem)
            while f"own/{stem}{source.suffix}" in hashes:
                stem = f"{source.stem}-{len(hashes) + 1}"
            copies[source] = f"own/{stem}{source.suffix}"
            hashes[copies[source]] = _copy(source, folder / copies[source])
        return copies[source]

    return map_names(study, partial(map_file, change=kept)), hashes


def _copy(source: Path, target: Path) -> str:
    """Copy a file and return its SHA-256."""
    try:
        content = source.read_bytes()
    except OSError as error:
        raise InputError(f"{source} cannot be read: {error.strerror}") from None
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(content)
    return hashlib.sha256(content).hexdigest()


def map_names(study: Study, change: Callable[[str], str]) -> Study:
    """The study with `change` applied to each name of a policy, shot model or level."""
    many = {f: tuple(change(t) for t in getattr(study, f)) for f in OWN_CODE_MANY}
    one: dict[str, Any] = {f: change(getattr(study, f)) for f in OWN_CODE_ONE}
    if study.choices is not None:
        changed = {k: change(getattr(study.choices, k)) for k in OWN_IN_CHOICES}
        one["choices"] = study.choices.model_copy(update=changed)
    return study.model_copy(update={**many, **one})
