"""What numbers do to an outcome: one at a time, all together, in whole draws of all of them.

Indices are Sobol's, of first and total order, with intervals. The first order is the share of the
variance that goes if one factor becomes known; the total order the share that is left if all others
become known (Sobol' 2001, Math. Comput. Simul. 55, 271-280). Estimated by SciPy after Saltelli et
al. 2010 (Comput. Phys. Commun. 181, 259-270), not by SALib: SciPy is here anyway, takes values that
were computed elsewhere, has the estimators that the paper recommends, and SALib would add a package
for second orders that nobody asks for. Intervals come from scipy.stats.bootstrap and not from the
result's own method, which takes no seed.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from experiments.evidence.sensitivity.folder import LABELS, NUMBERS, Comparison, DesignedFolder
from experiments.evidence.sensitivity.naming import Named, named_factors
from experiments.statistics.comparison import MARGIN
from experiments.statistics.estimates import LEVEL
from experiments.study.factors import SAMPLED
from sim.over_arrays import length_of

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
            _ends_row(comparison, name, points[points["role"] == label][label])
            for label, name in named.items()
        ]
        rows += sorted(own, key=lambda r: -r["spread"])
    return pd.DataFrame(rows)


def _ends_row(comparison: Comparison, name: Named, values: pd.Series) -> dict[str, Any]:
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
    half = length_of(high["high"] - high["low"], low["high"] - low["low"]) / 2.0
    return float(high["estimate"] - low["estimate"]), float(half)


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


RESAMPLES = 999


class Indices(NamedTuple):
    """Indices of d factors, each array (d,), with the ends of their 95 % bootstrap intervals."""

    first: np.ndarray
    total: np.ndarray
    first_low: np.ndarray
    first_high: np.ndarray
    total_low: np.ndarray
    total_high: np.ndarray


def indices(a: np.ndarray, b: np.ndarray, mixed: np.ndarray, seed: int) -> Indices:
    """The indices of an outcome from Saltelli's samples.

    `a` and `b` (n,) are the outcome in samples A and B, `mixed` (d, n) that in A with one factor
    from B; n is a power of two. The bootstrap draws the n rows anew, all samples together, with
    `seed`. Estimates may lie a little outside 0 to 1. An outcome without variance has indices 0.
    """
    from scipy.stats import bootstrap, sobol_indices  # slow to import

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
    (first_low, total_low), (first_high, total_high) = interval.low, interval.high
    first, total = estimated(rows)
    return Indices(first, total, first_low, first_high, total_low, total_high)


PLAIN_ROLES = ("", "A", "B")
VERDICTS = ("wins", "as good", "not decided", "loses")


def draws(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each outcome: its distribution over the draws of all factors together.

    Of Saltelli's samples only A and B count, which are independent draws. After the labels:
    `draws`; mean, sd, 5 % and 95 % points; `chance_share`; `not_better`, the share of draws whose
    estimate is not above zero, and `not_better_without_chance`, the same after `without_chance`
    (both for differences); and the share of draws with each verdict (differences in 100).
    """
    return pd.DataFrame([_draws_row(c, drawn(folder, c)) for c in folder.comparisons()])


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
    noise = float(np.mean(np.square(comparison.se.loc[points])))
    return min(1.0, noise / variance) if variance > 0 else 0.0


def without_chance(estimates: np.ndarray, share: float) -> np.ndarray:
    """Estimates drawn together to their mean until the variance due to chance has gone.

    Constrained empirical Bayes (Louis 1984, J. Am. Stat. Assoc. 79, 393-398), one error for all.
    """
    middle = estimates.mean()
    return np.asarray(middle + (estimates - middle) * np.sqrt(1.0 - share))


def _draws_row(comparison: Comparison, points: pd.DataFrame) -> dict[str, Any]:
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


FIFTH = 0.2


def together(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each outcome and factor, the largest total order of an outcome first.

    After the labels and the factor: the indices with their intervals; `moves_by`, the standard
    deviation of the outcome that is left when all other factors are known, in its unit; `moves`,
    whether that is above the margin (only for differences in 100: surely, if that holds at the low
    end of the interval after all that may be chance has been taken off; perhaps; no);
    `lowest_fifth` and `highest_fifth`, the mean outcome over the fifth of the draws in which the
    factor is lowest and highest; and `chance_share` of the outcome (see `chance_share`):
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
    table = table.assign(**found._asdict())
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


TOLD = ("factor", "words", "unit", "low_value", "high_value", "status", "source")
OWN = ("effect", "moves", "turns")


def assumptions(folder: DesignedFolder, table: pd.DataFrame) -> pd.DataFrame:
    """The rows of `one_by_one` or `together` whose factor moves a difference in 100 by more than
    the margin, surely or perhaps, the largest effect of an outcome first.

    `effect` is the spread between the ends of the range, or the standard deviation that is left
    when all other factors are known; `turns` the verdicts at the ends that are not that of the
    study as it stands ("" where ends were not played by themselves).
    """
    table = table[table["moves"].isin((SURELY, PERHAPS))].copy()
    if "turns" not in table:
        table["turns"] = ""
    effect = table["spread"] if "spread" in table else table["moves_by"]
    named = named_factors(folder.study, folder.study.level_names()[0])
    table = table.assign(effect=effect, source=table["factor"].map(lambda f: named[f].source))
    return table[[*LABELS, *TOLD, *OWN]].reset_index(drop=True)
