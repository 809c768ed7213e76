"""All parameters together: what share of an outcome's scatter each one makes."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from experiments.evidence.sensitivity.draws import chance_share, drawn
from experiments.evidence.sensitivity.folder import Comparison, DesignedFolder
from experiments.evidence.sensitivity.indices import Indices, indices
from experiments.evidence.sensitivity.naming import named_factors
from experiments.evidence.sensitivity.one_by_one import NO, PERHAPS, SURELY
from experiments.statistics.comparison import MARGIN

FILE = "sensitivity.csv"
FIFTH = 0.2


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
    sd = float(values.std(ddof=1))
    chance = chance_share(comparison, sample.index)
    common: dict[str, Any] = {**comparison.labels, "chance_share": chance}
    rows: list[dict[str, Any]] = []
    for i, name in enumerate(named.values()):
        by = {k: float(getattr(found, k)[i]) for k in ("first", "total")}
        ends = {
            f"{k}_{e}": float(getattr(found, f"{k}_{e}")[i])
            for k in ("first", "total")
            for e in ("low", "high")
        }
        lowest, highest = fifths(sample[name.label], values)
        rows.append(
            {
                **common,
                "factor": name.label,
                "words": name.words,
                "unit": name.unit,
                "usual": name.usual,
                "low_value": name.low,
                "high_value": name.high,
                "status": name.status,
                **by,
                **ends,
                "moves_by": _sd(by["total"], sd),
                "moves": _moves(ends, chance, sd) if comparison.has_margin else "",
                "lowest_fifth": lowest,
                "highest_fifth": highest,
            }
        )
    return pd.DataFrame(rows).sort_values("total", ascending=False, kind="stable")


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


def _sd(total: float, sd: float) -> float:
    return float(np.sqrt(max(total, 0.0)) * sd)


def _moves(ends: dict[str, float], chance: float, sd: float) -> str:
    if _sd(ends["total_low"] - chance, sd) > MARGIN:
        return SURELY
    return PERHAPS if _sd(ends["total_high"], sd) > MARGIN else NO
