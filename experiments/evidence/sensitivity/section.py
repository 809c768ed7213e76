"""A part of the report that a table of a study with factors gives."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Section:
    """A part of the report: plain sentences, then a table of texts (perhaps empty)."""

    heading: str
    sentences: tuple[str, ...]
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
