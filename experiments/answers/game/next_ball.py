"""What a ball is worth to its hitter that the receiver reaches: from rallies played out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from experiments.scene.scene import Scene
from experiments.statistics.tally import points_won
from sim.array_engine import play
from sim.errors import InputError
from sim.exchange import Game, Side
from sim.records import IN, MISSED, STUDIED
from strategies.recovery.bisector import Bisector
from strategies.shots.habit import Habit

RALLIES, FEWEST_STROKES = 4000, 400
# Ends of the bins as shares of the balls, narrow where little time is left and worth falls fast.
BINS = (0.0, 1 / 24, 1 / 12, 1 / 8, 1 / 4, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 7 / 8, 1.0)


@dataclass(frozen=True)
class NextBall:
    """Worth of a ball by the receiver's time to spare: points won less points lost by the hitter.

    `worth` at the times `spare_s`, straight between them and level beyond; a ball that is missed is
    worth 1, and so is one that is just touched.
    """

    spare_s: np.ndarray
    worth: np.ndarray

    def __call__(self, spare_s: np.ndarray, grade: np.ndarray) -> np.ndarray:
        returned = np.interp(spare_s, self.spare_s, self.worth)
        return np.where(grade == MISSED, 1.0, returned)


def worth_of_rallies(scene: Scene, rallies: int = RALLIES) -> NextBall:
    """The worth of balls got back, from rallies of the two players opened from the same place.

    Both hit by habit and recover to the bisector.
    """
    studied = Side(scene.player, Bisector(), Habit(), scene.depth_m)
    other = Side(scene.opponent, Bisector(), Habit())
    played = Game(studied, other, scene.world, scene.seed)
    return next_ball_of(play(played, scene.place, np.arange(rallies)))


def next_ball_of(strokes: np.ndarray, bins: Sequence[float] = BINS) -> NextBall:
    """The worth of the balls in STROKE records that landed in and were reached.

    The worth is the mean over balls of +1 where the hitter won the point in the end, -1 where the
    other did (0 at the stroke limit), in bins of balls by time to spare. A ball that is reached and
    does not come back is won by the hitter.

    Raises:
        InputError: too few balls for that.
    """
    back = (strokes["outcome"] == IN) & (strokes["grade"] != MISSED)
    if back.sum() < FEWEST_STROKES:
        raise InputError(f"{back.sum()} balls were reached; play at least {FEWEST_STROKES}")
    won = earned_by_hitter(strokes)[back]
    spare = strokes["time_to_spare_s"][back]
    order = np.argsort(spare, kind="stable")
    parts = np.split(order, np.round(np.array(bins[1:-1]) * len(order)).astype(int))
    means = [(float(spare[p].mean()), float(won[p].mean())) for p in parts]
    return NextBall(*np.array([(0.0, 1.0), *means]).T)


def earned_by_hitter(strokes: np.ndarray) -> np.ndarray:
    """+1 where the stroke's hitter won the rally, -1 where the other did, 0 where nobody, (n,)."""
    rallies, row = np.unique(strokes["replicate"], return_inverse=True)
    studied = 2.0 * points_won(strokes, row, len(rallies))[row] - 1.0
    return np.where(strokes["side"] == STUDIED, studied, -studied)
