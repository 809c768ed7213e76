"""Where the baseline rule turns round: the best side by distance from the net."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from experiments.answers.stroke.strokes import OwnStroke
from experiments.balls.best import Best, best_of
from experiments.balls.struck import chunks
from experiments.scene.defaults import CONTACT_HEIGHT_M, CORNER_M
from experiments.study.settings import faced
from sim.contracts import bodies_at
from sim.exchange import Game, Place, at_rest, opening_contact, situation
from sim.records import IN, MISSED, STUDIED

DISTANCES_M = (1.5, 2.0, 2.8, 3.5, 4.5, 6.0, 7.5, 9.0, 10.5, 12.0, 13.0, 14.0)
X_M = np.arange(-3.0, 3.01, 0.5)
CORNER, YOURS = "corner, unhurried", "after the approach"
LEAST_OFF_M = 0.5


@dataclass(frozen=True, eq=False)
class Turning:
    """One contact of the opponent, (x, y) in `ball_m`, own frame.

    bisector_m: where it passes, by distance. best: the lateral place, at rest, from which most
    balls are reached, by distance. extremes_m: the two extreme paths at each distance, (d, 2).
    """

    name: str
    ball_m: tuple[float, float]
    bisector_m: np.ndarray
    extremes_m: np.ndarray
    best: tuple[Best, ...]

    @property
    def side(self) -> float:
        """1.0: the ball is to your right, -1.0: to your left, 0.0: near the centre."""
        x = self.ball_m[0]
        return math.copysign(1.0, x) if abs(x) >= LEAST_OFF_M else 0.0

    @property
    def bisector_turns_m(self) -> float:
        """The distance from the net at which the bisector crosses the centre line; NaN if none."""
        off = self.bisector_m * self.side
        return crossing_m(np.array(DISTANCES_M), off)

    @property
    def best_turns_m(self) -> tuple[float, float]:
        """Between which distances the measured best place changes sides: the last before which
        its whole range is on the ball's side, the first from which all of it is on the other; NaN
        where the range never leaves the centre line on that side."""
        ends = np.sort([[b.low_m * self.side, b.high_m * self.side] for b in self.best], axis=1)
        d = np.array(DISTANCES_M)
        same, other = d[ends[:, 0] > 0], d[ends[:, 1] < 0]
        last = float(same.max()) if len(same) else math.nan
        beyond = other[other > last] if len(same) else other
        return last, float(beyond.min()) if len(beyond) else math.nan


def crossing_m(distance_m: np.ndarray, off_m: np.ndarray) -> float:
    """Where a curve first falls through 0, straight between its places; NaN where it does not."""
    for k in range(len(off_m) - 1):
        if off_m[k] > 0 >= off_m[k + 1]:
            share = off_m[k] / (off_m[k] - off_m[k + 1])
            return float(distance_m[k] + share * (distance_m[k + 1] - distance_m[k]))
    return math.nan


def turning_of(game: Game, balls: int, stroke: OwnStroke) -> tuple[Turning, ...]:
    """From the corner on the approach's side without hurry, and from where the approach is met."""
    x = math.copysign(CORNER_M[0], stroke.meets_m[0])
    corner = opening_contact(Place(CORNER, x, CORNER_M[1], CONTACT_HEIGHT_M), game.opponent, 1)
    assert stroke.meets is not None
    return _turning(game, balls, CORNER, corner), _turning(game, balls, YOURS, stroke.meets)


def _turning(game: Game, balls: int, name: str, contact: np.ndarray) -> Turning:
    distances = np.array(DISTANCES_M)
    waiting = bodies_at(np.zeros(1), np.array([-distances[-1]]))
    seen = situation(game, STUDIED, waiting, contact, np.full(1, np.inf))
    line = [float(seen.halfway_x_m(seen.extremes, d)[0]) for d in distances]
    ball = float(seen.contact["x_m"][0]), float(seen.contact["y_m"][0])
    targets = np.stack([seen.extremes[k][0] for k in ("target_x_m", "target_y_m")], axis=1)
    slope = (targets[:, 0] - ball[0]) / (targets[:, 1] - ball[1])
    paths = ball[0] + slope[None, :] * (-distances[:, None] - ball[1])
    best = []
    for d in distances:
        kept = [1.0 - _missed(game, contact, np.array([x, -d]), balls) for x in X_M]
        best.append(best_of(X_M, np.array(kept)))
    return Turning(name, ball, np.array(line), paths, tuple(best))


def _missed(game: Game, contact: np.ndarray, place: np.ndarray, balls: int) -> float:
    """Missed of the balls that land in, of a player at rest there; all where none lands in."""
    landed = missed = 0
    for replicates in chunks(0, balls):
        n = len(replicates)
        at = at_rest(np.repeat(place[None], n, axis=0))
        rows = faced(game, np.repeat(contact, n), at, replicates, None)
        came = rows["outcome"] == IN
        landed += int(came.sum())
        missed += int((came & (rows["grade"] == MISSED)).sum())
    return missed / landed if landed else 1.0
