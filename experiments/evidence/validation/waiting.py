"""Where players wait for the opponent's strike, and how they got there from their last own one.

From the third stroke on, both players back, bodies. The waiting player's own frame, in which a
right-hander's forehand is on the positive side.
"""

from __future__ import annotations

import numpy as np

from experiments.evidence.validation.estimates import Estimate, quantile_of
from experiments.evidence.validation.points import Points
from experiments.evidence.validation.regression import coefficient
from sim.over_arrays import length_of
from sim.records import STUDIED

BACK_M = 10.5  # from the net; both players behind it are back
REGRESSORS = ("everywhere", "opponent", "own contact")


class WaitingPlaces:
    """Figures of the receivers' places in STROKE records sorted by rally and stroke."""

    def __init__(self, strokes: np.ndarray) -> None:
        s = Points(strokes).strokes
        now = np.flatnonzero(s["stroke"] >= 2)
        before, own = s[now - 1], s[now - 2]  # their bodies: of who strikes now, of who waits now
        waits = s[now]
        back = np.abs(before["body_y_m"]) > BACK_M
        back &= np.abs(waits["receiver_y_m"]) > BACK_M
        back &= np.abs(own["body_y_m"]) > BACK_M
        turn = np.where(waits["side"] == STUDIED, -1.0, 1.0)
        self.place_m = (turn * waits["receiver_x_m"])[back]
        self.opponent_m = (turn * before["body_x_m"])[back]
        self.own_m = (turn * own["body_x_m"])[back]
        along = waits["receiver_y_m"] - own["body_y_m"]
        self.way_m = length_of(self.place_m - self.own_m, along[back])
        self.time_s = (waits["strike_time_s"] - before["strike_time_s"])[back]
        self.rallies = waits["replicate"][back]

    def coefficient(self, of: str) -> Estimate:
        """Of the sideways place on the opponent's place and the own last contact (or everywhere,
        the intercept)."""
        columns = (np.ones(len(self.place_m)), self.opponent_m, self.own_m)
        return coefficient(REGRESSORS.index(of), columns, self.place_m, self.rallies)

    def straight_way_m(self, share: float) -> Estimate:
        """Quantile of the straight way from the own contact to the place."""
        return quantile_of(self.way_m, self.rallies, share)

    def mean_speed_m_s(self, share: float) -> Estimate:
        """Quantile of that way over the time between the two strikes."""
        return quantile_of(self.way_m / self.time_s, self.rallies, share)

    def between_strikes_s(self, share: float) -> Estimate:
        """Quantile of that time."""
        return quantile_of(self.time_s, self.rallies, share)
