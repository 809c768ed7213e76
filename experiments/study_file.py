"""Study files: read, checked and explained; the bundled ones; their schema."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from experiments.design import (
    OWN_CODE_MANY,
    OWN_CODE_ONE,
    OWN_IN_CHOICES,
    Study,
    StudyChoices,
    StudyPlace,
)
from experiments.factors import Factor, Factors
from experiments.looks import Reached
from experiments.own_code import located
from experiments.plain_words import all_plain, plain_words
from experiments.studies import bundled, bundled_text
from sim.errors import InputError
from sim.people_files import read_bytes, toml_table

MOST_BYTES = 200_000


def load_study(path: Path | None = None) -> Study:
    """Read and check a study file, or the bundled study of that name; with no path, the main one.

    Own policies, shot models and players given by a relative path are looked for beside the study
    file.

    Raises:
        InputError: the file cannot be read, is not TOML (with the line), or a key is wrong (named).
    """
    name = "main" if path is None else str(path)
    if path is None or (name in bundled() and not path.exists()):
        return parse_study(bundled_text(name), f"the bundled study {name!r}")
    where = f"study file {str(path)!r}"
    try:
        text = read_bytes(path, where, MOST_BYTES).decode("utf-8")
    except FileNotFoundError:
        raise InputError(
            f"study file {name!r} does not exist; check the path, or name a bundled study:"
            f" {', '.join(bundled())}"
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{where} cannot be read: {error}") from None
    return parse_study(text, where, path.parent)


def study_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of study files, for editors and checks elsewhere."""
    schema = Study.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def changed_study(study: Study, what: str, **values: Any) -> Study:
    """The study with other values, checked anew; `what` names in messages where they came from."""
    try:
        return Study.model_validate({**study.model_dump(exclude_none=True), **values})
    except ValidationError as error:
        raise _refused(what, error) from None


def parse_study(text: str, where: str, folder: Path | None = None) -> Study:
    """A study from TOML text; `where` names it in messages, own files are found in `folder`."""
    table = toml_table(text, where)
    try:
        return Study.model_validate(_beside(table, folder) if folder else table)
    except ValidationError as error:
        raise _refused(where, error) from None


def _refused(where: str, error: ValidationError) -> InputError:
    """All that is wrong with a study, in one message."""
    return InputError(f"{where}: {all_plain(error.errors(), lambda e: plain_words(e, _keys_at))}")


def _beside(table: dict[str, Any], folder: Path) -> dict[str, Any]:
    """The table with relative own files turned to `folder`; whatever is no text stays."""

    def moved(value: Any) -> Any:
        if isinstance(value, list):
            return [moved(v) for v in value]
        return located(value, folder) if isinstance(value, str) else value

    out = {k: moved(v) if k in OWN_CODE_MANY + OWN_CODE_ONE else v for k, v in table.items()}
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
    parts: dict[Any, type[BaseModel]] = {"places": StudyPlace, "choices": StudyChoices}
    parts["factors"] = Factors
    if where[0] == "reached":
        return Reached
    return parts.get(where[0], Study) if len(where) > 1 else Study
