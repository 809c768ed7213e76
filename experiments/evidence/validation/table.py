"""The whole table: every row from one seed and one number of rallies."""

from __future__ import annotations

from dataclasses import dataclass

from experiments.evidence.validation.fits import fitted_figures
from experiments.evidence.validation.published import Sample, rows_of
from experiments.evidence.validation.rows import AGREES, CHECK, DISAGREES, Row, demoted
from sim.chance import checked_seed
from sim.errors import InputError

DEFAULT_RALLIES = 4000
FEWEST_RALLIES, MOST_RALLIES = 100, 1_000_000


@dataclass(frozen=True)
class Table:
    """The rows, with what they were simulated from: `rallies` for each level and surface."""

    rows: list[Row]
    seed: int
    rallies: int

    def count(self, verdict: str) -> int:
        """Checks with that verdict; other kinds are no evidence."""
        return sum(row.kind == CHECK and row.verdict() == verdict for row in self.rows)

    @property
    def summary(self) -> str:
        """How many of the checks agree, in one sentence."""
        checks = sum(row.kind == CHECK for row in self.rows)
        agree, disagree = self.count(AGREES), self.count(DISAGREES)
        return (
            f"{agree} of {checks} checks agree with the published record, {disagree} disagree and"
            f" {checks - agree - disagree} cannot be told. Inputs and verifications are no"
            " evidence."
        )


def table_of(seed: int, rallies: int = DEFAULT_RALLIES) -> Table:
    """Compute every row.

    Raises:
        InputError: a seed that cannot be one, or too few or too many rallies.
    """
    if not FEWEST_RALLIES <= rallies <= MOST_RALLIES:
        raise InputError(
            f"--rallies is {rallies}; give a whole number from {FEWEST_RALLIES} to {MOST_RALLIES}"
        )
    checked_seed(seed)
    return Table(demoted(rows_of(Sample(seed, rallies)), fitted_figures()), seed, rallies)
