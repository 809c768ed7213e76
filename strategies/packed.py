"""Decisions as one call of a compiled kernel: parameters and what is seen, packed in plain arrays.

A decision of the catalogue holds no arithmetic of its own. It packs its parameters into a record
and hands that, with the arrays of what it sees, to its entry kernel, which fills the answer. So
whoever can call the kernel on the same arrays decides the same, to the bit, without this class.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar, NamedTuple

import numpy as np

from sim.contracts import ShotSituation, Situation
from sim.records import INTENT


class Packed(NamedTuple):
    """The entry kernel of a decision and all its arguments but the last, the answer to fill."""

    entry: Callable[..., None]
    arguments: tuple[Any, ...]

    def fill(self, out: np.ndarray) -> np.ndarray:
        """`out`, filled with the answer."""
        self.entry(*self.arguments, out)
        return out


class PackedShots:
    """What shot models with a compiled form share; a model adds `packed`."""

    def packed(self, seen: ShotSituation, chance: np.ndarray) -> Packed:
        """The kernel that fills INTENT records (n,); `chance` uniform numbers (n, draws)."""
        raise NotImplementedError

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        chance = np.ascontiguousarray(chance, float)
        return self.packed(seen, chance).fill(np.empty(len(seen), INTENT))


class PackedSpots:
    """What recovery policies with a compiled form share; a policy adds `packed`."""

    columns: ClassVar[int] = 2

    def packed(self, seen: Situation) -> Packed:
        """The kernel that fills spots (n, columns): x and y in m, then perhaps an effort."""
        raise NotImplementedError

    def spots(self, seen: Situation) -> np.ndarray:
        return self.packed(seen).fill(np.empty((len(seen), self.columns)))
