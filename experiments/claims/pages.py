"""`python -m experiments.claims.pages`: README, the pages by question and their index.

The texts stand in `data/pages`; every number of a result comes from the folders in `results`. If a
sentence does not hold by them any more nothing is written, and all such sentences are told.
"""

from __future__ import annotations

import sys
from importlib import resources
from pathlib import Path

import click

from experiments.claims import against
from experiments.claims.book import FOLDER, Book
from experiments.output.terminal import told
from sim.whole_file import write_whole

RESULTS = "results"
PAGES = f"{RESULTS}/pages"
# The pages by question, in the order of their index.
NAMES = (
    "worth",
    "club-player",
    "middle",
    "against-whom",
    "best",
    "angle",
    "footspeed",
    "depth",
    "net",
    "rests-on",
    "close",
    "worlds",
    "claims",
    "coach",
    "player",
    "student",
    "agent",
    "how",
    "digits",
    "not-modelled",
)


def question(name: str) -> str:
    """The question that a page answers: its first line."""
    text = resources.files("experiments").joinpath(f"{FOLDER}/{name}.md").read_text("utf-8")
    return text.partition("\n")[0].removeprefix("# ")


def made(root: Path) -> dict[str, str]:
    """The text of each page by its path from the root, which holds `results`.

    Raises:
        InputError: a folder or a number is missing, or sentences do not hold by the results.
    """
    results = root / RESULTS
    book = Book(results)
    index = [(f"{name}.md", question(name)) for name in NAMES]
    given = {"index": index}
    out = {f"{PAGES}/{name}.md": book.page(f"{name}.md", given) for name in NAMES}
    out["README.md"] = book.page("README.md", given)
    out[f"{RESULTS}/README.md"] = book.page("results.md", given)
    out[f"{RESULTS}/against.md"] = against.page(results, book) + "\n"
    book.require_all()
    return out


def write_pages(root: Path) -> str:
    """Write all pages; returns how many there are and how long.

    Raises:
        InputError: as `made`.
    """
    texts = made(root)
    (root / PAGES).mkdir(exist_ok=True)
    for path, text in texts.items():
        write_whole(root / path, text.encode())
    words = {path: len(text.split()) for path, text in texts.items()}
    lines = (f"{count:>6}  {path}" for path, count in words.items())
    return "\n".join([*lines, f"{sum(words.values()):>6}  words in {len(texts)} pages"])


@click.command()
@click.argument("root", type=click.Path(path_type=Path), default=Path())
def main(root: Path) -> None:
    """README and the pages by question, in the checkout ROOT, from its stored results."""
    sys.exit(told(lambda: write_pages(root), "nothing was written"))


if __name__ == "__main__":
    main()
