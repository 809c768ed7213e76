"""How often players come to the net, and what it brings them."""

from __future__ import annotations

import numpy as np

from experiments.evidence.validation.estimates import Estimate, mean_of, percentage_of
from experiments.evidence.validation.points import Points
from sim.court import SERVICE_LINE_M
from sim.kinds import APPROACH, COMING_IN, OVERHEAD, VOLLEY
from sim.records import FORCED_ERROR, UNFORCED_ERROR, UNRETURNED, WINNER


class NetFigures:
    """Figures of the net in STROKE records sorted by rally and stroke.

    A side is at the net from when it stands inside the service line as the opponent strikes, or
    strikes a volley or an overhead; a net point is one in which it is there, or comes in behind an
    approach. One point may be a net point of both. Arrays are by point and side.
    """

    def __init__(self, strokes: np.ndarray) -> None:
        self.points = points = Points(strokes)
        s = points.strokes
        waits = np.abs(s["receiver_y_m"]) < SERVICE_LINE_M
        self.came = self._sides(s["side"], np.isin(s["kind"], COMING_IN))
        self.came |= self._sides(1 - s["side"], waits)
        self.approached = self._sides(s["side"], s["kind"] == APPROACH)
        waited = np.append(False, waits[:-1])[: len(s)] & (s["stroke"] > 0)
        struck_there = waited | np.isin(s["kind"], (VOLLEY, OVERHEAD))
        self.ended_there = struck_there[points.last]
        self.own = points.final["side"][:, None] == np.arange(2)  # who struck last
        self.won = points.winner[:, None] == np.arange(2)

    def _sides(self, sides: np.ndarray, condition: np.ndarray) -> np.ndarray:
        """Whether any stroke of the point meets the condition, by point and side."""
        out = np.zeros((len(self.points), 2), bool)
        out[self.points.point[condition], sides[condition]] = True
        return out

    def _per_100_points(self, which: np.ndarray) -> Estimate:
        return mean_of(100.0 * which.sum(axis=1), self.points.rallies)

    def _of(self, which: np.ndarray, condition: np.ndarray) -> Estimate:
        rallies = np.repeat(self.points.rallies[:, None], 2, axis=1)
        return percentage_of(condition[which], rallies[which])

    def visits_per_100_points(self) -> Estimate:
        """Net points of both sides together."""
        return self._per_100_points(self.came)

    def won_pct(self) -> Estimate:
        """Of net points, those won by the side at the net."""
        return self._of(self.came, self.won)

    def approaches_per_100_points(self) -> Estimate:
        """Points with an approach, those of both sides together."""
        return self._per_100_points(self.approached)

    def approaches_won_pct(self) -> Estimate:
        """Of points with an approach, those won by the side that came in."""
        return self._of(self.approached, self.won)

    def passed_pct(self) -> Estimate:
        """Of net points, those ended by a winner of the other side."""
        return self._of(self.came, ~self.own & self._ended(WINNER))

    def drew_error_pct(self) -> Estimate:
        """Of net points, those ended by an error of the other side, touched balls included."""
        theirs = ~self.own & self._ended(FORCED_ERROR, UNFORCED_ERROR)
        return self._of(self.came, theirs | (self.own & self._ended(UNRETURNED)))

    def own_error_pct(self) -> Estimate:
        """Of net points, those ended by an unforced error that the side made at the net."""
        there = self.ended_there[:, None] & self._ended(UNFORCED_ERROR)
        return self._of(self.came, self.own & there)

    def _ended(self, *endings: int) -> np.ndarray:
        return np.isin(self.points.final["ending"], endings)[:, None]
