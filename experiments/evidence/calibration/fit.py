"""How far sets of parameters are from the record, by the hundred and on several processors."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np

from experiments.evidence.calibration.drawn import game_with, values_at
from experiments.evidence.calibration.search import Judged
from experiments.evidence.record.figures import (
    MOST_IN_A_SECTION,
    MOST_OVERALL,
    figures,
    fit_of,
    gaps,
    section_names,
)
from experiments.evidence.record.play import record_strokes
from experiments.evidence.record.published import record
from experiments.study.executors import end_with_parent


@dataclass(frozen=True)
class Asked:
    """What sets are judged by: so many points played from one seed, and the sections of the record
    that count."""

    points: int
    seed: int
    sections: tuple[str, ...]

    @functools.cached_property
    def counted(self) -> np.ndarray:
        """Which figures count."""
        return np.isin([figure.section for figure in record()], self.sections)


def sections_but(left_out: str | None) -> tuple[str, ...]:
    """The sections of the record, without the one that is left out."""
    return tuple(name for name in section_names() if name != left_out)


def figures_at(asked: Asked, point: np.ndarray) -> np.ndarray:
    """The record's figures, played with the set at a point (d,) of the unit cube; NaN where it
    contradicts itself."""
    game = game_with(values_at(point), asked.seed)
    if game is None:
        return np.full(len(record()), math.nan)
    return figures(record_strokes(game, asked.points))


def distance_of(found: np.ndarray, sections: tuple[str, ...]) -> float:
    """By how much figures miss being a fit to some sections of the record: the larger of the root
    mean square gaps over all of them and over the worst one, each in the most that is allowed;
    infinite where a figure is missing."""
    fit = fit_of(found)
    worst = max(fit.sections[name] for name in sections)
    larger = max(fit.over(sections) / MOST_OVERALL, worst / MOST_IN_A_SECTION)
    return larger if math.isfinite(larger) else math.inf


class Bench:
    """Judges many sets, in this process or in several; the same numbers either way."""

    def __init__(self, asked: Asked, pool: ProcessPoolExecutor | None) -> None:
        self._asked, self._pool = asked, pool

    def figures(self, points: np.ndarray) -> np.ndarray:
        """The record's figures (n, figures) at points (n, d)."""
        one = functools.partial(figures_at, self._asked)
        found = self._pool.map(one, points, chunksize=4) if self._pool else map(one, points)
        return np.array(list(found))

    def __call__(self, points: np.ndarray) -> Judged:
        """The gaps of the figures that count, and the distances."""
        found, sections = self.figures(points), self._asked.sections
        distances = np.array([distance_of(each, sections) for each in found])
        return Judged(gaps(found)[:, self._asked.counted], distances)


@contextmanager
def bench(asked: Asked, workers: int) -> Iterator[Bench]:
    """A bench with so many processes."""
    if workers == 1:
        yield Bench(asked, None)
        return
    with ProcessPoolExecutor(workers, get_context("spawn"), end_with_parent) as pool:
        yield Bench(asked, pool)
