"""One parameter at a time: what the ends of its range do to an outcome."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from experiments.evidence.sensitivity.folder import NUMBERS, Comparison, DesignedFolder
from experiments.evidence.sensitivity.naming import Named, named_factors
from experiments.statistics.comparison import MARGIN

FILE = "one_at_a_time.csv"
SURELY, PERHAPS, NO = "surely", "perhaps", "no"


def one_by_one(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each outcome and factor, the widest spread of an outcome first.

    After the labels and the factor: the ends of its range with the outcome there and its interval;
    the outcome as it stands (`base`); `spread`, the largest less the smallest of these three, with
    half the width of its interval (`spread_half`); `moves`, whether that is more than the margin
    (surely, perhaps, no; only for differences in 100); and `turns`, the verdict at the ends where
    it is not that of the base.

    All are played on the same chance but kept apart, so the interval of a spread is that of
    independent estimates: wider than it need be. "Perhaps" means no more than not excluded.
    """
    rows: list[dict[str, Any]] = []
    for comparison in folder.comparisons():
        named = named_factors(folder.study, comparison.labels["level"])
        points = folder.points_of(comparison)
        own = [
            _row(comparison, name, points[points["role"] == label][label])
            for label, name in named.items()
        ]
        rows += sorted(own, key=lambda r: -r["spread"])
    return pd.DataFrame(rows)


def _row(comparison: Comparison, name: Named, values: pd.Series) -> dict[str, Any]:
    """One factor: `values` are its values by point."""
    ordered = values if values.dtype == object else values.sort_values()
    at = comparison.cells.reindex(ordered.index)
    low, high = at.iloc[0], at.iloc[-1]
    base, about = comparison.base, name.columns()
    stood = (np.nan,) * 3 if base is None else base[list(NUMBERS)]
    spread, half = spread_of([row for _, row in at.iterrows()] + ([] if base is None else [base]))
    return {
        **comparison.labels,
        **{column: about[column] for column in ("factor", "words", "unit", "usual", "status")},
        "low_value": ordered.iloc[0],
        "high_value": ordered.iloc[-1],
        **{f"at_low_{k}": low[k] for k in NUMBERS},
        **{f"at_high_{k}": high[k] for k in NUMBERS},
        "spread": spread,
        "spread_half": half,
        **dict(zip(("base", "base_low", "base_high"), stood, strict=True)),
        "moves": moves(spread - half, spread + half) if comparison.has_margin else "",
        "turns": _turns(comparison, at) if comparison.has_margin else "",
    }


def spread_of(cells: Iterable[pd.Series]) -> tuple[float, float]:
    """The largest less the smallest estimate, and half the width of its 95 % interval."""
    ordered = sorted(cells, key=lambda c: float(c["estimate"]))
    low, high = ordered[0], ordered[-1]
    half = math.hypot(high["high"] - high["low"], low["high"] - low["low"]) / 2.0
    return float(high["estimate"] - low["estimate"]), half


def moves(least: float, most: float) -> str:
    """Whether an effect is beyond the margin, given the ends of its 95 % interval."""
    if least > MARGIN:
        return SURELY
    return PERHAPS if most > MARGIN else NO


def _turns(comparison: Comparison, at: pd.DataFrame) -> str:
    """The verdicts of the ends that are not that of the study as it stands."""
    base = comparison.base
    other = [v for v in at["verdict"] if base is not None and v != base["verdict"]]
    return ", ".join(dict.fromkeys(other))
