"""The best place for what is believed of the hitter."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from sim.belief import Belief, SeenBelief
from sim.contracts import Situation
from strategies.aim import AimedShots
from strategies.charts.belief import fit_of
from strategies.charts.reading import Chart, read_chart
from strategies.naming import described
from strategies.packed import Packed, PackedSpots
from strategies.recovery.place_losses import packed_for

NO_CHART = ""


@dataclass(frozen=True)
class BestForBelief(PackedSpots):
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
        _ = self.strokes  # problems are told now

    @property
    def name(self) -> str:
        return described("best-for-belief", self)

    @cached_property
    def strokes(self) -> Chart | None:
        """The chart, read and checked; kept, so that a copy in another process needs no file."""
        return None if self.chart == NO_CHART else read_chart(self.chart)

    def belief(self, seen: Situation) -> Belief:
        """What the policy believes of the opponent."""
        if self.strokes is None:
            return seen.belief
        return fit_of(self.strokes, seen.opponent, SeenBelief(), AimedShots()).belief_once

    @property
    def weighs_worst(self) -> float:
        """The weight of the best reply against the belief."""
        return 0.0

    def packed(self, seen: Situation) -> Packed:
        return packed_for(seen, self.weighs_worst, self.belief(seen))
