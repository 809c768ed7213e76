"""Whole points of the typical game, as charts and tracking count them."""

from __future__ import annotations

import numpy as np

from sim.kinds import SERVES
from sim.records import (
    FORCED_ERROR,
    GOING,
    STROKE_LIMIT,
    UNFORCED_ERROR,
    UNRETURNED,
    WINNER,
    WON_BY_HITTER,
)


class Points:
    """STROKE records, sorted by rally and stroke, of the points that ended.

    `point` is the number of each stroke's point, `last` the row of each point's last record
    and `final` that record, `winner` the side that won each point.
    """

    def __init__(self, strokes: np.ndarray) -> None:
        _, point = np.unique(strokes["replicate"], return_inverse=True)
        ends = np.flatnonzero(np.append(np.diff(point) > 0, True)[: len(point)])
        over = ~np.isin(strokes["ending"][ends], (GOING, STROKE_LIMIT))
        self.strokes = strokes[over[point]]
        _, self.point = np.unique(self.strokes["replicate"], return_inverse=True)
        self.last = np.flatnonzero(np.append(np.diff(self.point) > 0, True)[: len(self.point)])
        self.final = self.strokes[self.last]
        won = np.isin(self.final["ending"], WON_BY_HITTER)
        self.winner = np.where(won, self.final["side"], 1 - self.final["side"])

    def __len__(self) -> int:
        return len(self.last)

    @property
    def rallies(self) -> np.ndarray:
        """The rally of each point."""
        return np.asarray(self.final["replicate"])

    @property
    def after_serve(self) -> np.ndarray:
        """Which strokes are no serves."""
        return (self.strokes["stroke"] > 0) & ~np.isin(self.strokes["kind"], SERVES)

    @property
    def won(self) -> np.ndarray:
        """Which strokes are of the side that won the point."""
        return np.asarray(self.winner[self.point] == self.strokes["side"])

    @property
    def ended(self) -> np.ndarray:
        """Which strokes a chart says ended the point: a winner, an unforced error, or the ball that
        forced the error that followed."""
        ending = self.strokes["ending"]
        forced = (ending == FORCED_ERROR) & (self.strokes["stroke"] > 0)
        forcing = np.append(forced[1:], False)[: len(ending)]
        return np.isin(ending, (WINNER, UNRETURNED, UNFORCED_ERROR)) | forcing
