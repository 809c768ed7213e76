"""What a ball met and to be struck is worth, and what places are worth at a state of decision.

A ball's worth is a least squares fit to whole points of the policy that goes on from there, by what
the game depends on from there: the contact, the time the ball took, where the other side struck.
With it a place is judged by one stroke of the other side, its chance to come back counted and not
drawn, so that the same shots tell places apart that differ by a point in 100.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from experiments.evidence.headroom.states import Seen
from experiments.study.stopped import some_of
from sim.contracts import ShotModel
from sim.court import HALF_LENGTH_M
from sim.exchange import Game, Place, opening_contact, placed_spots
from sim.records import BACKHAND, IN, MISSED, STROKE_LIMIT
from sim.turns import Pause, Strike, opened, recovered, struck

ACROSS_M = (-2.0, -1.2, -0.6, -0.3, 0.0, 0.3, 0.6, 1.2, 2.0)  # from the own action
BACK_M = (-2.0, -1.0, 0.0, 1.0, 2.0)
OPENING_BACK_M = (-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0)
AT_ONCE = 40_000  # strokes


@dataclass(frozen=True)
class Worth:
    """The fit: what a met ball is worth, in points."""

    weights: np.ndarray

    def of(self, met: np.ndarray, from_x_m: np.ndarray) -> np.ndarray:
        """Points expected from there, (n,), between 0 and 1."""
        return np.clip(features(met, from_x_m) @ self.weights, 0.0, 1.0)


def features(met: np.ndarray, from_x_m: np.ndarray) -> np.ndarray:
    """What the worth of a met ball is linear in, (n, k)."""
    q, t, z = met["quality"], met["time_s"], met["ball_z_m"]
    x, behind = met["ball_x_m"], -met["ball_y_m"] - HALF_LENGTH_M
    wide, far = np.abs(x), np.abs(from_x_m)
    backhand = (met["wing"] == BACKHAND).astype(float)
    same = x * from_x_m
    columns = (
        *(np.ones(len(q)), q, q * q, t, t * t, z, z * z, wide, wide * wide),
        *(behind, behind * behind, met["stretch"], met["volley"], backhand),
        *(q * t, q * wide, q * behind, t * wide, t * behind, wide * behind),
        *(far, far * t, same, same * t, backhand * q, backhand * wide),
        *(met["run_m"], met["run_m"] * q, x, backhand * x, met["body_vx_m_s"] * x),
    )
    return np.stack(columns, axis=1)


def fitted(seen: list[Seen]) -> Worth:
    """The worth of met balls, from points played to the end."""
    rows = np.concatenate([features(s.met, s.from_x_m) for s in seen])
    won = np.concatenate([s.won for s in seen])
    return Worth(np.linalg.lstsq(rows, won, rcond=None)[0])


def places_worth(game: Game, states: Pause, worth: Worth, shots: np.ndarray) -> np.ndarray:
    """What places around the policy's own are worth at each state, (states, actions, shots).

    The own place is the action number `own_action()`. `shots` (m,) are replicates of the other
    side's strokes, the same for every place.
    """
    aims = aims_of_actions(recovered(game, states).receiver.spots)
    actions, m = aims.shape[1], len(shots)
    out = np.empty((len(states), actions, m))
    few = max(1, AT_ONCE // (actions * m))
    for first in range(0, len(states), few):
        rows = np.arange(first, min(first + few, len(states)))
        many = some_of(states, np.repeat(rows, actions * m))
        many = with_shots(many, np.tile(shots, len(rows) * actions))
        where = np.repeat(aims[rows].reshape(-1, 2), m, axis=0)
        found = ball_worth(game, recovered(game, many, where), worth)
        out[rows] = found.reshape(len(rows), actions, m)
    return out


def with_shots(states: Pause, shots: np.ndarray) -> Pause:
    """The states with other replicates, so that the strokes that follow are drawn anew."""
    return dataclasses.replace(states, replicates=shots)


def own_action() -> int:
    """The number of the policy's own place among the actions."""
    return ACROSS_M.index(0.0) * len(BACK_M) + BACK_M.index(0.0)


def aims_of_actions(spots: np.ndarray) -> np.ndarray:
    """The places that are tried around these spots (n, 2): (n, actions, 2)."""
    dx, dy = (grid.ravel() for grid in np.meshgrid(ACROSS_M, BACK_M, indexing="ij"))
    return spots[:, None, :] + np.stack([dx, -dy], axis=1)[None]


def ball_worth(
    game: Game, strike: Strike, worth: Worth, serve: ShotModel | None = None
) -> np.ndarray:
    """What the decider wins of these strokes of the other side: all of those that do not land in,
    of the others the chance to come back times what it is worth to strike from there."""
    stroke = struck(game, strike, serve)
    met, rows = stroke.met.meeting, stroke.rows
    landed = rows["outcome"] == IN
    back = np.where(rows["grade"] == MISSED, 0.0, met["reply_chance"])
    value = back * worth.of(met, -strike.contact["x_m"])
    value[rows["ending"] == STROKE_LIMIT] = 0.5
    return np.where(landed, value, 1.0)


def opening_worth(game: Game, place: Place, worth: Worth, shots: np.ndarray) -> np.ndarray:
    """What waiting nearer or farther back for a serve is worth, (1, depths, shots); the own depth
    is the depth number `own_depth()`."""
    spot = placed_spots(game, opening_contact(place, game.opponent, 1))[0]
    found = []
    for back in OPENING_BACK_M:
        spots = np.repeat([[spot[0], spot[1] - back]], len(shots), axis=0)
        strike = opened(game, place, shots, spots)
        found.append(ball_worth(game, strike, worth, place.serve))
    return np.array([found])


def own_depth() -> int:
    """The number of the policy's own depth among those of `opening_worth`."""
    return OPENING_BACK_M.index(0.0)
