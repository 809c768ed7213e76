"""The bisector, shifted toward a side."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.arithmetic import atan2, tan
from sim.compiled import kernel
from sim.contracts import Situation, turned
from sim.errors import unknown_name
from sim.parameter import parameter, require_finite_parameters
from strategies.directions import (
    CROSSCOURT,
    DOWN_THE_LINE,
    SHORT_ANGLE,
    crosscourt_side,
    hand_of,
)
from strategies.naming import described
from strategies.recovery.standing import require_shares, standing

SIDES = ("left", "right", "backhand", "favourite")


@kernel
def fill_shifted(x, y, extremes, share, depth, out):  # type: ignore[no-untyped-def]
    """Where the bisector, turned by share[i] of the half angle, meets the waiting depth."""
    for i in range(x.size):
        left, right = extremes[i, 0], extremes[i, 1]
        a = atan2(left.target_x_m - x[i], y[i] - left.target_y_m)
        b = atan2(right.target_x_m - x[i], y[i] - right.target_y_m)
        out[i] = x[i] + tan(0.5 * (a + b) + 0.5 * (b - a) * share[i]) * (y[i] + depth)


@dataclass(frozen=True)
class Biased:
    """Stand on the bisector, shifted toward the opponent's favourite side or the own weaker wing.

    Source: a common refinement in coaching (common practice): give away the ball that is least
    likely or least feared. Parameters: `shift_m` in metres along the waiting depth; `shift_share`,
    a share of the half angle, by direction like the bisector itself (both may be given, they add
    up); `toward` a side: left, right, backhand (the own weaker wing's side) or favourite (the side
    to which the opponent is believed to send more balls from this contact: crosscourt and short
    angle against down the line). Favourites that differ by no more than `tie_share` count as
    equal, and then nothing is shifted.
    It should lose against an opponent without that habit, and most against one who sees it and
    plays to the other side.

    Raises:
        InputError: an unknown side, a negative or not finite shift, a share above 1.
    """

    shift_m: float = parameter(0.3, "m", "shift along the waiting depth", low=0.0, high=1.0)
    shift_share: float = parameter(0.0, "1", "shift as a share of the half angle", low=0.0, high=1)
    toward: str = dataclasses.field(
        default="favourite", metadata={"allowed": ", ".join(SIDES[:-1]) + " or " + SIDES[-1]}
    )
    tie_share: float = parameter(
        0.05, "1", "difference of believed shares that is no favourite yet", low=0.0, high=0.2
    )
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        if self.toward not in SIDES:
            raise unknown_name("side for Biased.toward", str(self.toward), SIDES)
        require_shares(self, "shift_share")

    @property
    def name(self) -> str:
        return described("biased", self)

    def spots(self, seen: Situation) -> np.ndarray:
        side, c = self.side(seen), seen.contact
        x = np.empty(len(seen))
        share = self.shift_share * side
        columns = [np.ascontiguousarray(c[name]) for name in ("x_m", "y_m")]
        fill_shifted(*columns, seen.extremes, share, seen.line_m, x)
        return standing(seen, x + self.shift_m * side)

    def side(self, seen: Situation) -> np.ndarray:
        """The side to shift to in the own frame, (n,): -1 left, 1 right, 0 no shift."""
        if self.toward == "favourite":
            return self._favourite(seen)
        backhand = "left" if seen.me.hand == "right" else "right"
        side = backhand if self.toward == "backhand" else self.toward
        return np.full(len(seen), -1.0 if side == "left" else 1.0)

    def _favourite(self, seen: Situation) -> np.ndarray:
        x = seen.contact["x_m"]
        shares = seen.belief.shares_at(turned(seen.contact), hand_of(seen.opponent))
        more = shares[:, CROSSCOURT] + shares[:, SHORT_ANGLE] - shares[:, DOWN_THE_LINE]
        crosscourt = -crosscourt_side(-x, seen.contact["wing"], seen.opponent)
        return np.where(np.abs(more) <= self.tie_share, 0.0, crosscourt * np.sign(more))
