"""An agent as a recovery policy, so that whatever judges policies judges it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from experiments.learning.environment.done import aims_of_actions
from experiments.learning.environment.seen import COLUMN, observed
from sim.contracts import Situation

__all__ = ["COLUMN", "AgentPolicy", "aims_of_actions", "observed"]


@dataclass(frozen=True)
class AgentPolicy:
    """Stand where an agent says.

    act: observations (n, columns) to actions (n, 3), as the environment has them. Row i of its
    answer must follow from row i alone, to the bit: element by element, without a product of
    matrices, whose digits change with the size of a batch. bisector: whether it observes that, too.
    """

    name: str
    act: Callable[[np.ndarray], np.ndarray]
    bisector: bool = False
    placeable: ClassVar[bool] = True
    chooses_depth: ClassVar[bool] = True

    def spots(self, seen: Situation) -> np.ndarray:
        return aims_of_actions(self.act(observed(seen, self.bisector)))
