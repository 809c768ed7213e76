"""A calibration: the sets that were found, what they come to on fresh chance, what is pinned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from experiments.evidence.calibration.drawn import drawn, usual_point, values_at
from experiments.evidence.calibration.fit import Asked, bench, distance_of, sections_but
from experiments.evidence.calibration.search import FITS, search
from experiments.evidence.record.figures import Fit, fit_of, gaps, section_names
from experiments.evidence.record.published import record
from sim.chance import checked_seed
from sim.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

SETS, POPULATION, SMOOTHINGS, MOVES, POINTS = 128, 200, 6, 40, 4000
FRESH = 5  # times the points, for what is said of the sets in the end
FEWEST_SETS, FEWEST_POINTS = 2, 200
MOST = 1_000_000
MIDDLE = (2.5, 50.0, 97.5)  # per cent


@dataclass(frozen=True)
class Plan:
    """How to search: members of the population, steps of smoothing, rounds of moves, points played
    for each set; how many sets are wanted; a section of the record that is left out, or None.

    Raises:
        InputError: a number or a section that cannot be one.
    """

    seed: int
    sets: int = SETS
    population: int = POPULATION
    smoothings: int = SMOOTHINGS
    moves: int = MOVES
    points: int = POINTS
    leave_out: str | None = None

    def __post_init__(self) -> None:
        checked_seed(self.seed)
        least = {
            "sets": (self.sets, FEWEST_SETS),
            "population": (self.population, max(self.sets, 8)),
            "smoothings": (self.smoothings, 1),
            "moves": (self.moves, 0),
            "points": (self.points, FEWEST_POINTS),
        }
        for name, (value, fewest) in least.items():
            if not fewest <= value <= MOST:
                raise InputError(
                    f"--{name} is {value}; give a whole number from {fewest} to {MOST}"
                )

    @property
    def rounds(self) -> int:
        """How many times the population is judged."""
        return 1 + self.smoothings + self.moves


@dataclass(frozen=True)
class Found:
    """The sets of a calibration: points (n, d) of the unit cube, the figures (n, figures) that each
    comes to on fresh chance, and those of the model as it is without calibration."""

    plan: Plan
    points: np.ndarray
    figures: np.ndarray
    usual_figures: np.ndarray

    @property
    def distances(self) -> np.ndarray:
        """How far each set is from what it was fitted to; a fit is at most FITS."""
        sections = sections_but(self.plan.leave_out)
        return np.array([distance_of(each, sections) for each in self.figures])

    @property
    def fitting(self) -> int:
        """How many sets fit on fresh chance, too."""
        return int((self.distances <= FITS).sum())

    @property
    def fits(self) -> list[Fit]:
        """Root mean square gaps of each set."""
        return [fit_of(each) for each in self.figures]

    @property
    def usual(self) -> Fit:
        """Those of the model as it is."""
        return fit_of(self.usual_figures)

    def worlds(self) -> pd.DataFrame:
        """One row a set: `world`, and a column a parameter."""
        import pandas as pd  # slow to import

        rows = [values_at(point) for point in self.points]
        return pd.DataFrame(rows).rename_axis("world").reset_index()


def calibrated(plan: Plan, workers: int, told: Callable[[str], object]) -> Found:
    """Search, then play the sets that were found again, longer and on other chance.

    Of the population those are taken that fit on the chance of the search, else the nearest; and of
    these, those that are near on the fresh chance. `told` hears of each round.
    """
    sections = sections_but(plan.leave_out)
    with bench(Asked(plan.points, plan.seed, sections), workers) as judge:
        rounds = search(
            judge, plan.population, len(drawn()), plan.smoothings, plan.moves, plan.seed
        )
        for number, population in enumerate(rounds, 1):
            near = float(np.median(population.distances))
            told(
                f"round {number} of {plan.rounds}: {population.fitting} of"
                f" {plan.population} sets fit; distance {population.distances.min():.2f} at the"
                f" least, {near:.2f} in the middle (a fit: at most {FITS:g})"
            )
    with bench(Asked(FRESH * plan.points, plan.seed + 1, sections), workers) as judge:
        again = judge.figures(np.vstack([population.points, usual_point()[None]]))
    figures, usual = again[:-1], again[-1]
    fresh = np.array([distance_of(each, sections) for each in figures])
    near = np.flatnonzero(fresh <= FITS)
    if len(near) < plan.sets:
        near = np.argsort(fresh, kind="stable")
    # In the order of the population, which is none: the first so many are as good as any.
    chosen = np.sort(near[: plan.sets])
    return Found(plan, population.points[chosen], figures[chosen], usual)


def pinned(found: Found) -> pd.DataFrame:
    """For each parameter: usual value, range, middle and middle 95 % of the sets, and how much of
    the range's width that leaves (1: the record says nothing of it)."""
    import pandas as pd  # slow to import

    inside = (MIDDLE[-1] - MIDDLE[0]) / 100.0
    values = found.worlds().drop(columns="world").to_numpy()
    low, middle, high = np.percentile(values, MIDDLE, axis=0)
    rows = [
        (p.name, p.unit, p.usual, p.low, p.high, m, a, b, (b - a) / (inside * (p.high - p.low)))
        for p, a, m, b in zip(drawn(), low, middle, high, strict=True)
    ]
    names = ("parameter", "unit", "usual", "low", "high", "middle", "sets_low", "sets_high", "left")
    return pd.DataFrame(rows, columns=list(names))


def compared(found: Found) -> pd.DataFrame:
    """For each figure: the record's, its tolerance, that of the model as it is, and the middle and
    middle 95 % of the sets."""
    import pandas as pd  # slow to import

    low, middle, high = np.percentile(found.figures, MIDDLE, axis=0)
    rows = [
        (f.key, f.section, f.value, f.tolerance, before, m, a, b)
        for f, before, a, m, b in zip(
            record(), found.usual_figures, low, middle, high, strict=True
        )
    ]
    names = ("figure", "section", "record", "tolerance", "before", "middle", "low", "high")
    return pd.DataFrame(rows, columns=list(names))


def sections_table(found: Found) -> pd.DataFrame:
    """For each section and for all: the root mean square gap of the model as it is, and of the
    sets: the least, the middle and the most."""
    import pandas as pd  # slow to import

    fits = found.fits

    def row(name: str, before: float, of: list[float]) -> tuple[object, ...]:
        return (name, before, min(of), float(np.median(of)), max(of))

    rows = [
        row(name, found.usual.sections[name], [fit.sections[name] for fit in fits])
        for name in section_names()
    ]
    rows.append(row("all", found.usual.overall, [fit.overall for fit in fits]))
    return pd.DataFrame(rows, columns=["section", "before", "least", "middle", "most"])


def worst_figures(found: Found, count: int) -> list[tuple[str, float]]:
    """The figures that stand in the way: the largest middle gaps of the sets, with their sign."""
    middle = np.median(np.array([gaps(each) for each in found.figures]), axis=0)
    order = np.argsort(-np.abs(middle), kind="stable")[:count]
    return [(f"{record()[k].key} ({record()[k].section})", float(middle[k])) for k in order]
