"""What the gallery shows: for each picture its question, what is seen, and the command."""

from __future__ import annotations

import io
import shlex
import tomllib
from collections.abc import Sequence
from contextlib import redirect_stdout
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from tqdm import tqdm

from experiments.output.files import write_output
from experiments.report.page import environment
from sim.errors import InputError, named


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


PAGE = "index.html"


def write_gallery(
    folder: Path, wanted: Sequence[Entry] | None = None, drawn: Sequence[str] = ()
) -> Path:
    """Draw each picture into `folder` and write its page; returns the page's path.

    With names in `drawn` only these are drawn, the others must be there. Pictures of stored studies
    are shown from where they are, beside `folder`.

    Raises:
        InputError: an unknown name, a command fails, or a picture is missing.
    """
    wanted = entries() if wanted is None else wanted
    again = {named("picture", name, [e.name for e in wanted]) for name in drawn}
    folder.mkdir(parents=True, exist_ok=True)
    shown = []
    for entry in tqdm(wanted, unit="picture", disable=None):
        file = f"../{entry.stored}" if entry.stored else f"{entry.name}{entry.suffix}"
        if entry.command and (entry.name in again or not again):
            run(entry.command.format(file=shlex.quote(str(folder / file))))
        elif not (folder / file).exists():
            first = "run its study first" if entry.stored else "draw it, too"
            raise InputError(f"{str(folder / file)!r} is missing; {first}")
        shown.append((entry, file, entry.command.format(file=file)))
    page = environment().get_template("gallery.html").render(shown=shown)
    return write_output(folder / PAGE, page.encode(), "page")


def run(command: str) -> None:
    """Run one of our own commands in this process, without what it prints."""
    from experiments.command.main import main

    with redirect_stdout(io.StringIO()):
        main.main(shlex.split(command)[1:], standalone_mode=False)
