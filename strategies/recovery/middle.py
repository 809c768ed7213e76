"""Back to the middle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import Situation
from strategies.recovery.standing import standing


@dataclass(frozen=True)
class Middle:
    """Go back to the middle, behind the centre mark, wherever the opponent is.

    Source: the habit that beginners are taught (common practice). No parameters.
    It should lose when the opponent strikes from a corner, where the crosscourt angle is wider
    than the straight one; with the opponent in the middle it should be as good as any.
    """

    placeable: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return "middle"

    def spots(self, seen: Situation) -> np.ndarray:
        return standing(seen, np.zeros(len(seen)))
