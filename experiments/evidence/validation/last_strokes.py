"""How points end: the last stroke, the way to it and the ball before it.

Counted as tracking of professional points counts: the serve is stroke 1; a ball that is touched and
does not come back is an error of the one who touched it, one stroke later; the last ball of a point
won by a winner is the winner itself. Places of strikes are of bodies.
"""

from __future__ import annotations

import numpy as np

from experiments.evidence.validation.estimates import (
    Estimate,
    median_of,
    percentage_of,
    quantile_of,
)
from experiments.evidence.validation.points import Points
from sim.court import HALF_WIDTH_M
from sim.over_arrays import exp_of, expm1_of, length_of
from sim.records import ENDINGS, FORCED_ERROR, UNRETURNED, WINNER

FIRST = 3  # points of fewer strokes are not in the record
DRAG_PER_M, KEPT_IN_BOUNCE = 0.0196, 0.70  # of the record's formula for the time to the impact


class LastStrokes:
    """Figures of the last strokes in STROKE records sorted by rally and stroke.

    `final` are the records of the last balls, `before` those of the last but one, `earlier` those
    before that, `number` the number of the last stroke and `ending` its label; of a ball that was
    `touched` and did not come back there is no record, and `final` is the last but one. `way_m` is
    what the player ran to the last.
    """

    def __init__(self, strokes: np.ndarray) -> None:
        points = Points(strokes)
        touched = points.final["ending"] == UNRETURNED
        number = points.final["stroke"] + 1 + touched
        long = number >= FIRST
        self.number, self.final, self.touched = number[long], points.final[long], touched[long]
        before = (points.last - 1)[long] + self.touched
        self.before, self.earlier = points.strokes[before], points.strokes[before - 1]
        self.ending = np.where(self.touched, FORCED_ERROR, self.final["ending"])
        self.way_m = self.before["chase_run_m"]
        self.rallies = self.final["replicate"]

    def winners_from_net_m(self, share: float) -> Estimate:
        """Quantile of the distance from the net at which winners are struck."""
        return self._of_winners(np.abs(self.before["body_y_m"]), share)

    def winners_speed_m_s(self, share: float) -> Estimate:
        """Quantile of the speed of winners."""
        return self._of_winners(self.final["speed_m_s"], share)

    def winners_inside_sideline_m(self, share: float) -> Estimate:
        """Quantile of the distance from the sideline at which winners land."""
        return self._of_winners(HALF_WIDTH_M - np.abs(self.final["landing_x_m"]), share)

    def _of_winners(self, values: np.ndarray, share: float) -> Estimate:
        won = self.ending == WINNER
        return quantile_of(values[won], self.rallies[won], share)

    def somebody_near_pct(self, from_net_m: float, stroke: int) -> Estimate:
        """Points with so many strokes in which hitter or receiver of the last but one ball was so
        near to the net when it was struck."""
        late = self.number >= stroke
        return percentage_of(~self._back(from_net_m)[late], self.rallies[late])

    def _back(self, from_net_m: float) -> np.ndarray:
        hitter, receiver = np.abs(self.earlier["body_y_m"]), np.abs(self.before["receiver_y_m"])
        return (hitter >= from_net_m) & (receiver >= from_net_m)

    def needed_above_pct(self, speed_m_s: float, stroke: int) -> Estimate:
        """Last strokes, of points with so many, whose way asked for more than that mean speed."""
        late = self.number >= stroke
        return percentage_of(self._needed_m_s()[late] > speed_m_s, self.rallies[late])

    def of_needed_above_pct(self, speed_m_s: float, stroke: int, *endings: str) -> Estimate:
        """Of these, those that ended in one of these ways (of sim.records.ENDINGS)."""
        fast = (self.number >= stroke) & (self._needed_m_s() > speed_m_s)
        return percentage_of(self._ended(*endings)[fast], self.rallies[fast])

    def _ended(self, *endings: str) -> np.ndarray:
        return np.isin(self.ending, [ENDINGS.index(name) for name in endings])

    def _needed_m_s(self) -> np.ndarray:
        return np.asarray(self.way_m / impact_time_s(self.before))

    def way_of_ending_m(self, ending: str, from_net_m: float, stroke: int) -> Estimate:
        """Median way to last strokes that ended so, both players behind `from_net_m`."""
        chosen = self._at_baseline(from_net_m, stroke) & self._ended(ending)
        return median_of(self.way_m[chosen], self.rallies[chosen])

    def far_of_ending_pct(
        self, ending: str, way_m: float, from_net_m: float, stroke: int
    ) -> Estimate:
        """Share of them with a way above `way_m`."""
        chosen = self._at_baseline(from_net_m, stroke) & self._ended(ending)
        return percentage_of(self.way_m[chosen] > way_m, self.rallies[chosen])

    def _at_baseline(self, from_net_m: float, stroke: int) -> np.ndarray:
        return (self.number >= stroke) & self._back(from_net_m)


def impact_time_s(strokes: np.ndarray) -> np.ndarray:
    """From the strike to the impact, worked out from the time to the bounce as the record does it
    from the time to the net: quadratic drag, and a fixed share of speed kept in the bounce."""
    flown, rolled = (
        length_of(
            strokes[f"{to}_x_m"] - strokes[f"{at}_x_m"], strokes[f"{to}_y_m"] - strokes[f"{at}_y_m"]
        )
        for at, to in (("hitter", "landing"), ("landing", "meeting"))
    )
    first = expm1_of(DRAG_PER_M * flown) / (DRAG_PER_M * strokes["landing_time_s"])
    kept = KEPT_IN_BOUNCE * first * exp_of(-DRAG_PER_M * flown)
    after = expm1_of(DRAG_PER_M * rolled) / (DRAG_PER_M * kept)
    volleyed = strokes["meeting_time_s"] < strokes["landing_time_s"]
    return np.where(volleyed, strokes["meeting_time_s"], strokes["landing_time_s"] + after)
