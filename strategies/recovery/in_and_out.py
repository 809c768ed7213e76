"""A depth that follows the opponent's contact: in and out on the bisector."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.compiled import kernel
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M
from sim.envelope import halfway_of, usual_pace
from sim.parameter import parameter, require_finite_parameters
from sim.records import record, record_type
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import (
    BACK_LIMIT_M,
    FRONT_LIMIT_M,
    require_shares,
    stand_deep,
)

# An InAndOut as the kernel takes it.
MOVES = record_type("in_m", "back_m_per_s", "usual_s", "effort")


@kernel
def bent(start, move):  # type: ignore[no-untyped-def]
    """The depth `move` metres from the waiting depth `start`, bent to stay within the limits."""
    start = min(max(start, FRONT_LIMIT_M), BACK_LIMIT_M)
    room = start - FRONT_LIMIT_M if move < 0.0 else BACK_LIMIT_M - start
    share = move / max(room, 1e-9)
    return start + move / math.sqrt(1.0 + share * share)


@kernel
def stand_in_or_out(contacts, extremes, depth, moves, hitters, out):  # type: ignore[no-untyped-def]
    """Fill spots and efforts; `depth` is the waiting depth behind the baseline, the HITTER the
    opponent's."""
    move = moves[0]
    for i in range(out.shape[0]):
        c = contacts[i]
        takes_s = (c.y_m + (HALF_LENGTH_M + depth)) / usual_pace(c.wing, hitters[0])[0]
        back = move.back_m_per_s * (move.usual_s - takes_s)
        behind = bent(depth, back - move.in_m * (1.0 - c.quality))
        x = halfway_of(c.x_m, c.y_m, extremes[i], HALF_LENGTH_M + behind)
        stand_deep(x, behind, move.effort, out[i])


@dataclass(frozen=True)
class InAndOut(PackedSpots):
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
    columns: ClassVar[int] = 3

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        require_shares(self, "effort")

    @property
    def name(self) -> str:
        return described("in-and-out", self)

    @cached_property
    def numbers(self) -> np.ndarray:
        """The parameters as a MOVES record."""
        return record(MOVES, **{name: getattr(self, name) for name in MOVES.names or ()})

    def packed(self, seen: Situation) -> Packed:
        what = seen.contact, seen.extremes, float(seen.depth_m)
        return Packed(stand_in_or_out, (*what, self.numbers, seen.opponent.hitter.numbers))
