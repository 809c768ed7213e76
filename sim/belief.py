"""What is believed of an opponent's habits: a weighted table of directions by contact place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.errors import InputError

DIRECTIONS = ("crosscourt", "middle", "down-the-line", "short-angle")
CORNER_X_M = 3.115


@dataclass(frozen=True)
class Belief:
    """Shares of the directions from the middle and from the corners, in the order of DIRECTIONS.

    Between the middle and a corner (1 m inside the singles sideline) the shares change linearly
    with the distance from the centre; beyond the corner they stay.

    Raises:
        InputError: shares that are not four numbers from 0 to 1 adding up to 1.
    """

    from_middle: tuple[float, float, float, float] = (0.36, 0.26, 0.36, 0.02)
    from_corner: tuple[float, float, float, float] = (0.59, 0.12, 0.19, 0.10)

    def __post_init__(self) -> None:
        for name in ("from_middle", "from_corner"):
            row = getattr(self, name)
            good = len(row) == 4 and all(0 <= s <= 1 for s in row) and abs(sum(row) - 1) < 1e-9
            if not good:
                raise InputError(
                    f"Belief.{name} is {row!r}; give four shares from 0 to 1 that add up to 1,"
                    f" for {', '.join(DIRECTIONS)}"
                )

    def shares(self, x_m: np.ndarray) -> np.ndarray:
        """Shares of the directions from contacts at `x_m` from the centre, shape (n, 4)."""
        wide = np.minimum(np.abs(x_m) / CORNER_X_M, 1.0)[:, None]
        return (1.0 - wide) * np.array(self.from_middle) + wide * np.array(self.from_corner)
