"""The claims that README makes: each with the stored folder that it rests on and how to get that.

They stand in `data/claims.toml`; a value is read from the folder's tables.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from experiments.claims.tables import markdown
from experiments.claims.values import READ
from sim.errors import InputError


@dataclass(frozen=True)
class Claim:
    """One claim: its words, the folder in results/, what is read there and the command for that.

    Without a command of its own, the folder is a study's and is played again, to the byte, from its
    resolved study.
    """

    words: str
    folder: str
    read: str
    of: dict[str, Any]
    made_by: str = ""

    @property
    def command(self) -> str:
        """The command that makes the folder."""
        return self.made_by or f"rally-recovery study results/{self.folder}/study.toml --out again"

    def value(self, folder: Path) -> str:
        """The number with its interval, from such a folder.

        Raises:
            InputError: the folder holds no such number.
        """
        return READ[self.read](folder, **self.of)


def all_claims() -> tuple[Claim, ...]:
    """The claims in README's order."""
    text = resources.files("experiments.data").joinpath("claims.toml").read_text("utf-8")
    return tuple(Claim(**row) for row in tomllib.loads(text)["claim"])


CLAIMS = all_claims()


def claims_table(results: Path) -> str:
    """All claims as a table: claim, value with its 95 % interval, folder, command.

    Raises:
        InputError: a folder is missing or holds no such number.
    """
    rows = []
    for claim in CLAIMS:
        folder = results / claim.folder
        if not folder.exists():
            raise InputError(f"{str(folder)!r} does not exist; make it by: {claim.command}")
        where = f"[{claim.folder}](results/{claim.folder})"
        rows.append((claim.words, claim.value(folder), where, f"`{claim.command}`"))
    return markdown(("claim", "value (95 % interval)", "folder", "made by"), rows)
