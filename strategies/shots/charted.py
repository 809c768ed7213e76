"""A hitter who plays like a chart."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from sim.belief import SeenBelief
from sim.contracts import ShotSituation
from sim.parameter import parameter
from sim.players import Player
from strategies.charts.belief import Fit, fit_of
from strategies.charts.reading import DEMO, Chart, read_chart
from strategies.directions import hand_of
from strategies.naming import described
from strategies.shots.choosing import set_paces
from strategies.shots.habit import Habit, to_the_middle


@dataclass(frozen=True)
class Charted(Habit):
    """Plays like the strokes in a chart where there are some near, and by habit elsewhere.

    The shares of the directions are those of a SeenBelief: the chart's strokes near the contact,
    leaning on the habit (`belief`, the prior) where they are few; where the chart has speeds or
    topspins, these follow it likewise. A stroke of the chart counts for what it was probably meant
    for (strategies.charts.belief), and this hitter's error is added when it is played. A hitter of
    the other hand plays the chart's mirror image. What the backhand does differently is in the
    chart already. Blind to the receiver.

    Source: this project's. Parameters: `chart`, a CSV file or the word `demo`; `prior_strokes`,
    `width_m` and `depth_m` of sim.belief.SeenBelief; those of Habit.
    It should lose to a receiver who has seen the same strokes.

    Raises:
        InputError: a parameter out of range, or a chart with problems, all of them listed.
    """

    chart: str = dataclasses.field(default=DEMO, metadata={"allowed": f"a CSV file or {DEMO}"})
    backhand_crosscourt_gain: float = parameter(
        0.0, "1", "share moved from down the line to crosscourt on the backhand", low=0.0, high=0.2
    )
    backhand_middle_gain: float = to_the_middle(0.0)
    prior_strokes: float = parameter(
        8.0, "strokes", "what the habit counts for against strokes seen", low=2.0, high=30.0
    )
    width_m: float = parameter(
        1.5, "m", "kernel width of contact places, across", low=0.75, high=3.0
    )
    depth_m: float = parameter(3.0, "m", "kernel width of contact places, along", low=1.0, high=6.0)

    def __post_init__(self) -> None:
        super().__post_init__()
        _ = self.strokes, self.blank  # problems are told now and not in the middle of a rally

    @property
    def name(self) -> str:
        return described("charted", self)

    @cached_property
    def strokes(self) -> Chart:
        """The chart, read and checked; kept, so that a copy in another process needs no file."""
        return read_chart(self.chart)

    @cached_property
    def blank(self) -> SeenBelief:
        """The belief before any stroke was seen."""
        prior = self.belief
        return SeenBelief(
            prior.from_middle,
            prior.from_corner,
            prior_strokes=self.prior_strokes,
            width_m=self.width_m,
            depth_m=self.depth_m,
        )

    def fit(self, hitter: Player) -> Fit:
        """What the belief about that hitter is made of."""
        return fit_of(self.strokes, hitter, self.blank, self)

    def belief_about(self, hitter: Player) -> SeenBelief:
        """What the chart says of that hitter."""
        return self.fit(hitter).belief_once

    def habits(self) -> dict[str, Any]:
        return {**super().habits(), "paced": 1}

    def shares_of(self, hitter: Player) -> tuple[np.ndarray, np.ndarray]:
        belief = self.belief_about(hitter)
        return belief.numbers, belief.seen_strokes

    def paced(self, seen: ShotSituation, intents: np.ndarray) -> np.ndarray:
        """INTENT records at the speeds and topspins that the chart shows there."""
        out = intents.copy()
        numbers, strokes = self.shares_of(seen.me)
        near = np.empty(len(strokes))
        set_paces(seen.contact, hand_of(seen.me), numbers, strokes, near, out)
        return out
