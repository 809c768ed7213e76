"""Draws the gallery's pictures by their own commands and writes the page around them."""

from __future__ import annotations

import io
import shlex
from collections.abc import Sequence
from contextlib import redirect_stdout
from pathlib import Path

from tqdm import tqdm

from experiments.gallery.entries import Entry, entries
from experiments.output.files import write_output
from experiments.report import environment
from sim.errors import InputError

PAGE = "index.html"


def write_gallery(folder: Path, wanted: Sequence[Entry] | None = None) -> Path:
    """Draw each picture into `folder` and write its page; returns the page's path.

    Pictures of stored studies are shown from where they are, beside `folder`.

    Raises:
        InputError: a command fails, or a stored picture is missing.
    """
    folder.mkdir(parents=True, exist_ok=True)
    shown = []
    for entry in tqdm(entries() if wanted is None else wanted, unit="picture", disable=None):
        file = f"../{entry.stored}" if entry.stored else f"{entry.name}{entry.suffix}"
        if entry.command:
            run(entry.command.format(file=shlex.quote(str(folder / file))))
        elif not (folder / file).exists():
            raise InputError(f"{str(folder / file)!r} is missing; run its study first")
        shown.append((entry, file, entry.command.format(file=file)))
    page = environment().get_template("gallery.html").render(shown=shown)
    return write_output(folder / PAGE, page.encode(), "page")


def run(command: str) -> None:
    """Run one of our own commands in this process, without what it prints."""
    from experiments.command.main import main

    with redirect_stdout(io.StringIO()):
        main.main(shlex.split(command)[1:], standalone_mode=False)
