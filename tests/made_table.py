"""Replicate tables made by hand."""

from __future__ import annotations

import numpy as np

from experiments.statistics.estimates import INDEX
from experiments.statistics.tally import COLUMNS


def table_of(**columns: np.ndarray) -> np.ndarray:
    """One row a replicate: the columns given, 0 in all others."""
    out = np.zeros((len(next(iter(columns.values()))), len(COLUMNS)))
    out[:, 0] = 1.0
    for name, values in columns.items():
        out[:, INDEX[name]] = values
    return out
