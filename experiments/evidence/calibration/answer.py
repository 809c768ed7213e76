"""A calibration: the sets that were found, what they come to on fresh chance, what is pinned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from experiments.evidence.calibration.drawn import drawn, usual_point, values_at
from experiments.evidence.calibration.fit import Asked, bench, distance_of, sections_but
from experiments.evidence.calibration.search import FITS, between, search
from experiments.evidence.record.figures import Fit, fit_of, gaps, section_names
from experiments.evidence.record.published import record
from experiments.study.worlds import NUMBER
from sim.chance import checked_seed
from sim.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

SETS, POPULATION, SMOOTHINGS, MOVES, POINTS = 100, 160, 6, 11, 4000
FRESH = 5  # times the points, for what is said of the sets in the end
FEWEST_SETS, FEWEST_POINTS = 2, 1000
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
        return pd.DataFrame(rows).rename_axis(NUMBER).reset_index()


def calibrated(plan: Plan, workers: int, told: Callable[[str], object]) -> Found:
    """Search, then play the sets that were found again, longer and on other chance.

    If the model as it is fits, too, sets from all the way between it and those that were found are
    taken; and of these, those that are near on the fresh chance. `told` hears of each round.
    """
    sections, usual = sections_but(plan.leave_out), usual_point()
    with bench(Asked(plan.points, plan.seed, sections), workers) as judge:
        rounds = search(
            judge, plan.population, len(drawn()), plan.smoothings, plan.moves, plan.seed
        )
        for number, population in enumerate(rounds, 1):
            middle = float(np.median(population.distances))
            told(
                f"round {number} of {plan.rounds}: {population.fitting} of"
                f" {plan.population} sets fit; distance {population.distances.min():.2f} at the"
                f" least, {middle:.2f} in the middle (a fit: at most {FITS:g})"
            )
    with bench(Asked(FRESH * plan.points, plan.seed + 1, sections), workers) as judge:
        (usual_figures,) = judge.figures(usual[None])
        points = population.points
        # The model as it is knows of all sections: nothing may be foretold by it.
        if plan.leave_out is None and distance_of(usual_figures, sections) <= FITS:
            points = between(points, usual, plan.seed)
        figures = judge.figures(points)
    fresh = np.array([distance_of(each, sections) for each in figures])
    near = np.flatnonzero(fresh <= FITS)
    if len(near) < plan.sets:
        near = np.argsort(fresh, kind="stable")
    # In the order of the population, which is none: the first so many are as good as any.
    chosen = np.sort(near[: plan.sets])
    return Found(plan, points[chosen], figures[chosen], usual_figures)


@dataclass(frozen=True)
class Pinned:
    """One parameter: its usual value and range, the middle and the middle 95 % of the sets, and how
    much of the range's width these leave (1: the record says nothing of it)."""

    parameter: str
    unit: str
    usual: float
    low: float
    high: float
    middle: float
    sets_low: float
    sets_high: float
    left: float

    @property
    def range_text(self) -> str:
        """Both ends of the range and the unit."""
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{self.low:.4g} to {self.high:.4g}{unit}"


def pinned(found: Found) -> list[Pinned]:
    """What the record leaves of each parameter, in the order of the file."""
    inside = (MIDDLE[-1] - MIDDLE[0]) / 100.0
    values = np.array([list(values_at(point).values()) for point in found.points])
    return [
        Pinned(p.name, p.unit, p.usual, p.low, p.high, m, a, b, (b - a) / (inside * p.width))
        for p, (a, m, b) in zip(drawn(), np.percentile(values, MIDDLE, axis=0).T, strict=True)
    ]


@dataclass(frozen=True)
class Compared:
    """One figure: the record's with its tolerance, that of the model as it is, and the middle and
    the middle 95 % of the sets."""

    figure: str
    section: str
    record: float
    tolerance: float
    before: float
    middle: float
    low: float
    high: float


def compared(found: Found) -> list[Compared]:
    """What became of each figure, in the order of the record."""
    return [
        Compared(f.key, f.section, f.value, f.tolerance, before, m, a, b)
        for f, before, (a, m, b) in zip(
            record(),
            found.usual_figures,
            np.percentile(found.figures, MIDDLE, axis=0).T,
            strict=True,
        )
    ]


@dataclass(frozen=True)
class SectionGap:
    """Root mean square gap over a section, or over all: of the model as it is, and of the sets."""

    section: str
    before: float
    least: float
    middle: float
    most: float


def section_gaps(found: Found) -> list[SectionGap]:
    """Each section, then all of them."""
    of: dict[str, tuple[float, list[float]]] = {
        name: (found.usual.sections[name], []) for name in section_names()
    }
    of["all"] = (found.usual.overall, [])
    for fit in found.fits:
        for name, gap in {**fit.sections, "all": fit.overall}.items():
            of[name][1].append(gap)
    return [
        SectionGap(name, before, min(sets), float(np.median(sets)), max(sets))
        for name, (before, sets) in of.items()
    ]


def worst_figures(found: Found, count: int) -> list[tuple[str, float]]:
    """The figures that stand in the way: the largest middle gaps of the sets, with their sign."""
    middle = np.median(np.array([gaps(each) for each in found.figures]), axis=0)
    order = np.argsort(-np.abs(middle), kind="stable")[:count]
    return [(f"{record()[k].key} ({record()[k].section})", float(middle[k])) for k in order]
