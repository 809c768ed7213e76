"""Stay where the own stroke was played."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import Situation


@dataclass(frozen=True)
class Stay:
    """Stay where you are: no recovery at all.

    The spot is the place of the own stroke, so it has no meaning in the *placed* setting, which
    has no own stroke: `placeable` is False, and studies leave it out there.

    Source: none needed; it is the zero that a recovery has to beat. No parameters.
    It should lose to nearly everything after a wide stroke, and cost little after one from the
    middle.
    """

    placeable: ClassVar[bool] = False

    @property
    def name(self) -> str:
        return "stay"

    def spots(self, seen: Situation) -> np.ndarray:
        return np.stack([seen.body["x_m"], seen.body["y_m"]], axis=1)
