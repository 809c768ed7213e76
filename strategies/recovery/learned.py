"""A place that a learner found: sums of weighted features of what is seen."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.compiled import kernel
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M
from sim.envelope import halfway_of
from sim.records import BACKHAND, record
from strategies.directions import hand_of
from strategies.learned.reading import MEANING, SHIPPED, WEIGHTS, Learning, read_learning
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.in_and_out import bent
from strategies.recovery.standing import stand_deep

NEAR_M, HURRIED_BELOW_S = 5.0, 1.5


@kernel
def stand_as_learned(  # type: ignore[no-untyped-def]
    bodies, contacts, times, extremes, depth, hand, weights, out
):
    """Fill spots and efforts; `depth` is the waiting depth behind the baseline, `hand` the sign of
    the own hand (right 1)."""
    w, line = weights[0], HALF_LENGTH_M + depth
    for i in range(out.shape[0]):
        c, x, own = contacts[i], contacts[i].x_m, bodies[i].x_m
        near = (HALF_LENGTH_M - c.y_m) / NEAR_M
        weak = 1.0 - c.quality
        hurried = max(HURRIED_BELOW_S - times[i], 0.0)
        backhand = 1.0 if c.wing == BACKHAND else 0.0
        away = w.opponent + w.opponent_near * near + w.opponent_weak * weak
        away += w.opponent_backhand * backhand
        aside = w.own * own + w.own_hurried * own * hurried - w.toward_backhand * hand
        halfway = halfway_of(c.x_m, c.y_m, extremes[i], line)
        back = w.back + w.back_wide * abs(x) + w.back_near * near + w.back_weak * weak
        back += w.back_hurried * hurried + w.back_own_wide * abs(own)
        back += w.back_own_deep * (-bodies[i].y_m - line)
        sideways = w.bisector * halfway - away * x + aside
        stand_deep(sideways, bent(depth, back), w.effort, out[i])


@dataclass(frozen=True)
class Weighted(PackedSpots):
    """Stand by weights given one by one, `weights` by name; those that are not named are 0.

    What a learner tries, and what a short rule is written in; no name in the catalogue.
    """

    name: str
    weights: Mapping[str, float]
    placeable: ClassVar[bool] = True
    chooses_depth: ClassVar[bool] = True
    columns: ClassVar[int] = 3

    @cached_property
    def numbers(self) -> np.ndarray:
        """The weights as a WEIGHTS record."""
        return record(WEIGHTS, **{name: self.weights.get(name, 0.0) for name in MEANING})

    def packed(self, seen: Situation) -> Packed:
        return packed_weights(self.numbers, seen)


@dataclass(frozen=True)
class Learned(PackedSpots):
    """Stand where a learner found that most points are won.

    Sideways: a share of the bisector, metres away from the opponent's side for each metre off the
    centre (more of it or less as the opponent is near to the net, weak at the ball, on the
    backhand), a share of the own place, metres toward the own backhand. Back or in from the waiting
    depth: as the opponent is wide, near, weak, as oneself is hurried, wide or deep. The weights are
    those of `strategies.learned.reading`.

    Source: this project's; weights found by an evolution strategy on whole points of this model
    (`rally-recovery learn`). Parameter: `weights`, the name of a set that comes with the package,
    or a file that `learn` wrote.
    It should lose against hitters, on surfaces and for players that it was not trained for, the
    more the closer it was fitted to one of them.

    Raises:
        InputError: an unknown set, or a file that is none.
    """

    weights: str = dataclasses.field(
        default="safest-college-man",
        metadata={"allowed": f"{', '.join(SHIPPED)}, or a file of `rally-recovery learn`"},
    )
    placeable: ClassVar[bool] = True
    chooses_depth: ClassVar[bool] = True
    columns: ClassVar[int] = 3

    def __post_init__(self) -> None:
        _ = self.learning  # problems are told now and not in the middle of a rally

    @property
    def name(self) -> str:
        return described("learned", self)

    @cached_property
    def learning(self) -> Learning:
        """The set, read and checked; kept, so that a copy in another process needs no file."""
        return read_learning(self.weights)

    @cached_property
    def numbers(self) -> np.ndarray:
        """The weights as a WEIGHTS record."""
        return record(WEIGHTS, **self.learning.weights)

    def packed(self, seen: Situation) -> Packed:
        return packed_weights(self.numbers, seen)


def packed_weights(numbers: np.ndarray, seen: Situation) -> Packed:
    """The kernel that stands by a WEIGHTS record, with what it sees."""
    where = seen.body, seen.contact, seen.time_s, seen.extremes
    me = float(seen.depth_m), float(hand_of(seen.me))
    return Packed(stand_as_learned, (*where, *me, numbers))
