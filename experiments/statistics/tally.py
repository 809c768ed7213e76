"""Sums over replicates from which every estimate and interval follows.

A replicate is one ball (placed, recovery) or one rally; it counts `balls` that landed in, serves
left out, and of those the missed and set ones, the seconds to spare and metres run, then the points
won, strokes and those expected not to come back (missed, or by the chance of the reply).
Each tally keeps the sums, the sums of products within a policy and those with the reference policy,
so that memory does not grow with the number of replicates and paired intervals stay exact.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.kinds import SERVES
from sim.over_arrays import product
from sim.records import GOING, IN, MISSED, OPPONENT, SET, STROKE_LIMIT, STUDIED, WON_BY_HITTER

COLUMNS = (
    "one",
    "balls",
    "missed",
    "set",
    "spare_s",
    "run_m",
    "points",
    "strokes",
    "not_returned",
    "spot_x_m",
    "reached_x_m",
    "spot_y_m",
)
SETTLED_OFF_S = 3.0


def replicate_table(strokes: np.ndarray, replicates: np.ndarray, points: bool) -> np.ndarray:
    """One row a replicate, columns COLUMNS, from its STROKE records (sorted by replicate).

    Time to spare is cut at -3 s, so that a ball that can never be played does not drown the mean.
    Spot and place are those of the first stroke. Undecided rallies (stroke limit) count half.
    """
    row = np.searchsorted(replicates, strokes["replicate"])
    out = np.zeros((len(replicates), len(COLUMNS)))
    out[:, 0] = 1.0
    faced = is_faced(strokes)
    at, balls = row[faced], strokes[faced]
    np.add.at(out[:, 1], at, 1.0)
    np.add.at(out[:, 2], at, balls["grade"] == MISSED)
    np.add.at(out[:, 3], at, balls["grade"] == SET)
    np.add.at(out[:, 4], at, np.maximum(balls["time_to_spare_s"], -SETTLED_OFF_S))
    np.add.at(out[:, 5], at, balls["chase_run_m"])
    np.add.at(out[:, 7], row, 1.0)
    if points:
        out[:, 6] = points_won(strokes, row, len(replicates))
    first = strokes["stroke"] == 0
    np.add.at(out[:, 8], at, 1.0 - balls["reply_chance"])
    out[row[first], 9] = strokes["spot_x_m"][first]
    out[row[first], 10] = strokes["receiver_x_m"][first]
    out[row[first], 11] = strokes["spot_y_m"][first]
    return out


def is_faced(strokes: np.ndarray) -> np.ndarray:
    """Which strokes are balls that the studied player had to recover to: the opponent's that landed
    in, serves left out."""
    struck = (strokes["side"] == OPPONENT) & (strokes["outcome"] == IN)
    return struck & ~np.isin(strokes["kind"], SERVES)


def points_won(strokes: np.ndarray, row: np.ndarray, count: int) -> np.ndarray:
    """Points of the studied player: 1, 0, or 0.5 where the stroke limit stopped the rally."""
    out = np.full(count, 0.5)
    ended = (strokes["ending"] != GOING) & (strokes["ending"] != STROKE_LIMIT)
    last, at = strokes[ended], row[ended]
    hitter_won = np.isin(last["ending"], WON_BY_HITTER)
    studied_hit = last["side"] == STUDIED
    out[at] = np.where(hitter_won == studied_hit, 1.0, 0.0)
    return out


@dataclass
class Tally:
    """Sums of one cell: own products (k, k) and products with the reference policy (k, k).

    Column 0 is the constant 1, so the first row of `own` holds the plain sums. A column with a name
    such as `missed: PART` counts a part of what `missed` counts.
    """

    own: np.ndarray
    cross: np.ndarray
    reference: np.ndarray
    columns: tuple[str, ...] = COLUMNS

    @classmethod
    def of(
        cls, table: np.ndarray, reference: np.ndarray, *, columns: tuple[str, ...] = COLUMNS
    ) -> Tally:
        """Tally of one block from the replicate tables of a policy and of the reference."""
        own, other = products(table, table), products(reference, reference)
        return cls(own, products(table, reference), other, columns)

    @property
    def is_reference(self) -> bool:
        """Whether policy and reference were the same in all columns of all replicates.

        The columns hold seconds and metres, so that two policies that differ show it.
        """
        same = np.array_equal(self.own, self.cross)
        return same and np.array_equal(self.own, self.reference)

    def __add__(self, other: Tally) -> Tally:
        sums = self.own + other.own, self.cross + other.cross, self.reference + other.reference
        return Tally(*sums, self.columns)


def products(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Sums over the rows of a[:, i] * b[:, j], shape (k, k), in an order fixed by the rows."""
    return product(a.T, b)
