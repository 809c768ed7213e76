"""The bisector of the opponent's angle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import Situation
from strategies.recovery.standing import standing


@dataclass(frozen=True)
class Bisector:
    """Stand on the bisector of the two extreme drives that the opponent can play.

    Source: an old idea (Cochet 1933); on tracked professional matches it described where experts
    stand better than the mean or the median of the shots played (Benguigui et al. 2024, Sci. Rep.
    14, 3364, abstract). That says what experts do, not that it wins most points. The extremes are
    those of `sim.envelope`, with the limits that the situation states. No parameters of its own.
    It should lose where balls from the two extremes take different times (the bisector of
    directions knows no time), against an opponent who plays one side far more, and to a smaller
    shade where the sharpest angle is hardly ever hit.
    """

    placeable: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return "bisector"

    def spots(self, seen: Situation) -> np.ndarray:
        return standing(seen, seen.bisector_x_m)
