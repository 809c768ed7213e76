"""The place and the depth where the believed balls cost least."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

import numpy as np

from sim.belief import DIRECTIONS, Belief
from sim.can_play import settled
from sim.contracts import ShotSituation, Situation, bodies_at
from sim.court import HALF_LENGTH_M
from sim.meeting import meetings
from sim.over_arrays import product
from sim.parameter import parameter, require_finite_parameters
from sim.players import Player
from sim.stroke import ERROR_DRAWS, strike
from strategies.aim import AimedShots
from strategies.even_draws import even_uniforms
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.place_losses import (
    FINE_X_M,
    NodeTable,
    from_table,
    nodes,
    tabulated,
)
from strategies.recovery.smooth import spline_weights
from strategies.recovery.standing import BACK_LIMIT_M, FRONT_LIMIT_M, require_shares
from strategies.recovery.weighing import best_spot, stand_deep_by_table, weigh_balls

ACROSS_M = np.linspace(-4.5, 4.5, 10)
BEHIND_M = np.linspace(FRONT_LIMIT_M, BACK_LIMIT_M, 7)
FINE_BEHIND_M = np.linspace(FRONT_LIMIT_M, BACK_LIMIT_M, 85)
STROKES = 48  # in each direction


@dataclass(frozen=True)
class DeepSpots(NodeTable):
    """Best lateral places and depths against a hitter who adds `drop_share` drop shots."""

    me: Player
    hitter: Player
    world: bytes
    belief: Belief
    drop_share: float
    columns: ClassVar[int] = 2
    qualities: ClassVar[np.ndarray] = np.array([0.2, 0.6, 1.0])

    def best(self, node: int, quality: float) -> tuple[float, ...]:
        along, across = _smooth()
        fine = product(product(along, self.costs(node, quality)), across.T)
        return best_spot(fine, FINE_BEHIND_M, FINE_X_M, np.empty(len(FINE_BEHIND_M)))

    def costs(self, node: int, quality: float) -> np.ndarray:
        """What the believed balls cost, points a ball, at BEHIND_M by ACROSS_M (depths, places)."""
        contact = nodes(quality)[node : node + 1]
        return np.array([self._costs(contact, float(depth)) for depth in BEHIND_M])

    def _costs(self, contact: np.ndarray, depth_m: float) -> np.ndarray:
        """What the believed balls cost at that depth at each place of ACROSS_M in points a ball."""
        numbers, style = tabulated(self.world), AimedShots(drop_when_far=self.drop_share)
        ability, count = self.hitter.hitter.numbers, STROKES * len(DIRECTIONS)
        contacts, (choice, errors) = np.repeat(contact, count), _draws(style.draws)
        receiver = bodies_at(np.zeros(count), np.full(count, HALF_LENGTH_M + depth_m))
        seen = ShotSituation(self.hitter, self.me, numbers, contacts, receiver)
        wished = style.towards(seen, np.repeat(np.arange(len(DIRECTIONS)), STROKES), choice)
        intents = settled(wished, contacts, errors[:, ERROR_DRAWS], ability)
        balls, paths = strike(contacts, intents, errors, ability, numbers)
        shares = self.belief.shares_at(contact, 1.0)[0]
        met = [self._met(balls, paths, float(x), depth_m) for x in ACROSS_M]
        return np.array([weigh_balls(balls, each, shares) for each in met])

    def _met(self, balls: np.ndarray, paths: np.ndarray, x_m: float, depth_m: float) -> np.ndarray:
        """How a receiver who waits there meets each ball, MEETING records."""
        legs, n = self.me.legs, len(balls)
        bodies = bodies_at(np.full(n, x_m), np.full(n, -(HALF_LENGTH_M + depth_m)))
        how = legs.numbers, legs.times
        return meetings(balls, paths, bodies, *how, world=tabulated(self.world))


@lru_cache(maxsize=1)
def _draws(choice: int) -> tuple[np.ndarray, np.ndarray]:
    """Uniform numbers of the choice and of the errors, the same in each direction."""
    drawn = even_uniforms(np.full(choice + ERROR_DRAWS + 1, 0.5), STROKES)
    drawn = np.tile(drawn, (len(DIRECTIONS), 1))
    return np.ascontiguousarray(drawn[:, :choice]), np.ascontiguousarray(drawn[:, choice:])


@lru_cache(maxsize=1)
def _smooth() -> tuple[np.ndarray, np.ndarray]:
    """What makes of costs at the nodes those at FINE_BEHIND_M and at FINE_X_M."""
    return spline_weights(BEHIND_M, FINE_BEHIND_M), spline_weights(ACROSS_M, FINE_X_M)


spots_of = lru_cache(maxsize=64)(DeepSpots)


@dataclass(frozen=True)
class Weighed(PackedSpots):
    """Stand, across the court and in depth, where the balls that are believed to come cost least.

    For every contact place and three qualities of the opponent's contact the believed shares weigh
    the balls of each direction, with the kinds that the hitter plays from there, drop shots among
    them, and the hitter's error. A ball that does not come back costs one point, one that does what
    the own reply is then worth (`reply_worth`): less time and a deeper contact cost more. The
    middle of the depths and places that differ by little is taken. Contacts as in `place_losses`;
    the waiting depth does not matter.

    Source: expected loss, the textbook answer to a known mix, with a worth of replies fitted to
    rallies of this model. Parameters: `drop_share`, drop shots that are believed beside the
    hitter's own, of the strokes that allow one, against who would come too late for them; `effort`,
    the share of the full sprint on the way there (0: what the legs do by themselves).
    It should lose to a hitter who does something else than is believed, most to one who sees where
    it stands, and where the way there is too long for the time.

    Raises:
        InputError: a share that is negative, not finite or above 1.
    """

    drop_share: float = parameter(
        0.2, "1", "drop shots believed beside the hitter's own", low=0.0, high=1.0
    )
    effort: float = parameter(
        0.0, "1", "share of the full sprint on the way, 0: the legs' own", low=0.0, high=1.0
    )
    placeable: ClassVar[bool] = True
    chooses_depth: ClassVar[bool] = True
    columns: ClassVar[int] = 3

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        require_shares(self, "drop_share", "effort")

    @property
    def name(self) -> str:
        return described("weighed", self)

    def packed(self, seen: Situation) -> Packed:
        looked = from_table(seen, lambda *them: spots_of(*them, seen.belief, self.drop_share))
        return Packed(stand_deep_by_table, (*looked, float(self.effort), np.empty((2, 2))))
