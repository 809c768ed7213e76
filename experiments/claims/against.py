"""The case against the claim, as a reviewer would make it: `python -m experiments.claims.against`.

The words stand in `data/attacks.toml`, templates as those of the pages (`claims.book`); every
number is read from a stored folder. An attack names the number that the claim would like to be
judged by and what is left of it under the attack; those that leave the least come first. Attacks
that no stored number answers come last.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.claims.book import Book
from experiments.claims.register import READ, Claim, designed, mapped, rows_of
from experiments.claims.tables import RALLY, markdown
from experiments.output.terminal import told
from experiments.study.result_folder import ResultFolder

FILE = "attacks.toml"
RESULTS = Path("results")
# Where the number of a headline is looked up, by how its claim is read.
TABLES: dict[str, Callable[[Path], pd.DataFrame]] = {
    "cell": lambda folder: ResultFolder.read(folder).cells,
    "point": designed,
    "map": mapped,
}
HEAD = """# The case against

What a reviewer would say against "recover to the other side of the middle", with what came out of
each attempt, the most damaging first: by what it leaves of the number that it attacks. By
`python -m experiments.claims.pages` from the folders beside this page. All are model results;
numbers are points in 100 unless said otherwise, with 95 % intervals of chance, and of the worlds
that fit the record where they were played."""
UNANSWERED = "## What no number here answers"


@dataclass(frozen=True)
class Attack:
    """One attack: what is said, what was found, and the numbers.

    headline and left: the number attacked and what is left of it, each `folder` and labels of one
    cell (`of`; with `read` one of TABLES), both empty where nothing is measured.
    shown: further numbers, as in `data/claims.toml`. made_by: the command, where no folder is read.
    """

    says: str
    found: str
    headline: Mapping[str, Any]
    left: Mapping[str, Any]
    shown: tuple[Mapping[str, Any], ...]
    made_by: str = ""

    def share_left(self, results: Path) -> float:
        """What is left of the headline, 1 for all of it."""
        return estimate(results, self.left) / estimate(results, self.headline)

    def numbers(self, results: Path) -> list[tuple[str, str, str]]:
        """Words, value and command of each number, the headline first."""
        asked = [self.headline, self.left] if self.left else []
        claims = [Claim(**{"read": "cell", **one}) for one in (*asked, *self.shown)]
        return [(c.words, c.value(results / c.folder), f"`{c.command}`") for c in claims]


def _left(attack: Attack, share: float, results: Path) -> str:
    """What is left of the headline, in words."""
    if share >= 0.0:
        return f"{100 * share:.0f} of 100 left"
    return "nothing left" if _cell(results, attack.left)["high"] > 0.0 else "turned round"


def estimate(results: Path, asked: Mapping[str, Any]) -> float:
    """The one number of a cell or a point of a design.

    Raises:
        InputError: there is no such number.
    """
    return float(_cell(results, asked)["estimate"])


def _cell(results: Path, asked: Mapping[str, Any]) -> Any:
    table = TABLES[asked.get("read", "cell")](results / asked["folder"])
    return rows_of(table, **{"setting": RALLY, **asked["of"]}).iloc[0]


def attacks() -> tuple[Attack, ...]:
    """All attacks, in the order of the file.

    Raises:
        ValueError: a mistake of the file.
    """
    text = resources.files("experiments.data").joinpath(FILE).read_text("utf-8")
    out = []
    for row in tomllib.loads(text)["attack"]:
        shown = tuple(row.pop("shown", ()))
        unknown = {one["read"] for one in shown if "read" in one} - set(READ)
        attack = Attack(**{"headline": {}, "left": {}, **row}, shown=shown)
        if unknown or bool(attack.headline) != bool(attack.left):
            raise ValueError(
                f"{FILE}: {attack.says!r}: {unknown or 'headline and left go together'}"
            )
        out.append(attack)
    return tuple(out)


def ordered(results: Path) -> list[tuple[Attack, float | None]]:
    """The attacks with what each leaves, least first; those that measure nothing last."""
    measured = [(a, a.share_left(results)) for a in attacks() if a.left]
    rest: list[tuple[Attack, float | None]] = [(a, None) for a in attacks() if not a.left]
    return [*sorted(measured, key=lambda pair: pair[1]), *rest]


def page(results: Path = RESULTS, book: Book | None = None) -> str:
    """The page as Markdown; sentences that do not hold are left to a book that is given.

    Raises:
        InputError: a folder or a number is missing, or sentences do not hold by the results.
    """
    held = book or Book(results)
    parts, answered = [HEAD], True
    for number, (attack, share) in enumerate(ordered(results), 1):
        if share is None and answered:
            answered = False
            parts.append(UNANSWERED)
        level = "##" if share is not None else "###"
        left = "" if share is None else f" ({_left(attack, share, results)})"
        says, found = (held.text(text, "against.md") for text in (attack.says, attack.found))
        parts.append(f"{level} {number}. {says}{left}\n\n{found}")
        rows = [(held.text(row[0], "against.md"), *row[1:]) for row in attack.numbers(results)]
        if rows:
            parts.append(markdown(("what", "value", "made by"), rows))
        if attack.made_by:
            parts.append(f"By `{attack.made_by}`.")
    if book is None:
        held.require_all()
    return "\n\n".join(parts)


if __name__ == "__main__":
    sys.exit(told(page))
