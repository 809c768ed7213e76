"""Whole parameter draws: how the difference scatters over them, and how often the verdict turns."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from experiments.evidence.sensitivity.folder import Comparison, DesignedFolder
from experiments.study.factors import SAMPLED

FILE = "draws.csv"
PLAIN_ROLES = ("", "A", "B")
VERDICTS = ("wins", "as good", "not decided", "loses")


def draws(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each outcome: its distribution over the draws of all factors together.

    Of Saltelli's samples only A and B count, which are independent draws. After the labels:
    `draws`; mean, sd, 5 % and 95 % points; `chance_share`; `not_better`, the share of draws whose
    estimate is not above zero, and `not_better_without_chance`, the same after `without_chance`
    (both for differences); and the share of draws with each verdict (differences in 100).
    """
    return pd.DataFrame([_row(c, drawn(folder, c)) for c in folder.comparisons()])


def drawn(folder: DesignedFolder, comparison: Comparison) -> pd.DataFrame:
    """The independent draws among the points, with their values, indexed by the point."""
    points = folder.points_of(comparison)
    if folder.factors.design not in SAMPLED:
        return points.iloc[:0]
    return points[points["role"].isin(PLAIN_ROLES)]


def chance_share(comparison: Comparison, points: pd.Index) -> float:
    """The share of the variance over the points that is due to the finite number of rallies.

    Mean squared standard error over the variance of the estimates. As all points are played on the
    same chance, part of the error is common to them and does not scatter: it is at most this share.
    """
    variance = float(np.var(comparison.cells.loc[points, "estimate"], ddof=1))
    noise = float(np.mean(comparison.se.loc[points] ** 2))
    return min(1.0, noise / variance) if variance > 0 else 0.0


def without_chance(estimates: np.ndarray, share: float) -> np.ndarray:
    """Estimates drawn together to their mean until the variance due to chance has gone.

    Constrained empirical Bayes (Louis 1984, J. Am. Stat. Assoc. 79, 393-398), one error for all.
    """
    middle = estimates.mean()
    return np.asarray(middle + (estimates - middle) * np.sqrt(1.0 - share))


def _row(comparison: Comparison, points: pd.DataFrame) -> dict[str, Any]:
    own = comparison.cells.loc[points.index]
    values = own["estimate"].to_numpy(float)
    share = chance_share(comparison, points.index)
    low, high = np.quantile(values, (0.05, 0.95))
    row: dict[str, Any] = {
        **comparison.labels,
        "draws": len(values),
        "mean": values.mean(),
        "sd": values.std(ddof=1),
        "low_5": low,
        "high_95": high,
        "chance_share": share,
    }
    if comparison.is_difference:
        row["not_better"] = float(np.mean(values <= 0.0))
        row["not_better_without_chance"] = float(np.mean(without_chance(values, share) <= 0.0))
    if comparison.has_margin:
        row |= {v.replace(" ", "_"): float(np.mean(own["verdict"] == v)) for v in VERDICTS}
    return row
