"""Depth: whole rallies of one game, and what is counted of them.

They open with the opponent striking from three places with equal weights. Each place has rallies of
its own; games are paired on the same random numbers.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from experiments.statistics.estimates import (
    Difference,
    Estimate,
    mean_difference,
    mean_of,
    paired,
    ratio,
    share,
)
from experiments.statistics.tally import COLUMNS, Tally, replicate_table
from sim.array_engine import play
from sim.court import HALF_LENGTH_M
from sim.exchange import Game, Place
from sim.kinds import DROP_SHOT
from sim.records import (
    FORCED_ERROR,
    OPPONENT,
    STROKE_LIMIT,
    STUDIED,
    UNFORCED_ERROR,
    UNRETURNED,
    WINNER,
)

PLACES = 3
PER_100 = 100.0
# By way: who struck last, and how that stroke ended the rally.
WAYS: dict[str, tuple[int, tuple[int, ...]]] = {
    "you_missed": (OPPONENT, (WINNER,)),
    "you_did_not_return": (OPPONENT, (UNRETURNED,)),
    "your_error": (STUDIED, (FORCED_ERROR, UNFORCED_ERROR)),
    "opponent_missed": (STUDIED, (WINNER,)),
    "opponent_did_not_return": (STUDIED, (UNRETURNED,)),
    "opponent_error": (OPPONENT, (FORCED_ERROR, UNFORCED_ERROR)),
}
STOPPED = "stopped"
LOST_BY = ("you_missed", "you_did_not_return", "your_error")
TOP, BOTTOM = COLUMNS.index("points"), COLUMNS.index("balls")


def opening_places(place: Place) -> tuple[Place, ...]:
    """The place, its mirror image, and the middle at the same distance from the net."""
    moved = (("here", place.x_m), ("mirrored", -place.x_m), ("middle", 0.0))
    return tuple(dataclasses.replace(place, name=name, x_m=x_m + 0.0) for name, x_m in moved)


@dataclass(frozen=True, eq=False)
class Played:
    """Rallies of one game: by place and rally what is counted, each (PLACES, n), by its name.

    tables: (PLACES, n, columns of a tally), which hold seconds and metres besides, so that two
    games that differ in anything show it.
    """

    tables: np.ndarray
    counts: dict[str, np.ndarray]

    def share(self, top: str, bottom: str = "one") -> Estimate:
        """A share in 100, the three places with equal weights."""
        parts = [share(Tally.of(t, t), "points", "balls") for t in self._of(top, bottom)]
        return mean_of(parts, is_share=True).scaled(PER_100)

    def ratio(self, top: str, bottom: str) -> Estimate:
        """A ratio of sums, the three places with equal weights."""
        parts = [ratio(Tally.of(t, t), "points", "balls") for t in self._of(top, bottom)]
        return mean_of(parts, is_share=False)

    def less(self, other: Played, top: str, bottom: str = "one") -> Difference:
        """By how much in 100 a share is larger than in another game, on the same random numbers."""
        both = zip(self._of(top, bottom), other._of(top, bottom), strict=True)
        parts = [paired(Tally.of(*pair), "points", "balls") for pair in both]
        return mean_difference(parts).scaled(PER_100)

    @property
    def points(self) -> np.ndarray:
        """Points won by unit, one rally from each place: (n,), 0 to PLACES."""
        return np.asarray(self.counts["points"].sum(axis=0))

    def _of(self, top: str, bottom: str) -> np.ndarray:
        """The tables with these two counts in the columns of points and balls."""
        out = self.tables.copy()
        out[:, :, TOP], out[:, :, BOTTOM] = self.counts[top], self.counts[bottom]
        return out


def played(game: Game, place: Place, each: int, first: int = 0) -> Played:
    """Play `each` rallies from each of the opening places of `place`, from number `first` on."""
    tables, counts = [], []
    for k, at in enumerate(opening_places(place)):
        numbers = first + each * k + np.arange(each)
        strokes = play(game, at, numbers)
        row = strokes["replicate"] - numbers[0]
        tables.append(replicate_table(strokes, numbers, points=True))
        counts.append(_counted(strokes, row, tables[-1]))
    by_place = {name: np.stack([c[name] for c in counts]) for name in counts[0]}
    return Played(np.stack(tables), by_place)


def points_of(game: Game, place: Place, each: int, first: int) -> float:
    """Points won of 100 in such rallies, where nothing else is asked."""
    return PER_100 * float(played(game, place, each, first).counts["points"].mean())


def _counted(strokes: np.ndarray, row: np.ndarray, table: np.ndarray) -> dict[str, np.ndarray]:
    count = len(table)

    def summed(values: np.ndarray, which: np.ndarray) -> np.ndarray:
        return np.bincount(row[which], (values * np.ones(len(row)))[which], count)

    theirs = strokes["side"] == OPPONENT
    after_yours = theirs & (strokes["stroke"] > 0)
    here = {name: table[:, COLUMNS.index(name)] for name in ("one", "balls", "points")}
    depth_m = -strokes["receiver_y_m"] - HALF_LENGTH_M
    one = np.ones(len(row))
    out = {
        **here,
        "reached": here["balls"] - table[:, COLUMNS.index("missed")],
        "returned": here["balls"] - table[:, COLUMNS.index("not_returned")],
        "opponent_strokes": summed(one, theirs),
        "opponent_drop_shots": summed(one, theirs & (strokes["kind"] == DROP_SHOT)),
        "opponent_replies": summed(one, after_yours),
        "opponent_quality": summed(strokes["hitter_quality"], after_yours),
        "waited_m": summed(depth_m, theirs),
        STOPPED: summed(one, strokes["ending"] == STROKE_LIMIT),
    }
    for name, (side, endings) in WAYS.items():
        out[name] = summed(one, (strokes["side"] == side) & np.isin(strokes["ending"], endings))
    return out
