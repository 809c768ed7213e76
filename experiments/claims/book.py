"""Texts over the stored results: made from their templates, each sentence held to its condition.

A text may only say what the results bear out. What hangs on a number is filled in; a sentence that
draws a conclusion stands in `expect(condition, sentence)`, and where the condition does not hold
any more the text is not made: all such sentences are told, to be written anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from experiments.claims.facts import Facts
from experiments.claims.stored_tables import tables
from experiments.edition import this_edition
from experiments.output.templates import engine_of
from sim.errors import InputError

FOLDER = "data/pages"


class Book:
    """Makes texts of one folder of results, and keeps the sentences that do not hold."""

    def __init__(self, results: Path) -> None:
        self.broken: list[tuple[str, str]] = []
        self._text = ""
        self._engine = engine_of("experiments", FOLDER, escaped=False)
        self._engine.globals |= dict(Facts(results).given()) | tables(results)
        self._engine.globals |= {"expect": self.expect, "measured": self.measured}

    def expect(self, holds: bool, sentence: str) -> str:
        """The sentence, noted as broken where it does not hold."""
        if not holds:
            self.broken.append((self._text, " ".join(sentence.split())))
        return sentence

    def measured(self, edition: int, sentence: str) -> str:
        """A sentence with numbers that no stored folder holds: it holds for the edition of the
        model that they were measured with."""
        return self.expect(this_edition().number == edition, sentence)

    def page(self, name: str, given: Mapping[str, Any]) -> str:
        """The text of a template."""
        self._text = name
        return self._engine.get_template(name).render(given)

    def text(self, source: str, name: str) -> str:
        """A text that stands elsewhere, such as in `data/attacks.toml`."""
        self._text = name
        return self._engine.from_string(source).render()

    def require_all(self) -> None:
        """Raises:
        InputError: sentences do not hold, each with its text.
        """
        if self.broken:
            lines = "\n".join(f"- {page}: {sentence}" for page, sentence in self.broken)
            raise InputError(
                f"{len(self.broken)} sentences do not hold by the stored results; write them anew"
                f" in experiments/{FOLDER} or experiments/data:\n{lines}"
            )
