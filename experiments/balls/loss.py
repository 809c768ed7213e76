"""What a place loses to the best one, with the choice of the best place counted in the interval.

The best place is picked because it did well, so its own balls flatter it, and judged on other balls
a lucky pick does worse than the place that is best. The two errors have known signs (Mak, Morton
and Wood 1999, Oper. Res. Lett. 24, 47-56): of places judged on the same balls the best one keeps
more than the best place does on average, and a place picked on some balls and judged on others
keeps less. So the upper end is the largest of the plain upper ends over all places tried, one of
which is the best; the lower end is that of the place picked on one half of the balls and judged on
the other, both ways. That needs no quantiles of its own, however much neighbouring places are
alike, and the interval is wider than a plain one only by what the choice leaves open.
(More parts than two would pick a little better, but their errors go together where all places are
alike: of 500 repeats with 1000 balls there, the lower end held in 93 of 100 with ten, 96 with two.)

One rule for none that differ: two places are never known to be equal, so as in
`statistics.estimates` the interval has the width of a few balls that may yet differ. It is exactly
0 only where both are one place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.balls.best import top_of
from experiments.balls.struck import SAME_PLACE_M
from experiments.statistics.estimates import LEVEL, Estimate, quantile
from sim.over_arrays import length_of

PER_100 = 100.0


@dataclass(frozen=True, eq=False)
class Judged:
    """The same balls met from several places (k, 2): what landed in and what was lost.

    landed, lost: (units, k); a unit is a ball, or a batch of balls. line: which of the places may
    be the best one, (k,).
    """

    places: np.ndarray
    landed: np.ndarray
    lost: np.ndarray
    line: np.ndarray

    @cached_property
    def rate(self) -> np.ndarray:
        """Lost of those that landed in, by place (k,)."""
        return np.asarray(self.lost.sum(axis=0) / self.landed.sum(axis=0))

    @cached_property
    def best(self) -> int:
        """The best place of the line."""
        return self._pick(self.rate)

    @cached_property
    def picked(self) -> np.ndarray:
        """For each unit the place of the line that is best on the other half, (units,)."""
        odd = np.arange(len(self.lost)) % 2
        picks = []
        for other in (1, 0):
            half = odd == other
            landed = np.maximum(self.landed[half].sum(axis=0), 1e-9)
            picks.append(self._pick(self.lost[half].sum(axis=0) / landed))
        return np.array(picks)[odd]

    def _pick(self, rate: np.ndarray) -> int:
        on_line = np.flatnonzero(self.line)
        return int(on_line[top_of(self.places[on_line, 0], -rate[on_line])])

    def loss(self, place: int) -> Estimate:
        """Balls in 100 more that a place loses than the best place of the line."""
        beside = np.flatnonzero(self.line)
        more, half = self._more(place, self.landed[:, beside], self.lost[:, beside])
        away = np.abs(self.places[beside] - self.places[place]).max(axis=1)
        half = np.where(away < SAME_PLACE_M, 0.0, half)
        value = self.rate[place] - self.rate[self.best]
        units = np.arange(len(self.lost)), self.picked
        fair, width = self._more(place, self.landed[units][:, None], self.lost[units][:, None])
        low = min(float(value), float(fair[0] - width[0]))
        if self.line[place]:
            low = max(low, 0.0)  # no place of the line is better than its best one
        se = float(width[0]) / quantile(LEVEL, len(self.lost))
        high, n = float((more + half).max()), round(float(self.landed[:, place].sum()))
        return Estimate(float(value), low, high, se, n, len(self.lost)).scaled(PER_100)

    def _more(
        self, place: int, landed: np.ndarray, lost: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """How much more a place loses than each column, and half the width of the interval."""
        own, own_part = _terms(self.landed[:, [place]], self.lost[:, [place]])
        its, its_part = _terms(landed, lost)
        units = len(self.lost)
        se = np.sqrt(np.square(own_part - its_part).sum(axis=0) * units / max(units - 1, 1))
        step = 1.0 / float(self.landed[:, place].sum())
        q = quantile(LEVEL, units)
        return own - its, q * length_of(se, q * step / math.sqrt(2.0))


def _terms(landed: np.ndarray, lost: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rates (k,) and the part of each unit in their error (units, k): the linearised ratio."""
    count = np.maximum(landed.sum(axis=0), 1e-9)
    rate = lost.sum(axis=0) / count
    return rate, (lost - rate * landed) / count
