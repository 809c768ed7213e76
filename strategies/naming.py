"""Display names: the catalogue's word, and whatever differs from the defaults."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any


def described(word: str, decision: Any) -> str:
    """`word`, followed by the parameters of a frozen dataclass that are not at their default."""
    changed = [
        f"{field.name}={_short(value)}"
        for field in dataclasses.fields(decision)
        if (value := getattr(decision, field.name)) != _default(field)
    ]
    return " ".join([word, *changed])


def _default(field: dataclasses.Field[Any]) -> Any:
    if field.default_factory is not dataclasses.MISSING:
        return field.default_factory()
    return field.default


def _short(value: Any) -> str:
    """A value for a name; a file by its stem, so that a name does not hang on where it lies."""
    if isinstance(value, str) and value.lower().endswith((".csv", ".toml")):
        return Path(value).stem
    return f"{value:g}" if isinstance(value, float) else str(value)
