"""The last two strokes of points, as the record has them: what each of its figures is read off.

Counted as in `validation.last_strokes`. Besides: the hitter strikes the last but one ball, the
receiver strikes or errs with the last. Places are of bodies, from the net and from the centre line;
where a side matters, the hitter's is the positive one. Metres, seconds.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from experiments.evidence.validation.estimates import Estimate
from experiments.evidence.validation.last_strokes import DRAG_PER_M, LastStrokes, impact_time_s
from experiments.evidence.validation.regression import coefficient, spread
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.over_arrays import expm1_of, length_of
from sim.records import ENDINGS, FORCED_ERROR, IN, NET, OUTCOMES, UNFORCED_ERROR, WINNER

BACK_M = 10.5  # from the net; both players behind it are back
MIDDLE_M = HALF_WIDTH_M / 3.0  # half of the middle third of the singles court


class LastPairs:
    """Values of the last pairs in STROKE records sorted by rally and stroke, one a point.

    A method gives an array of values, of conditions, or one estimate; `stroke` leaves out points
    that were over before that stroke, `back` those in which one of the two was not back.
    """

    def __init__(self, strokes: np.ndarray) -> None:
        last = LastStrokes(strokes)
        self.number, self.ending, self.touched = last.number, last.ending, last.touched
        self.final, self.before = last.final, last.before
        body_x, body_y = last.earlier["body_x_m"], last.earlier["body_y_m"]
        self.own = np.where(body_x < 0, -1.0, 1.0)  # turns the hitter's side to the positive one
        self.hitter_at, self.receiver_at = self.own * body_x, self.own * self.before["receiver_x_m"]
        self.hitter_from_net = np.abs(body_y)
        self.receiver_from_net = np.abs(self.before["receiver_y_m"])
        self.back = (self.hitter_from_net > BACK_M) & (self.receiver_from_net > BACK_M)

    # How points end.

    def label(self, ending: str) -> np.ndarray:
        """Points that ended so, of all."""
        return self._ended(ending)

    def hazard(self, ending: str, first: int, last: int) -> np.ndarray:
        """Strokes of these numbers that ended the point so, of those that were reached."""
        reached = np.clip(self.number - first + 1, 0, last - first + 1).sum()
        ended = (self._ended(ending) & self._numbered(first, last)).sum()
        return np.arange(reached) < ended

    def length(self, first: int, last: int) -> np.ndarray:
        """Points of so many strokes, of all."""
        return self._numbered(first, last)

    def strokes(self) -> np.ndarray:
        """Strokes of each point."""
        return self.number

    def error(self, where: str) -> np.ndarray:
        """Errors that went there, of all whose ball was struck."""
        return self._errors() == OUTCOMES.index(where)

    def miss_m(self, where: str) -> np.ndarray:
        """How far errors were long, or wide."""
        past, aside = self._past_lines_m()
        beside = self._errors() == OUTCOMES.index(where)
        return (past if where == "long" else aside)[beside]

    def _ended(self, ending: str) -> np.ndarray:
        return np.asarray(self.ending == ENDINGS.index(ending))

    def _numbered(self, first: int, last: int) -> np.ndarray:
        return (self.number >= first) & (self.number <= last)

    def _struck_errors(self) -> np.ndarray:
        return self.final[~self.touched & np.isin(self.ending, (FORCED_ERROR, UNFORCED_ERROR))]

    def _past_lines_m(self) -> tuple[np.ndarray, np.ndarray]:
        ball = self._struck_errors()
        past = np.abs(ball["landing_y_m"]) - HALF_LENGTH_M
        return past, np.abs(ball["landing_x_m"]) - HALF_WIDTH_M

    def _errors(self) -> np.ndarray:
        """Net, long (the wide ones too) or wide: numbers of sim.records.OUTCOMES."""
        past, _ = self._past_lines_m()
        outcome = self._struck_errors()["outcome"]
        out = np.where(past > 0, OUTCOMES.index("long"), OUTCOMES.index("wide"))
        return np.where(outcome == NET, NET, out)

    # Where the two are when the last but one ball is struck.

    def receiver_x_m(self, stroke: int, back: bool = False) -> np.ndarray:
        """Receiver's distance from the centre line."""
        return np.abs(self.receiver_at)[self._late(stroke, back)]

    def receiver_y_m(self, stroke: int, back: bool = False) -> np.ndarray:
        """Receiver's distance from the net."""
        return self.receiver_from_net[self._late(stroke, back)]

    def hitter_x_m(self, stroke: int, back: bool = False) -> np.ndarray:
        """Hitter's distance from the centre line."""
        return self.hitter_at[self._late(stroke, back)]

    def hitter_y_m(self, stroke: int, back: bool = False) -> np.ndarray:
        """Hitter's distance from the net."""
        return self.hitter_from_net[self._late(stroke, back)]

    def _late(self, stroke: int, back: bool = False) -> np.ndarray:
        late = self.number >= stroke
        return late & self.back if back else late

    def receiver_by_hitter_m(self, low_m: float, high_m: float) -> np.ndarray:
        """Receiver's place where the hitter's is in that range."""
        x_h, x_r = self._places()
        return x_r[(x_h >= low_m) & (x_h < high_m)]

    def on_other_side(self) -> np.ndarray:
        """Receivers on the other side than the hitter."""
        return self._places()[1] < 0

    def slope_through_0(self) -> Estimate:
        """Of the receiver's place on the hitter's."""
        x_h, x_r = self._places()
        return coefficient(0, (x_h,), x_r, np.arange(len(x_h)))

    def slope(self) -> Estimate:
        """The same, of a line with an intercept."""
        return self._line(1)

    def intercept_m(self) -> Estimate:
        """Receiver's place on that line where the hitter is on the centre line."""
        return self._line(0)

    def spread_m(self) -> Estimate:
        """Standard deviation of receivers' places about that line."""
        x_h, x_r = self._places()
        return spread((np.ones(len(x_h)), x_h), x_r)

    def _line(self, which: int) -> Estimate:
        x_h, x_r = self._places()
        return coefficient(which, (np.ones(len(x_h)), x_h), x_r, np.arange(len(x_h)))

    def _places(self) -> tuple[np.ndarray, np.ndarray]:
        late = self._late(5, back=True)
        return self.hitter_at[late], self.receiver_at[late]

    # The receiver's way from there to the last stroke.

    def way_m(self, stroke: int) -> np.ndarray:
        """In a straight line."""
        return np.asarray(length_of(*self._ways()))[self._late(stroke)]

    def way_sideways_m(self, stroke: int) -> np.ndarray:
        """Along the baseline only."""
        return np.abs(self._ways()[0])[self._late(stroke)]

    def _ways(self) -> tuple[np.ndarray, np.ndarray]:
        b = self.before
        return b["body_x_m"] - b["receiver_x_m"], b["body_y_m"] - b["receiver_y_m"]

    # The last but one ball.

    def speed_m_s(self, stroke: int) -> np.ndarray:
        """Its speed off the racket."""
        return self.before["speed_m_s"][self._late(stroke)]

    def net_clearance_m(self, stroke: int) -> np.ndarray:
        """From the net to its underside."""
        return self.before["net_clearance_m"][self._late(stroke)]

    def inside_baseline_m(self, stroke: int) -> np.ndarray:
        """From its bounce, or where it would have bounced, to the baseline."""
        return (HALF_LENGTH_M - np.abs(self.before["landing_y_m"]))[self._late(stroke)]

    def inside_sideline_m(self, stroke: int) -> np.ndarray:
        """The same to the nearer sideline."""
        return (HALF_WIDTH_M - np.abs(self.before["landing_x_m"]))[self._late(stroke)]

    def time_to_net_s(self, stroke: int) -> np.ndarray:
        """From the strike to the net, from the time to the bounce with the record's drag: a record
        of a stroke has no time to the net."""
        b = self.before[self._late(stroke)]
        across_m, along_m = (b[f"landing_{a}_m"] - b[f"hitter_{a}_m"] for a in "xy")
        flown = length_of(across_m, along_m)
        to_net = flown * np.abs(b["hitter_y_m"]) / np.abs(along_m)
        return b["landing_time_s"] * expm1_of(DRAG_PER_M * to_net) / expm1_of(DRAG_PER_M * flown)

    def time_to_impact_s(self, stroke: int, back: bool = False) -> np.ndarray:
        """From the strike to the last one, as the record works it out."""
        return impact_time_s(self.before[self._late(stroke, back)])

    def direction(self, third: str, low_m: float, high_m: float) -> np.ndarray:
        """Balls that bounce in that third of the court, of those struck from so far off centre.

        Balls met before they bounce are left out.
        """
        b = self.before
        bounced = ~(b["meeting_time_s"] < b["landing_time_s"])
        here = self._late(4) & bounced & (self.hitter_at >= low_m) & (self.hitter_at < high_m)
        x = (self.own * b["landing_x_m"])[here]
        thirds: dict[str, Callable[[], np.ndarray]] = {
            "other side": lambda: x < -MIDDLE_M,
            "middle": lambda: np.abs(x) <= MIDDLE_M,
            "own side": lambda: x > MIDDLE_M,
        }
        return thirds[third]()

    # The last stroke.

    def ended_speed_m_s(self, ending: str) -> np.ndarray:
        """Speed of last strokes that ended the point so, where there was a ball."""
        return self.final["speed_m_s"][self._ended(ending) & ~self.touched]

    def winners_sideline_m(self) -> np.ndarray:
        """From where winners land to the nearer sideline."""
        return (HALF_WIDTH_M - np.abs(self.final["landing_x_m"]))[self._winners()]

    def winners_struck_from_m(self) -> np.ndarray:
        """From where winners are struck to the net."""
        return np.abs(self.before["body_y_m"])[self._winners()]

    def _winners(self) -> np.ndarray:
        return (self.ending == WINNER) & (self.final["outcome"] == IN)
