"""Sobol's indices of first and total order, with intervals.

The first order is the share of the variance that goes if one factor becomes known; the total order
the share that is left if all others become known (Sobol' 2001, Math. Comput. Simul. 55, 271-280).
Estimated by SciPy after Saltelli et al. 2010 (Comput. Phys. Commun. 181, 259-270), not by SALib:
SciPy is here anyway, takes values that were computed elsewhere, has the estimators that the paper
recommends, and SALib would add a package for second orders that nobody asks for. Intervals come
from scipy.stats.bootstrap and not from the result's own method, which takes no seed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import bootstrap, sobol_indices

RESAMPLES = 999
LEVEL = 0.95


@dataclass(frozen=True)
class Indices:
    """Indices of d factors, each array (d,), with the ends of their 95 % bootstrap intervals."""

    first: np.ndarray
    first_low: np.ndarray
    first_high: np.ndarray
    total: np.ndarray
    total_low: np.ndarray
    total_high: np.ndarray


def indices(a: np.ndarray, b: np.ndarray, mixed: np.ndarray, seed: int) -> Indices:
    """The indices of an outcome from Saltelli's samples.

    `a` and `b` (n,) are the outcome in samples A and B, `mixed` (d, n) that in A with one factor
    from B; n is a power of two. The bootstrap draws the n rows anew, all samples together, with
    `seed`. Estimates may lie a little outside 0 to 1. An outcome without variance has indices 0.
    """

    def estimated(rows: np.ndarray) -> np.ndarray:
        chosen = {"f_A": a[None, rows], "f_B": b[None, rows], "f_AB": mixed[:, None, rows]}
        found = sobol_indices(func=chosen, n=len(rows))
        return np.stack([found.first_order.ravel(), found.total_order.ravel()])

    rows = np.arange(len(a))
    interval = bootstrap(
        (rows,),
        estimated,
        n_resamples=RESAMPLES,
        confidence_level=LEVEL,
        method="percentile",
        vectorized=False,
        rng=np.random.default_rng(seed),
    ).confidence_interval
    (first, total), (f_low, t_low), (f_high, t_high) = (
        estimated(rows),
        interval.low,
        interval.high,
    )
    return Indices(first, f_low, f_high, total, t_low, t_high)
