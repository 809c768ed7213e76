"""What the gallery shows: for each picture its question, what is seen, and the command."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources


@dataclass(frozen=True)
class Entry:
    """One picture: the question that it answers, its caption, and what it shows in words for those
    who cannot see it.

    `command` draws it, where `{file}` is the picture's file; a picture of a stored study has none:
    `stored` is its path from the results folder.
    """

    name: str
    question: str
    caption: str
    alt: str
    command: str = ""
    stored: str = ""
    suffix: str = ".png"


def entries() -> list[Entry]:
    """The pictures in their order."""
    text = resources.files("experiments.data").joinpath("gallery.toml").read_text("utf-8")
    return [Entry(**table) for table in tomllib.loads(text)["picture"]]
