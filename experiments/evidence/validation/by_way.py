"""What strokes came to, by the way that the player had to the ball."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from experiments.evidence.validation.estimates import Estimate, percentage_of
from experiments.evidence.validation.points import Points
from experiments.evidence.validation.rows import short
from experiments.statistics.estimates import LEVEL
from sim.records import FORCED_ERROR, IN, MISSED, UNFORCED_ERROR, UNRETURNED, WINNER

ENDINGS = {
    "forced_error_pct": FORCED_ERROR,
    "unforced_error_pct": UNFORCED_ERROR,
    "winner_pct": WINNER,
}
EDGES_M = (0.0, 1.65, 2.70, 4.09, np.inf)  # quarters of the ways to last strokes of professionals


@dataclass(frozen=True)
class WayClass:
    """Strokes with a way of `low_m` to `high_m` to the ball: how many, and the share that ended the
    point in each way."""

    low_m: float
    high_m: float
    strokes: int
    forced_error_pct: Estimate
    unforced_error_pct: Estimate
    winner_pct: Estimate

    @property
    def words(self) -> str:
        """The class in metres."""
        return (
            f"{self.low_m:.2f}-{self.high_m:.2f}" if self.high_m < np.inf else f"{self.low_m:.2f}+"
        )

    @property
    def shares(self) -> dict[str, Estimate]:
        """The share of each ending, by its field."""
        return {name: getattr(self, name) for name in ENDINGS}

    def as_json(self) -> dict[str, object]:
        """Ends, strokes, and each share with its interval; what is not a number is null."""
        out: dict[str, object] = {
            "way_from_m": self.low_m,
            "way_to_m": short(self.high_m),
            "strokes": self.strokes,
        }
        for name, share in self.shares.items():
            low, high = share.interval(LEVEL)
            out |= {
                name: short(share.value),
                f"{name}_low": short(low),
                f"{name}_high": short(high),
            }
        return out


def by_way(strokes: np.ndarray) -> list[WayClass]:
    """One class a quarter, from STROKE records sorted by rally and stroke; returns are left out.

    A ball that is touched and does not come back is a forced error of the one who touched it.
    """
    points = Points(strokes)
    s = points.strokes
    met = np.flatnonzero((s["outcome"] == IN) & (s["grade"] != MISSED) & (s["stroke"] > 0))
    touched = s["ending"][met] == UNRETURNED
    answers = s["ending"][np.minimum(met + 1, len(s) - 1)]
    ending = np.where(touched, FORCED_ERROR, answers)
    way_m, rallies = s["chase_run_m"][met], s["replicate"][met]
    classes = []
    for low, high in pairwise(EDGES_M):
        here = (way_m >= low) & (way_m < high)
        shares = (percentage_of(ending[here] == e, rallies[here]) for e in ENDINGS.values())
        classes.append(WayClass(low, high, int(here.sum()), *shares))
    return classes
