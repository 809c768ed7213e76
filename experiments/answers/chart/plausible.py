"""Whether a chart can be as it stands: what it says beside what the usual habit says.

A chart made from the wrong side, or with left and right swapped, is well formed and gives the
opposite advice. Nothing is refused here: habits differ, so the person who charted is asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from experiments.statistics.estimates import binomial_share
from sim.belief import CROSSCOURT, DOWN_THE_LINE, SHORT_ANGLE, Belief
from strategies.charts.reading import Chart, Stroke

WIDE_M = 1.5  # contacts so far from the centre are from a corner; bounces within 1 m go to neither
OFF_CENTRE_M = 1.0
LEVEL = 0.99  # a chart of usual habits is asked about in one corner of a hundred
FEWEST = 8


@dataclass(frozen=True)
class Corner:
    """Strokes from one corner that went to one side: how many, crosscourt, and usually crosscourt.

    `usual` is how many of them a hitter of the usual habit plays crosscourt.
    """

    name: str
    strokes: int
    crosscourt: int
    usual: float

    @property
    def is_unusual(self) -> bool:
        """Whether the usual share lies outside what so many strokes allow."""
        if self.strokes < FEWEST:
            return False
        found = binomial_share(self.crosscourt / self.strokes, self.strokes, LEVEL)
        return not found.low <= self.usual / self.strokes <= found.high

    @property
    def text(self) -> str:
        """What the chart says of the corner."""
        return (
            f"{self.crosscourt} of {self.strokes} from the {self.name} corner go crosscourt"
            f" (usual: {self.usual:.0f})"
        )


def corners(chart: Chart) -> list[Corner]:
    """Both corners of the opponent, those with strokes in them."""
    forehand = -1.0 if chart.hand == "right" else 1.0  # the sign of x as the receiver sees it
    sides = (("forehand", forehand), ("backhand", -forehand))
    return [c for name, sign in sides if (c := _corner(chart, name, sign)) is not None]


def _corner(chart: Chart, name: str, sign: float) -> Corner | None:
    went = [
        s
        for s in chart.strokes
        if sign * s.contact_x_m >= WIDE_M
        and s.bounce_x_m is not None
        and abs(s.bounce_x_m) >= OFF_CENTRE_M
    ]
    if not went:
        return None
    shares = Belief().shares(np.array([s.contact_x_m for s in went]))
    across = shares[:, CROSSCOURT] + shares[:, SHORT_ANGLE]
    usual = float((across / (across + shares[:, DOWN_THE_LINE])).sum())
    return Corner(name, len(went), sum(sign * float(s.bounce_x_m or 0) < 0 for s in went), usual)


def on_the_other_wing(chart: Chart) -> tuple[int, int]:
    """Wide strokes with a wing, and those of them on the wing that the other corner has."""
    forehand = -1.0 if chart.hand == "right" else 1.0
    known = [s for s in chart.strokes if s.wing and abs(s.contact_x_m) >= WIDE_M]

    def is_other(s: Stroke) -> bool:
        return (s.wing == "forehand") != (forehand * s.contact_x_m > 0)

    return len(known), sum(map(is_other, known))


def questions(chart: Chart) -> Iterator[str]:
    """What to ask the person who charted; nothing if all is as usual."""
    known, other = on_the_other_wing(chart)
    if known >= FEWEST and 2 * other > known:
        yield (
            f"{other} of {known} strokes from the corners are on the other wing than a"
            f" {chart.hand}-handed player has there; is that so? If the chart was made from the"
            " opponent's side, change the sign of every x; else check the column hand."
        )
    for corner in corners(chart):
        if corner.is_unusual:
            yield (
                f"{corner.text}; is that so? If left and right are swapped, change the sign of"
                " bounce_x."
            )
