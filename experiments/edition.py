"""Editions of the model: which one this is, what changed since another, and how to cite it.

The version names the package; an edition is a state of the model whose numbers differ from those of
the one before (`data/changes.toml`). A manifest holds both, so a page can say what changed since.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import resources
from typing import Any

AUTHORS = "The rally-recovery authors"
TITLE = (
    "rally-recovery: where a tennis player should recover to while the opponent gets to the ball"
)
HASH_DIGITS = 12


@dataclass(frozen=True)
class Edition:
    """One edition: its number, from 1 on, its date, the package's version, and what it changed."""

    number: int
    date: date
    version: str
    what: str


@cache
def editions() -> tuple[Edition, ...]:
    """All editions, oldest first."""
    text = resources.files("experiments.data").joinpath("changes.toml").read_text("utf-8")
    rows = tomllib.loads(text)["edition"]
    return tuple(Edition(number, **row) for number, row in enumerate(rows, 1))


def this_edition() -> Edition:
    """The edition that runs here."""
    return editions()[-1]


def edition_of(manifest: Mapping[str, Any]) -> Edition | None:
    """The edition that numbers were made with; None where it is not recorded, or not known here."""
    known = {edition.number: edition for edition in editions()}
    return known.get(manifest.get("edition", 0))


def changed_since(made: Edition) -> tuple[Edition, ...]:
    """The editions after that one."""
    return editions()[made.number :]


@dataclass(frozen=True)
class Citation:
    """How to cite the model that numbers were made with: in words, and as BibTeX."""

    words: str
    bibtex: str


def citation(manifest: Mapping[str, Any]) -> Citation:
    """The citation of the model behind a manifest; where its edition is not known, that is said.

    The form is that of APA 7 for software, from memory; there is no DOI yet.
    """
    made = edition_of(manifest)
    year = (made or this_edition()).date.year
    named = f"{made.version}, edition {made.number}" if made else "edition not recorded"
    source = str(manifest.get("source_hash", ""))[:HASH_DIGITS]
    seed = manifest.get("seed")
    notes = [f"source {source}"] * bool(source) + [f"seed {seed}"] * (seed is not None)
    marks = f"; {', '.join(notes)}" if notes else ""
    lines = [
        "@software{rally-recovery,",
        f"  author = {{{{{AUTHORS}}}}},",
        f"  title = {{{TITLE}}},",
        f"  year = {{{year}}},",
        f"  version = {{{named}}},",
        f"  note = {{{', '.join(['Python package, MIT licence', *notes])}}}",
        "}",
    ]
    model = f"version {named}" if made else named
    words = f"{AUTHORS} ({year}). {TITLE} ({model}{marks}) [Computer software]."
    return Citation(words, "\n".join(lines))
