"""Reading what a study with factors wrote: its points, and the cells at each of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd

from experiments.design import Study, load_study
from experiments.factors import Factors
from experiments.findings import verdict
from experiments.own_code import policy_of
from experiments.statistics import Z
from experiments.store import DESIGNED_FILE, POINTS_FILE
from sim.errors import InputError

LABELS = ("policy", "place", "level", "opponent", "setting", "own_stroke", "outcome")
NUMBERS = ("estimate", "low", "high")
IN_100 = "_per_100"


@dataclass(frozen=True)
class Comparison:
    """One outcome of one policy in one scenario, over the points: a row each in `cells`.

    `cells` is indexed by the point and has the columns estimate, low, high and verdict; `base` is
    the same for the study as it stands, None where it has no such cell.
    """

    labels: dict[str, str]
    cells: pd.DataFrame
    base: pd.Series | None
    is_difference: bool

    @property
    def outcome(self) -> str:
        return self.labels["outcome"]

    @property
    def has_margin(self) -> bool:
        """Whether it is a difference in the unit of the margin, balls or points in 100."""
        return self.is_difference and self.outcome.endswith(IN_100)

    @property
    def se(self) -> pd.Series:
        """Standard errors of the estimates, from the width of their intervals."""
        return (self.cells["high"] - self.cells["low"]) / (2.0 * Z)


@dataclass(frozen=True)
class DesignedFolder:
    """The result folder of a study with factors."""

    path: Path
    study: Study
    factors: Factors
    points: pd.DataFrame
    cells: pd.DataFrame
    plain: pd.DataFrame

    @classmethod
    def read(cls, path: Path) -> DesignedFolder:
        """Read a folder.

        Raises:
            InputError: its study has no factors, or a file is missing or not what a study writes.
        """
        study = load_study(path / "study.toml")
        if study.factors is None:
            raise InputError(
                f"the study in {str(path)!r} varies nothing; give a folder of a study with factors"
            )
        tables = [_read(path / name) for name in (POINTS_FILE, DESIGNED_FILE, "cells.csv")]
        return cls(path, study, study.factors, *tables)

    @cached_property
    def reference(self) -> str:
        return policy_of(self.study.reference).name

    def comparisons(self) -> Iterator[Comparison]:
        """Every outcome that was kept, by policy and scenario, in the order of the table."""
        plain = self.plain.set_index(list(LABELS))
        for key, rows in self.cells.groupby(list(LABELS), sort=False):
            labels = dict(zip(LABELS, key, strict=True))
            difference = f"_than_{self.reference}_" in labels["outcome"]
            base = plain.loc[key] if key in plain.index else None
            yield Comparison(labels, rows.set_index("point"), base, difference)

    def differences(self) -> list[Comparison]:
        """Those that compare a policy with the reference."""
        return [c for c in self.comparisons() if c.is_difference]

    def points_of(self, comparison: Comparison) -> pd.DataFrame:
        """The points with their values for the comparison's level, indexed by the point."""
        own = self.points[self.points["level"] == comparison.labels["level"]]
        return own.set_index("point")


def _read(path: Path) -> pd.DataFrame:
    """A table of the folder with texts where a label or a role is empty, and with verdicts."""
    try:
        table = pd.read_csv(path)
    except (OSError, ValueError) as error:
        raise InputError(
            f"{str(path)!r} cannot be read: {error}; give a folder of a study with factors"
        ) from None
    for name in ("own_stroke", "role"):
        if name in table:
            table[name] = table[name].astype(object).where(table[name].notna(), "")
    if "estimate" in table:
        table[list(NUMBERS)] = table[list(NUMBERS)].astype(float)
        # The stored verdict counts how many policies are compared; a table without it has one each.
        stored = table["verdict"] if "verdict" in table else pd.Series(np.nan, table.index)
        table["verdict"] = [
            said if isinstance(said, str) else verdict(low, high)
            for said, low, high in zip(stored, table["low"], table["high"], strict=True)
        ]
    return table
