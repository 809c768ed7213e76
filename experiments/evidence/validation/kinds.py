"""How often each kind of stroke is played, and what it brings."""

from __future__ import annotations

import numpy as np

from experiments.evidence.validation.estimates import Estimate, percentage_of
from experiments.evidence.validation.points import Points
from sim.kinds import (
    BLOCK,
    DROP_SHOT,
    HALF_VOLLEY,
    HIGH_BALL,
    LOB,
    OVERHEAD,
    SLICE,
    VOLLEY,
)
from sim.records import BACKHAND, FOREHAND

BOTH = (FOREHAND, BACKHAND)
# Strokes by the names of charts: the model's kinds that a chart would call so, and the wings.
CHARTED = {
    "backhand slice": ((SLICE, BLOCK), (BACKHAND,)),
    "forehand slice": ((SLICE, BLOCK), (FOREHAND,)),
    "lob": ((LOB,), BOTH),
    "drop shot": ((DROP_SHOT,), BOTH),
    "volley": ((VOLLEY,), BOTH),
    "half volley": ((HALF_VOLLEY,), BOTH),
    "overhead": ((OVERHEAD,), BOTH),
    # Read otherwise, for the notes.
    "backhand slice without blocks": ((SLICE,), (BACKHAND,)),
    "forehand slice without blocks": ((SLICE,), (FOREHAND,)),
    "lob or high ball": ((LOB, HIGH_BALL), BOTH),
}


class KindFigures:
    """Figures of the kinds in STROKE records sorted by rally and stroke; the serve is left out."""

    def __init__(self, strokes: np.ndarray) -> None:
        points = Points(strokes)
        after = points.after_serve
        self.strokes = points.strokes[after]
        self.won, self.ended = points.won[after], points.ended[after]

    def is_kind(self, name: str) -> np.ndarray:
        """Which strokes a chart would give that name."""
        kinds, wings = CHARTED[name]
        s = self.strokes
        return np.isin(s["kind"], kinds) & np.isin(s["hitter_wing"], wings)

    def share_pct(self, name: str) -> Estimate:
        """Of all strokes after the serve."""
        return percentage_of(self.is_kind(name), self.strokes["replicate"])

    def won_pct(self, name: str) -> Estimate:
        """Of these strokes, those whose side won the point."""
        return self._of_kind(self.won, name)

    def ended_pct(self, name: str) -> Estimate:
        """Of these strokes, those that ended the point (see `Points.ended`)."""
        return self._of_kind(self.ended, name)

    def _of_kind(self, condition: np.ndarray, name: str) -> Estimate:
        of_kind = self.is_kind(name)
        return percentage_of(condition[of_kind], self.strokes["replicate"][of_kind])
