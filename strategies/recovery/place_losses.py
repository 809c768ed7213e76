"""What a hitter's shots cost at every place to stand, worked out once on a grid of contacts.

Policies that weigh shots against each other choose a place for each contact of the grid and
interpolate between them, so that a spot costs no more than a look into a small table.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from sim.belief import DIRECTIONS, Belief
from sim.chance import normals
from sim.contracts import ShotSituation, Situation, bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.meeting import appraisals
from sim.players import Player
from sim.records import BACKHAND, FOREHAND, IN, WORLD
from sim.stroke import ERROR_DRAWS, strike
from strategies.aim import AimedShots
from strategies.directions import hand_of
from strategies.even_draws import even_uniforms

NODE_X_M, NODE_Y_M = np.linspace(-6.0, 6.0, 9), np.linspace(5.0, 15.5, 4)
WINGS = (FOREHAND, BACKHAND)
HEIGHT_M = 1.0
PLACE_X_M, FINE_X_M = np.linspace(-4.5, 4.5, 37), np.linspace(-4.5, 4.5, 181)
# The usual drives and short angle, and the same struck harder and nearer to the lines.
STYLES = (AimedShots(), AimedShots(speed_share=1.15, speed_spread=0.0, margin_share=0.6))
STROKES, DEVIATE_DRAWS = 512, 4
PLATEAU = 0.005  # losses closer than half a point in 100 balls count as equal
# What a ball costs that comes back off the racket after so much time to spare: points lost less
# points won from there on. Fitted by eye to the next ball of the answer `game`, where players of
# habit of the levels club-adult, college-man and professional-man differ little.
RETURNED_SPARE_S, RETURNED_COST = (0.18, 0.5, 1.0, 1.5), (0.3, 0.04, 0.0, -0.06)


def nodes() -> np.ndarray:
    """CONTACT records of the grid in a right-handed hitter's own frame, wing by x by y."""
    wing, x, y = np.broadcast_arrays(np.array(WINGS)[:, None, None], NODE_X_M[:, None], NODE_Y_M)
    return contacts_at(-x.ravel(), -y.ravel(), np.full(x.size, HEIGHT_M), wing.ravel())


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
    points a ball: `cost_of` for one that lands in, -1 for one that does not. The hitter is
    right-handed; `world` holds a WORLD record in the receiver's frame; flights are looked up in
    its table.
    """
    numbers = np.frombuffer(world, WORLD).copy()
    numbers["tabulated"] = 1.0
    numbers.setflags(write=False)  # as all worlds are: kernels are compiled for that
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
        out[:, shot] = np.interp(FINE_X_M, PLACE_X_M, _loss(me, depth_m, *balls))
    return out


def _loss(me: Player, depth_m: float, balls: np.ndarray, paths: np.ndarray) -> np.ndarray:
    """What the balls of one shot cost at each place in points a ball, (places,)."""
    landed, y = balls["outcome"] == IN, np.full(len(PLACE_X_M), -(HALF_LENGTH_M + depth_m))
    legs = me.legs.numbers, me.legs.times
    spare_s, _ = appraisals(balls[landed], paths[landed], PLACE_X_M, y, *legs)
    cost = cost_of(spare_s, me.legs.control_time_s)
    return np.asarray((cost.sum(axis=0) - (~landed).sum()) / len(balls))


def cost_of(spare_s: np.ndarray, control_time_s: float) -> np.ndarray:
    """What balls that land in cost by the time to spare: 1 if missed, falling as more is left.

    A ball that is reached comes back with the chance of sim.reply.in_control; what it costs then
    is RETURNED_COST.
    """
    left = np.maximum(spare_s, 0.0)
    returned = (spare_s >= 0.0).astype(float)
    if control_time_s > 0.0:
        returned = -np.expm1(-left / control_time_s)
    return 1.0 - returned * (1.0 - np.interp(left, RETURNED_SPARE_S, RETURNED_COST))


# From losses (places, shots) and the believed shares of the directions (4,) to what a policy wants
# small, (places,).
Weighing = Callable[[np.ndarray, np.ndarray], np.ndarray]


def expected(loss: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """The loss to be expected when the usual shots come in these shares, (places,)."""
    return np.asarray((loss[:, : len(DIRECTIONS)] * shares).sum(axis=1))


def worst(loss: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """The loss when the place is seen and the best reply is played, (places,)."""
    return np.asarray(loss.max(axis=1))


def best_place(wanted_small: np.ndarray) -> float:
    """The middle of the places that are best within PLATEAU."""
    good = FINE_X_M[wanted_small <= wanted_small.min() + PLATEAU]
    return float(0.5 * (good[0] + good[-1]))


@dataclass(frozen=True)
class Spots:
    """Best lateral places on the grid for a right-handed hitter; each is worked out when needed."""

    weighing: Weighing
    me: Player
    hitter: Player
    world: bytes
    depth_m: float
    belief: Belief

    @cached_property
    def found_m(self) -> np.ndarray:
        """The places found so far by node, NaN for the others."""
        return np.full(len(WINGS) * len(NODE_X_M) * len(NODE_Y_M), np.nan)

    def place_m(self, wing: np.ndarray, i: np.ndarray, j: np.ndarray) -> np.ndarray:
        """The best places of the nodes (wing, i, j), (n,)."""
        node = (wing * len(NODE_X_M) + i) * len(NODE_Y_M) + j
        for k in np.unique(node[np.isnan(self.found_m[node])]):
            self.found_m[k] = self._best(int(k))
        return self.found_m[node]

    def _best(self, node: int) -> float:
        shares = self.belief.shares_at(nodes()[node : node + 1], 1.0)[0]
        loss = losses(self.me, self.hitter, self.world, self.depth_m, node)
        return best_place(self.weighing(loss, shares))

    def at(self, x_m: np.ndarray, y_m: np.ndarray, wing: np.ndarray) -> np.ndarray:
        """Best places for contacts in the receiver's frame, (n,): straight between the nodes."""
        i, across = _cell(x_m, NODE_X_M)
        j, along = _cell(y_m, NODE_Y_M)
        w = np.where(wing == FOREHAND, 0, 1)
        near = self.place_m(w, i, j) * (1 - across) + self.place_m(w, i + 1, j) * across
        far = self.place_m(w, i, j + 1) * (1 - across) + self.place_m(w, i + 1, j + 1) * across
        return np.asarray(near * (1 - along) + far * along)


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


def places_for(seen: Situation, weighing: Weighing, belief: Belief) -> np.ndarray:
    """The lateral places that make `weighing` least for the contacts seen, (n,).

    All is worked out for a right-handed hitter: against a left-handed one the whole court, the
    receiver and the wind are mirrored first, and the answer back.
    """
    side = hand_of(seen.opponent)
    me, world = _mirrored(seen.me, seen.world, side)
    hitter = seen.opponent.with_hand("right")
    table = spots_of(weighing, me, hitter, world.tobytes(), seen.depth_m, belief)
    c = seen.contact
    return side * table.at(side * c["x_m"], c["y_m"], c["wing"])


REPLY_STROKES = 128


def earned_at(seen: ShotSituation, styles: tuple[AimedShots, ...], x_m: np.ndarray) -> np.ndarray:
    """What each shot earns its hitter against receivers at `x_m` (n,), hitter's frame: (n, shots).

    Straight between the nodes of the grid; shots as in `losses`. All is worked out for a
    right-handed hitter, mirrored as in `places_for`.
    """
    side = hand_of(seen.me)
    me, world = _mirrored(seen.opponent, seen.world, side)
    key = me, seen.me.with_hand("right"), world.tobytes(), seen.receiver_depth_m
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
