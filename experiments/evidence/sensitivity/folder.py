"""Reading what a study with factors wrote: its points, and the cells at each of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output import tables
from experiments.scene.own_code import policy_of
from experiments.statistics.comparison import verdict_of
from experiments.statistics.estimates import LEVEL, quantile
from experiments.study.design import Study
from experiments.study.factors import Factors
from experiments.study.file import parse_study
from experiments.study.folder_files import DESIGNED_FILE, POINTS_FILE, sound
from experiments.study.result_folder import LABELS
from sim.errors import InputError

NUMBERS = ("estimate", "low", "high")
IN_100 = "_per_100"
TEXTS = ("own_stroke", "role", "verdict", "moves", "turns", "source", "at_end", "than")


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
        return (self.cells["high"] - self.cells["low"]) / (2.0 * quantile(LEVEL, math.inf))


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
        study = study_of(path)
        if study.factors is None:
            raise InputError(
                f"the study in {str(path)!r} varies nothing; give a folder of a study with factors"
            )
        cells, plain = (
            _with_verdicts(read_table(path / name)) for name in (DESIGNED_FILE, "cells.csv")
        )
        return cls(path, study, study.factors, read_table(path / POINTS_FILE), cells, plain)

    def comparisons(self) -> Iterator[Comparison]:
        """Every outcome that was kept, by policy and scenario, in the order of the table."""
        reference = reference_of(self.study)
        plain = {tuple(c[k] for k in LABELS): c for _, c in self.plain.iterrows()}
        for labels, rows in groups(self.cells, LABELS):
            difference = is_difference(labels["outcome"], reference)
            base = plain.get(tuple(labels.values()))
            yield Comparison(labels, rows.set_index("point"), base, difference)

    def points_of(self, comparison: Comparison) -> pd.DataFrame:
        """The points with their values for the comparison's level, indexed by the point."""
        own = self.points[self.points["level"] == comparison.labels["level"]]
        return own.set_index("point")


def groups(
    table: pd.DataFrame, labels: Sequence[str]
) -> Iterator[tuple[dict[str, Any], pd.DataFrame]]:
    """The rows that share these labels, with the labels, in the order of the table."""
    for key, rows in table.groupby(list(labels), sort=False):
        values: Any = key
        yield dict(zip(labels, values, strict=True)), rows


def study_of(path: Path) -> Study:
    """The study of a result folder.

    Raises:
        InputError: it cannot be read or is not one.
    """
    try:
        text = sound(path, "study.toml").read_text("utf-8")
    except OSError as error:
        raise InputError(f"the study in {str(path)!r} cannot be read: {error}") from None
    return _study(text, path)


def reference_of(study: Study) -> str:
    """The name of the policy that the others are compared with."""
    return policy_of(study.reference).name


def is_difference(outcome: str, reference: str) -> bool:
    """Whether an outcome compares a policy with the reference."""
    return f"_than_{reference}_" in outcome


@lru_cache(maxsize=4)
def _study(text: str, path: Path) -> Study:
    """The study of a folder, checked once: that takes seconds where it has thousands of points."""
    return parse_study(text, f"the study in {str(path)!r}", path)


def read_table(path: Path) -> pd.DataFrame:
    """A table of the folder; a label or other text that is empty is "".

    Raises:
        InputError: it cannot be read.
    """
    try:
        return tables.read_table(sound(path.parent, path.name), TEXTS)
    except InputError:
        raise
    except (OSError, ValueError) as error:
        raise InputError(
            f"{str(path)!r} cannot be read: {error}; give a folder of a study with factors"
        ) from None


def _with_verdicts(table: pd.DataFrame) -> pd.DataFrame:
    """The cells with a verdict each: the stored one, which counts how many policies are compared,
    else that of the cell's own interval."""
    table[list(NUMBERS)] = table[list(NUMBERS)].astype(float)
    cells = table.to_dict("records")
    table["verdict"] = [verdict_of(c | {"verdict": c.get("verdict") or None}) for c in cells]
    return table
