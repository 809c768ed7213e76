"""A depth that follows the opponent's contact: in and out on the bisector."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import Situation
from sim.court import HALF_LENGTH_M
from sim.parameter import parameter, require_finite_parameters
from strategies.naming import described
from strategies.recovery.standing import (
    BACK_LIMIT_M,
    FRONT_LIMIT_M,
    aims_at,
    require_shares,
)


@dataclass(frozen=True)
class InAndOut:
    """Go in when the opponent is stretched or far away, and back when pressed, on the bisector.

    The waiting depth is where it starts from. Against a stroke of no quality it goes `in_m` nearer
    to the net, in proportion to what the opponent's contact lacks in quality. A ball at the
    opponent's usual speed takes some time from the contact to the waiting depth: for each second
    that it takes less than `usual_s` it goes `back_m_per_s` back, and as much in for one that takes
    longer. The depth bends smoothly before it comes to its limits, 2 m inside the baseline and the
    end of the run-off.

    Source: this project's, from what coaches say of depth (common practice); the defaults did well
    in rallies of three levels. Parameters: those three, and `effort`, the share of the full sprint
    on the way there (0: what the legs do by themselves).
    It should lose to the best fixed depth where deep balls are struck in full stretch, where drop
    shots follow a hard hitter's pace, and where it still runs when the ball is struck.

    Raises:
        InputError: a number that is negative or not finite, or an effort above 1.
    """

    in_m: float = parameter(3.0, "m", "metres in against a stroke of no quality", low=0.0, high=5.0)
    back_m_per_s: float = parameter(
        5.0, "m/s", "metres back per second that a ball takes less than usual", low=0.0, high=15.0
    )
    usual_s: float = parameter(
        1.1, "s", "time of a ball to the waiting depth that moves nobody", low=0.5, high=1.6
    )
    effort: float = parameter(
        0.0, "1", "share of the full sprint on the way, 0: the legs' own", low=0.0, high=1.0
    )
    placeable: ClassVar[bool] = True
    chooses_depth: ClassVar[bool] = True

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        require_shares(self, "effort")

    @property
    def name(self) -> str:
        return described("in-and-out", self)

    def depths_m(self, seen: Situation) -> np.ndarray:
        """The depths behind the baseline (n,), negative inside it."""
        c = seen.contact
        takes_s = (c["y_m"] + seen.line_m) / seen.opponent_speed_m_s
        back_m = self.back_m_per_s * (self.usual_s - takes_s)
        return bent(seen.depth_m, back_m - self.in_m * (1.0 - c["quality"]))

    def spots(self, seen: Situation) -> np.ndarray:
        depth_m = self.depths_m(seen)
        x_m = seen.halfway_x_m(seen.extremes, HALF_LENGTH_M + depth_m)
        return aims_at(x_m, depth_m, self.effort)


def bent(from_m: float, move_m: np.ndarray) -> np.ndarray:
    """Depths (n,) so far from a depth, bent smoothly so that none passes the limits."""
    start = min(max(from_m, FRONT_LIMIT_M), BACK_LIMIT_M)
    room = np.where(move_m < 0.0, start - FRONT_LIMIT_M, BACK_LIMIT_M - start)
    room = np.maximum(room, 1e-9)
    share = move_m / room
    return np.asarray(start + move_m / np.sqrt(1.0 + share * share))
