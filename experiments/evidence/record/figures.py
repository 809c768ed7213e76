"""The model's figures beside the record's, the gaps between them, and which sections fit."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from experiments.evidence.record.pairs import LastPairs
from experiments.evidence.record.published import QUANTILES, Figure, record
from experiments.evidence.validation.estimates import Estimate, mean_of, normal, quantile_of
from experiments.statistics.estimates import binomial_share

MOST_OVERALL, MOST_IN_A_SECTION = 1.0, 1.5  # root mean square gaps of a set that fits


class Samples:
    """What the figures are read off, each sample worked out and sorted once."""

    def __init__(self, strokes: np.ndarray) -> None:
        self.pairs = LastPairs(strokes)
        self.known: dict[tuple[Any, ...], Any] = {}

    def of(self, ours: tuple[Any, ...]) -> Any:
        """The sample of that name, ascending, or the estimate."""
        if ours not in self.known:
            found = getattr(self.pairs, ours[0])(*ours[1:])
            self.known[ours] = np.sort(found) if isinstance(found, np.ndarray) else found
        return self.known[ours]

    def value(self, figure: Figure) -> float:
        """The model's own figure; NaN where its sample is empty."""
        found = self.of(figure.ours)
        if isinstance(found, Estimate):
            return found.value
        if len(found) == 0:
            return math.nan
        if figure.of in QUANTILES:
            return float(found[quantile_place(len(found), QUANTILES[figure.of])])
        return float(found.mean())

    def estimate(self, figure: Figure) -> Estimate:
        """The same with its interval: each point has one last pair, so that pairs are independent,
        and so are the strokes of a hazard, each being the first to end its point."""
        found = self.of(figure.ours)
        if isinstance(found, Estimate):
            return found
        if figure.of == "share":
            return share_estimate(found)
        units = np.arange(len(found))
        if figure.of in QUANTILES:
            return quantile_of(found, units, QUANTILES[figure.of])
        return mean_of(found, units)


def quantile_place(n: int, share: float) -> int:
    """Place in n sorted values of the smallest with so large a share at or below it."""
    return max(math.ceil(share * n - 1e-9) - 1, 0)


def share_estimate(conditions: np.ndarray) -> Estimate:
    """The share of independent conditions that are met, with its exact interval."""
    n = len(conditions)
    if n == 0:
        return normal(math.nan, math.nan)
    value = float(conditions.mean())

    def interval(level: float) -> tuple[float, float]:
        found = binomial_share(value, n, level)
        return found.low, found.high

    return Estimate(value, math.sqrt(value * (1 - value) / n), interval)


def figures(strokes: np.ndarray) -> np.ndarray:
    """The model's own figures, in the order of the file, of STROKE records sorted by rally and
    stroke; NaN where there is nothing to read one off."""
    samples = Samples(strokes)
    return np.array([samples.value(figure) for figure in record()])


def estimates(strokes: np.ndarray) -> list[Estimate]:
    """The same with their intervals."""
    samples = Samples(strokes)
    return [samples.estimate(figure) for figure in record()]


def gaps(ours: npt.ArrayLike) -> np.ndarray:
    """Each figure less the record's, over its tolerance."""
    published = np.array([figure.value for figure in record()])
    tolerance = np.array([figure.tolerance for figure in record()])
    return (np.asarray(ours, float) - published) / tolerance


@dataclass(frozen=True)
class Fit:
    """Root mean square gap over all figures and over those of each section, which are `counts`."""

    overall: float
    sections: dict[str, float]
    counts: dict[str, int]

    def over(self, names: Collection[str]) -> float:
        """Root mean square gap over the figures of some sections."""
        squares = sum(
            self.counts[name] * self.sections[name] * self.sections[name] for name in names
        )
        return math.sqrt(squares / sum(self.counts[name] for name in names))

    @property
    def fits(self) -> bool:
        """Whether the parameters that these figures come from fit the record."""
        near = all(gap <= MOST_IN_A_SECTION for gap in self.sections.values())
        return near and self.overall <= MOST_OVERALL


def fit_of(ours: npt.ArrayLike) -> Fit:
    """How near the model's figures are; NaN, which does not fit, where one of them is missing."""
    gap = gaps(ours)
    sections = np.array([figure.section for figure in record()])
    of = {name: gap[sections == name] for name in section_names()}
    return Fit(
        _rms(gap),
        {name: _rms(found) for name, found in of.items()},
        {name: len(found) for name, found in of.items()},
    )


def section_names() -> list[str]:
    """The sections in the order of the file."""
    return list(dict.fromkeys(figure.section for figure in record()))


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt((values * values).mean()))
