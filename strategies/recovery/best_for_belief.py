"""The best place for what is believed of the hitter."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.belief import Belief
from sim.contracts import Situation
from strategies.naming import described
from strategies.recovery.place_losses import Weighing, expected, places_for
from strategies.recovery.standing import standing
from strategies.shots.charted import Charted

NO_CHART = ""


@dataclass(frozen=True)
class BestForBelief:
    """Stand where the balls that the hitter is believed to play cost least.

    For every contact place the believed shares weigh the usual balls of each direction, with the
    hitter's error; the place that costs the fewest points is taken, the middle of the range where
    it hardly matters. Balls that are got back late cost points, too, so it goes farther toward the
    likely ball than the place that reaches most. Worked out on a grid of contact places 1 m high
    (`place_losses`).

    Source: expected loss, the textbook answer to a known mix. Parameter: `chart`, a CSV file or the
    word demo, in place of what the player believes anyway.
    It should lose to a hitter who does something else than is believed, most to one who sees it.

    Raises:
        InputError: a chart with problems, all of them listed.
    """

    chart: str = dataclasses.field(
        default=NO_CHART, metadata={"allowed": "a CSV file or demo; the player's belief without"}
    )
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        _ = self.charted  # problems are told now

    @property
    def name(self) -> str:
        return described("best-for-belief", self)

    @cached_property
    def charted(self) -> Charted | None:
        return None if self.chart == NO_CHART else Charted(chart=self.chart)

    def belief(self, seen: Situation) -> Belief:
        """What the policy believes of the opponent."""
        return seen.belief if self.charted is None else self.charted.belief_about(seen.opponent)

    @property
    def weighing(self) -> Weighing:
        """What the policy wants small."""
        return expected

    def spots(self, seen: Situation) -> np.ndarray:
        return standing(seen, places_for(seen, self.weighing, self.belief(seen)))
