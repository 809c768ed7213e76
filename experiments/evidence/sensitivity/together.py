"""All parameters together: what share of an outcome's scatter each one makes."""

from __future__ import annotations

import numpy as np
import pandas as pd

from experiments.evidence.sensitivity.draws import chance_share, drawn
from experiments.evidence.sensitivity.folder import Comparison, DesignedFolder
from experiments.evidence.sensitivity.indices import Indices, indices
from experiments.evidence.sensitivity.naming import named_factors
from experiments.evidence.sensitivity.one_by_one import moves

FILE = "sensitivity.csv"
FIFTH = 0.2
INDICES = ("first", "total", "first_low", "first_high", "total_low", "total_high")


def together(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each outcome and factor, the largest total order of an outcome first.

    After the labels and the factor: the indices with their intervals; `moves_by`, the standard
    deviation of the outcome that is left when all other factors are known, in its unit; `moves`,
    whether that is above the margin (only for differences in 100: surely, if that holds at the low
    end of the interval after all that may be chance has been taken off; perhaps; no);
    `lowest_fifth` and `highest_fifth`, the mean outcome over the fifth of the draws in which the
    factor is lowest and highest; and `chance_share` of the outcome (see `draws.chance_share`):
    chance inflates total orders, at most by it, and lowers first orders.
    """
    return pd.concat([_rows(folder, c) for c in folder.comparisons()], ignore_index=True)


def _rows(folder: DesignedFolder, comparison: Comparison) -> pd.DataFrame:
    named = named_factors(folder.study, comparison.labels["level"])
    found = indices_of(folder, comparison, list(named))
    sample = drawn(folder, comparison)
    values = comparison.cells.loc[sample.index, "estimate"]
    chance = chance_share(comparison, sample.index)

    def sd_left(total: np.ndarray) -> np.ndarray:
        return np.asarray(np.sqrt(np.maximum(total, 0.0)) * float(values.std(ddof=1)))

    common = {**comparison.labels, "chance_share": chance}
    table = pd.DataFrame([common | name.columns() for name in named.values()])
    table = table.assign(**{name: getattr(found, name) for name in INDICES})
    table["moves_by"] = sd_left(found.total)
    ends = zip(sd_left(found.total_low - chance), sd_left(found.total_high), strict=True)
    table["moves"] = [moves(*e) if comparison.has_margin else "" for e in ends]
    table[["lowest_fifth", "highest_fifth"]] = [fifths(sample[label], values) for label in named]
    return table.sort_values("total", ascending=False, kind="stable")


def indices_of(folder: DesignedFolder, comparison: Comparison, labels: list[str]) -> Indices:
    """The indices of one outcome for these factors, from Saltelli's samples."""
    points, values = folder.points_of(comparison), comparison.cells["estimate"]

    def of(role: str) -> np.ndarray:
        return values.loc[points.index[points["role"] == role]].to_numpy(float)

    mixed = np.stack([of(label) for label in labels])
    return indices(of("A"), of("B"), mixed, folder.study.seed or 0)


def fifths(factor: pd.Series, outcome: pd.Series) -> tuple[float, float]:
    """Mean outcome where the factor is among its lowest and its highest fifth; NaN for texts."""
    if factor.dtype == object:
        return np.nan, np.nan
    rank = factor.rank(pct=True)
    return float(outcome[rank <= FIFTH].mean()), float(outcome[rank > 1.0 - FIFTH].mean())
