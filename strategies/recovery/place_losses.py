"""What a hitter's shots cost at every place to stand, worked out once on a grid of contacts.

Policies that weigh shots against each other choose a place for each contact of the grid and
interpolate between them, so that a spot costs no more than a look into a small table.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import ClassVar

import numpy as np

from sim.belief import DIRECTIONS, Belief
from sim.chance import normals
from sim.contracts import ShotSituation, Situation, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.meeting import appraisals
from sim.over_arrays import interpolated
from sim.players import Player
from sim.records import BACKHAND, FOREHAND, WORLD
from sim.stroke import ERROR_DRAWS, strike
from strategies.aim import AimedShots
from strategies.directions import hand_of
from strategies.even_draws import even_uniforms
from strategies.packed import Packed
from strategies.recovery.standing import BACK_LIMIT_M, FRONT_LIMIT_M
from strategies.recovery.weighing import (
    FIRST_X_M,
    FIRST_Y_M,
    NODES_X,
    NODES_Y,
    STEP_X_M,
    STEP_Y_M,
    choose_place,
    lose,
    mark_missing,
    stand_by_table,
)

NODE_X_M = FIRST_X_M + STEP_X_M * np.arange(NODES_X)
NODE_Y_M = FIRST_Y_M + STEP_Y_M * np.arange(NODES_Y)
WINGS = (FOREHAND, BACKHAND)
HEIGHT_M = 1.0
NODES = len(WINGS) * len(NODE_X_M) * len(NODE_Y_M)  # for each quality
PLACE_X_M, FINE_X_M = np.linspace(-4.5, 4.5, 37), np.linspace(-4.5, 4.5, 181)
# The usual drives and short angle, and the same struck harder and nearer to the lines.
STYLES = (AimedShots(), AimedShots(speed_share=1.15, speed_spread=0.0, margin_share=0.6))
STROKES, DEVIATE_DRAWS = 512, 4


def nodes(quality: float = 1.0) -> np.ndarray:
    """CONTACT records of the grid in a right-handed hitter's own frame, wing by x by y."""
    wing, x, y = np.broadcast_arrays(np.array(WINGS)[:, None, None], NODE_X_M[:, None], NODE_Y_M)
    height = np.full(x.size, HEIGHT_M)
    return contacts_at(-x.ravel(), -y.ravel(), height, wing.ravel(), quality)


@lru_cache(maxsize=2048)
def losses(
    me: Player,
    hitter: Player,
    world: bytes,
    depth_m: float,
    node: int,
    styles: tuple[AimedShots, ...] = STYLES,
    strokes: int = STROKES,
) -> np.ndarray:
    """What each shot from a node costs the receiver at each place of FINE_X_M: (places, shots).

    Shots: every direction in every style, directions fastest, each struck `strokes` times. In
    points a ball: `weighing.cost_of` for one that lands in, -1 for one that does not. The hitter is
    right-handed; `world` holds a WORLD record in the receiver's frame; flights are looked up in
    its table.
    """
    numbers = tabulated(world)
    draws = even_uniforms(np.full(DEVIATE_DRAWS + ERROR_DRAWS, 0.5), strokes)
    deviates = normals(draws[:, :DEVIATE_DRAWS])
    errors = np.ascontiguousarray(draws[:, DEVIATE_DRAWS:])
    contact = np.repeat(nodes()[node : node + 1], strokes)
    receiver = bodies_at(np.zeros(strokes), np.full(strokes, HALF_LENGTH_M + depth_m))
    seen = ShotSituation(hitter, me, numbers, contact, receiver)
    out = np.empty((len(FINE_X_M), len(styles) * len(DIRECTIONS)))
    for shot in range(out.shape[1]):
        style, direction = styles[shot // len(DIRECTIONS)], shot % len(DIRECTIONS)
        intents = style.aimed(seen, np.full(strokes, direction), deviates)
        balls = strike(contact, intents, errors, hitter.hitter.numbers, numbers)
        out[:, shot] = interpolated(FINE_X_M, PLACE_X_M, _loss(me, depth_m, *balls))
    return out


def tabulated(world: bytes) -> np.ndarray:
    """The WORLD record of these bytes, with flights looked up."""
    numbers = np.frombuffer(world, WORLD).copy()
    numbers["tabulated"] = 1.0
    numbers.setflags(write=False)  # as all worlds are: kernels are compiled for that
    return numbers


def _loss(me: Player, depth_m: float, balls: np.ndarray, paths: np.ndarray) -> np.ndarray:
    """What the balls of one shot cost at each place in points a ball, (places,)."""
    y, legs = np.full(len(PLACE_X_M), -(HALF_LENGTH_M + depth_m)), me.legs
    spare_s, _ = appraisals(balls, paths, PLACE_X_M, y, legs.numbers, legs.times)
    out = np.empty(len(PLACE_X_M))
    lose(balls, spare_s, float(legs.control_time_s), out)
    return out


class NodeTable:
    """What is best at contacts of a right-handed hitter: straight between nodes of the grid.

    The nodes are those of `nodes` for each of `qualities`; each is worked out when needed. The
    first of the `columns` of an answer is a lateral place.
    """

    columns: ClassVar[int] = 1
    qualities: ClassVar[np.ndarray] = np.ones(1)

    def best(self, node: int, quality: float) -> float | tuple[float, ...]:
        """What is best at one node for a contact of that quality, `columns` numbers."""
        raise NotImplementedError

    @cached_property
    def found(self) -> np.ndarray:
        """What was found so far, node by node for each quality, NaN for the others."""
        return np.full((len(self.qualities), NODES, self.columns), np.nan)

    def filled_for(self, contact: np.ndarray, side: float) -> np.ndarray:
        """What was found, with all that CONTACT records (n,) in the receiver's frame need.

        `side` is -1 where the court is mirrored.
        """
        found = self.found
        needed = np.zeros(found.shape[:2], np.int64)
        if mark_missing(contact, side, self.qualities, found, needed):
            for k, node in np.argwhere(needed).tolist():
                found[k, node] = self.best(node, float(self.qualities[k]))
        return found


@dataclass(frozen=True)
class Spots(NodeTable):
    """Best lateral places at one depth, by `weighing.weigh` of all shots."""

    worst_share: float
    me: Player
    hitter: Player
    world: bytes
    depth_m: float
    belief: Belief

    def best(self, node: int, quality: float) -> float:
        shares = self.belief.shares_at(nodes()[node : node + 1], 1.0)[0]
        loss = losses(self.me, self.hitter, self.world, self.depth_m, node)
        return choose_place(loss, shares, self.worst_share, FINE_X_M, np.empty(len(FINE_X_M)))


def _cell(value: np.ndarray, nodes_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The node below each value and the share of the way to the next, kept inside the grid."""
    step = nodes_m[1] - nodes_m[0]
    place = np.clip((value - nodes_m[0]) / step, 0.0, len(nodes_m) - 1.0)
    index = np.minimum(place.astype(np.int64), len(nodes_m) - 2)
    return index, place - index


spots_of = lru_cache(maxsize=64)(Spots)


def _mirrored(me: Player, world: np.ndarray, side: float) -> tuple[Player, np.ndarray]:
    """The receiver and the world against a right-handed hitter: mirrored for `side` -1."""
    if side > 0:
        return me, world
    world = world.copy()
    # No negative zero: it has other bits.
    world["wind_x_m_s"] = side * world["wind_x_m_s"] + 0.0
    world.setflags(write=False)
    return me.with_hand("left" if me.hand == "right" else "right"), world


@lru_cache(maxsize=64)
def against_right(me: Player, hitter: Player, world: bytes) -> tuple[Player, Player, bytes]:
    """The receiver, the hitter and the WORLD record with the hitter's racket in the right hand.

    Against a left-handed hitter the whole court, the receiver and the wind are mirrored.
    """
    turned, there = _mirrored(me, np.frombuffer(world, WORLD), hand_of(hitter))
    return turned, hitter.with_hand("right"), there.tobytes()


def from_table(
    seen: Situation, table_of: Callable[[Player, Player, bytes], NodeTable]
) -> tuple[np.ndarray, float, np.ndarray, np.ndarray]:
    """The contacts seen, the side, and the qualities and contents of a table, for `look_up`.

    All is worked out for a right-handed hitter (`against_right`), and what the contacts need.
    """
    side = hand_of(seen.opponent)
    table = table_of(*against_right(seen.me, seen.opponent, seen.world.tobytes()))
    return seen.contact, side, table.qualities, table.filled_for(seen.contact, side)


def packed_for(seen: Situation, worst_share: float, belief: Belief) -> Packed:
    """The places where the usual shots, weighed by `weigh`, cost least for the contacts seen."""
    depth_m, worst = seen.depth_m, float(worst_share)
    looked = from_table(seen, lambda *them: spots_of(worst, *them, depth_m, belief))
    return Packed(stand_by_table, (*looked, seen.line_m, np.empty((2, 1))))


REPLY_STROKES = 128
DEPTHS_M = np.linspace(FRONT_LIMIT_M, BACK_LIMIT_M, 7)


def earned_at(
    seen: ShotSituation,
    styles: tuple[AimedShots, ...],
    x_m: np.ndarray,
    behind_m: np.ndarray | None = None,
) -> np.ndarray:
    """What each shot earns its hitter against receivers at `x_m` (n,), hitter's frame: (n, shots).

    Straight between the nodes of the grid; shots as in `losses`. All is worked out for a
    right-handed hitter, mirrored as in `against_right`. The receivers are at their
    waiting depth, or at depths behind the baseline (n,), between which it is straight too.
    """
    if behind_m is None:
        return _earned_at_depth(seen, styles, x_m, seen.receiver_depth_m)
    k, share = _cell(behind_m, DEPTHS_M)
    out = np.zeros((len(seen), len(styles) * len(DIRECTIONS)))
    for weight, which in ((1.0 - share, k), (share, k + 1)):
        for depth in np.unique(which):
            rows = np.flatnonzero(which == depth)
            contact, receiver = seen.contact[rows], seen.receiver[rows]
            part = dataclasses.replace(seen, contact=contact, receiver=receiver)
            found = _earned_at_depth(part, styles, x_m[rows], float(DEPTHS_M[depth]))
            out[rows] += weight[rows, None] * found
    return out


def _earned_at_depth(
    seen: ShotSituation, styles: tuple[AimedShots, ...], x_m: np.ndarray, depth_m: float
) -> np.ndarray:
    side = hand_of(seen.me)
    me, world = _mirrored(seen.opponent, seen.world, side)
    key = me, seen.me.with_hand("right"), world.tobytes(), depth_m
    c = seen.contact
    i, across = _cell(-side * c["x_m"], NODE_X_M)
    j, along = _cell(-c["y_m"], NODE_Y_M)
    place, beyond = _cell(np.clip(-side * x_m, FINE_X_M[0], FINE_X_M[-1]), FINE_X_M)
    w = np.where(c["wing"] == FOREHAND, 0, 1)
    out = np.zeros((len(seen), len(styles) * len(DIRECTIONS)))
    for di, dj in ((0, 0), (0, 1), (1, 0), (1, 1)):
        node = (w * len(NODE_X_M) + i + di) * len(NODE_Y_M) + j + dj
        weight = (across if di else 1.0 - across) * (along if dj else 1.0 - along)
        for k in np.unique(node):
            rows = np.flatnonzero(node == k)
            loss, at = losses(*key, int(k), styles, REPLY_STROKES), place[rows]
            share = beyond[rows, None]
            found = loss[at] * (1.0 - share) + loss[at + 1] * share
            out[rows] += weight[rows, None] * found
    return out
