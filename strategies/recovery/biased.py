"""The bisector, shifted toward a side."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.arithmetic import atan2, tan
from sim.belief import DIRECTIONS, believe
from sim.compiled import kernel
from sim.contracts import Situation
from sim.errors import unknown_name
from sim.parameter import parameter, require_finite_parameters
from sim.players import Player
from sim.records import CONTACT, record, record_type
from strategies.directions import (
    CROSSCOURT,
    DOWN_THE_LINE,
    SHORT_ANGLE,
    crosscourt_of,
    hand_of,
)
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.standing import require_shares, stand

SIDES = ("left", "right", "backhand", "favourite")


# A Biased as kernels take it; `side` is -1 for left, 1 for right, TO_FAVOURITE for the favourite.
BIAS = record_type("shift_m", "shift_share", "tie_share", "side")
TO_FAVOURITE = 0.0


@kernel
def favourite_of(c, hand, tie, belief, strokes, at, near, room):  # type: ignore[no-untyped-def]
    """The side, own frame, to which the opponent is believed to send more balls; 0 for a tie.

    Room to work in: one CONTACT, and (strokes,) and (3, 4) numbers.
    """
    at[0] = c
    at[0].x_m, at[0].y_m = -c.x_m, -c.y_m
    believe(at[0], hand, belief, strokes, near, room[1:], room[0])
    more = room[0, CROSSCOURT] + room[0, SHORT_ANGLE] - room[0, DOWN_THE_LINE]
    if abs(more) <= tie:
        return 0.0
    crosscourt = -crosscourt_of(at[0].x_m, c.wing, hand)
    return crosscourt if more > 0.0 else -crosscourt


@kernel
def shifted(c, pair, share, line):  # type: ignore[no-untyped-def]
    """Where the bisector, turned by that share of the half angle, meets the waiting depth."""
    left = atan2(pair[0].target_x_m - c.x_m, c.y_m - pair[0].target_y_m)
    right = atan2(pair[1].target_x_m - c.x_m, c.y_m - pair[1].target_y_m)
    turned = 0.5 * (left + right) + 0.5 * (right - left) * share
    return c.x_m + tan(turned) * (c.y_m + line)


@kernel
def stand_biased(  # type: ignore[no-untyped-def]
    contacts, extremes, line, biases, hand, beliefs, strokes, at, near, room, out
):
    """Fill spots beside the bisectors; `hand` is the opponent's, as the belief is."""
    bias = biases[0]
    for i in range(out.shape[0]):
        c, side = contacts[i], bias.side
        if side == TO_FAVOURITE:
            side = favourite_of(c, hand, bias.tie_share, beliefs[0], strokes, at, near, room)
        x = shifted(c, extremes[i], bias.shift_share * side, line)
        stand(x + bias.shift_m * side, line, out[i])


@dataclass(frozen=True)
class Biased(PackedSpots):
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

    def packed(self, seen: Situation) -> Packed:
        own = {name: getattr(self, name) for name in ("shift_m", "shift_share", "tie_share")}
        bias = record(BIAS, **own, side=self.side(seen.me))
        numbers, strokes = seen.belief.numbers, seen.belief.seen_strokes
        near, room = np.empty(len(strokes)), np.empty((3, len(DIRECTIONS)))
        what = seen.contact, seen.extremes, seen.line_m, bias, hand_of(seen.opponent)
        return Packed(stand_biased, (*what, numbers, strokes, np.empty(1, CONTACT), near, room))

    def side(self, me: Player) -> float:
        """The side to shift to in the own frame: -1 left, 1 right, or TO_FAVOURITE."""
        if self.toward == "favourite":
            return TO_FAVOURITE
        if self.toward == "backhand":
            return -hand_of(me)
        return -1.0 if self.toward == "left" else 1.0
