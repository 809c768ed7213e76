"""Study files: read, checked and explained; the bundled ones; their schema."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from experiments.scene.file_errors import all_plain, plain_words
from experiments.scene.own_code import located
from experiments.study.bundled import bundled, bundled_text
from experiments.study.design import (
    OWN_CODE_MANY,
    OWN_CODE_ONE,
    OWN_IN_CHOICES,
    Study,
    StudyChoices,
    StudyPlace,
)
from experiments.study.factors import Factor, Factors
from experiments.study.folder_files import require_sound
from experiments.study.headline import Headline
from experiments.study.looks import Reached
from sim.errors import InputError
from sim.people_files import read_text, toml_table

MOST_BYTES = 200_000
LONGEST_PATH = 4096  # characters; no system opens a longer one


def first_study() -> Study:
    """The study of the bare command: small, and all its cells can be told apart."""
    return parse_study(bundled_text("first"), "the bundled study 'first'")


def load_study(path: Path | None = None, allow_code: bool = False) -> Study:
    """Read and check a study file, or the bundled study of that name; with no path, the main one.

    Own policies, shot models and players given by a relative path are looked for beside the study
    file. Code is run to check the study, but for inside `strategies.user_file.code_not_run`; code
    outside the file's folder only with `allow_code`.

    Raises:
        InputError: the file cannot be read, is not TOML (with the line), names code elsewhere, or a
            key is wrong (named).
    """
    name = "main" if path is None else str(path)
    if path is not None and not path.exists():
        name = next((known for known in bundled() if known == name.lower()), name)
    if path is None or (name in bundled() and not path.exists()):
        return parse_study(bundled_text(name), f"the bundled study {name!r}")
    where = f"study file {str(path)!r}"
    try:
        require_sound(path.parent, path.name)
        text = read_text(path, where, MOST_BYTES)
    except FileNotFoundError:
        raise InputError(
            f"study file {name!r} does not exist; check the path, or name a bundled study:"
            f" {', '.join(bundled())}"
        ) from None
    except OSError as error:
        raise InputError(f"{where} cannot be read: {error.strerror}") from None
    return parse_study(text, where, path.parent, allow_code)


def study_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of study files, for editors and checks elsewhere."""
    schema = Study.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def changed_study(study: Study, what: str, **values: Any) -> Study:
    """The study with other values, checked anew; `what` names in messages where they came from."""
    try:
        return Study.model_validate({**study.model_dump(exclude_none=True), **values})
    except ValidationError as error:
        raise refused(what, error) from None


def parse_study(
    text: str, where: str, folder: Path | None = None, allow_code: bool = False
) -> Study:
    """A study from TOML text; `where` names it in messages, own files are found in `folder`, and
    code only there unless it is allowed."""
    table = toml_table(text, where)
    if folder is not None and not allow_code:
        _require_inside(table, folder, where)
    try:
        return Study.model_validate(_beside(table, folder) if folder else table)
    except ValidationError as error:
        raise refused(where, error) from None


def refused(where: str, error: ValidationError) -> InputError:
    """All that is wrong with a study, in one message."""
    return InputError(f"{where}: {all_plain(error.errors(), lambda e: plain_words(e, _keys_at))}")


def _require_inside(table: dict[str, Any], folder: Path, where: str) -> None:
    """Refuse a study that runs code from outside the folder that it was found in.

    Any text is looked through, for whatever could be taken for a file of code in it.
    """
    texts = list(_texts(table))
    if any(len(text) > LONGEST_PATH and ".py:" in text for text in texts):
        raise InputError(f"{where} names code in a text of more than {LONGEST_PATH} characters")
    words = (w for t in texts for w in re.split(r"[,+=\s]", t) + re.split(",", t) + [t])
    named = {word[: end.end() - 1].strip() for word in words for end in re.finditer(r"\.py:", word)}
    if away := sorted(name for name in named if not _is_inside(folder / name, folder)):
        raise InputError(
            f"{where} would run code from outside its own folder: {', '.join(map(repr, away))}."
            " Read that code; then add --allow-code, or move it beside the study file"
        )


def _is_inside(path: Path, folder: Path) -> bool:
    """Whether a path leads to somewhere in a folder, links followed."""
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):  # no path at all, or links in a circle
        return False


def _texts(value: Any) -> Iterator[str]:
    """All texts in a table but for those that are only shown."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, held in value.items():
            if key not in ("title", "question"):
                yield from _texts(held)
    elif isinstance(value, list):
        for held in value:
            yield from _texts(held)


def _beside(table: dict[str, Any], folder: Path) -> dict[str, Any]:
    """The table with relative own files turned to `folder`; whatever is no text stays."""

    def moved(value: Any) -> Any:
        if isinstance(value, list):
            return [moved(v) for v in value]
        return located(value, folder) if isinstance(value, str) else value

    out = {k: moved(v) if k in OWN_CODE_MANY + OWN_CODE_ONE else v for k, v in table.items()}
    if isinstance(file := table.get("worlds_file"), str):
        out["worlds_file"] = str(folder / file)
    if isinstance(choices := table.get("choices"), dict):
        out["choices"] = {k: moved(v) if k in OWN_IN_CHOICES else v for k, v in choices.items()}
    return out


def _keys_at(where: tuple[Any, ...]) -> Iterable[str]:
    """The keys that are allowed where an unknown one stands."""
    return _model_at(where).model_fields


def _model_at(where: tuple[Any, ...]) -> type[BaseModel]:
    """The model that a wrong key belongs to."""
    if where[:2] == ("factors", "vary"):
        return Factor
    if where[0] == "reached":
        return Reached
    parts: dict[Any, type[BaseModel]] = {"places": StudyPlace, "choices": StudyChoices}
    parts |= {"factors": Factors, "headline": Headline}
    return parts.get(where[0], Study) if len(where) > 1 else Study
