"""What a chart says, in words and as numbers, and whether it can be as it stands.

A chart made from the wrong side, or with left and right swapped, is well formed and gives the
opposite advice. Nothing is refused here: habits differ, so the person who charted is asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from experiments.answers.chart.answer import ChartAdvice
from experiments.answers.spot.words import best_json, spot_json, spot_text
from experiments.scene.sides import side
from experiments.statistics.estimates import binomial_share
from sim.belief import CROSSCOURT, DIRECTIONS, DOWN_THE_LINE, SHORT_ANGLE, Belief
from strategies.charts.columns import FROM_THE_GROUND, NET
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
        for s in chart.directed
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


def check_text(chart: Chart) -> str:
    """What a chart without problems holds, so that nothing is left out unsaid."""
    n = len(chart.strokes)
    outcomes = Counter(s.outcome for s in chart.strokes)
    said = ", ".join(f"{count} {word}" for word, count in sorted(outcomes.items()))
    lines = [
        f"{chart.name}: {_strokes(n)} of a {chart.hand}-handed opponent, no problems.",
        f"Outcomes: {said}.",
    ]
    if outcomes[NET]:
        lines.append("A ball in the net has no bounce: it tells nothing of the direction.")
    lines += kinds_lines(chart)
    for what, name in (("speed", "speed_m_s"), ("topspin", "topspin_rpm"), ("wing", "wing")):
        known = sum(getattr(s, name) not in (None, "") for s in chart.strokes)
        lines.append(f"With {what}: {known} of {n}.")
    known = sum(None not in (s.receiver_x_m, s.receiver_y_m) for s in chart.strokes)
    lines.append(f"With your own place: {known} of {n}.")
    lines += [f"{corner.text[0].upper()}{corner.text[1:]}." for corner in corners(chart)]
    if chart.empty_rows:
        lines.append(f"Rows with nothing in them: {chart.empty_rows}.")
    lines += [f"Question: {text}" for text in questions(chart)]
    return "\n".join(lines)


def kinds_lines(chart: Chart) -> Iterator[str]:
    """The shares of the kinds of stroke, and which do not count for the directions."""
    known = sum(chart.kinds.values())
    if not known:
        return
    shares = ", ".join(f"{kind} {100 * n / known:.0f}" for kind, n in chart.kinds.items())
    yield f"Kinds in 100 of the {_strokes(known)} that name one: {shares}."
    aside = [s.kind for s in chart.strokes if s.kind not in ("", *FROM_THE_GROUND)]
    if aside:
        which = ", ".join(dict.fromkeys(aside))
        yield f"Aimed at something else, so not counted for the directions: {len(aside)} ({which})."


def _strokes(count: int) -> str:
    return f"{count} stroke{'' if count == 1 else 's'}"


def advice_text(advice: ChartAdvice) -> str:
    """The page for a coach: the spot, then what the chart does to it."""
    asked = [f"Question: {text}" for text in questions(advice.chart)]
    return "\n\n".join(
        [spot_text(advice.spot, every=True), "\n".join([*_chart_lines(advice), *asked])]
    )


def _chart_lines(a: ChartAdvice) -> Iterator[str]:
    low, high = a.interval_m
    strokes = _strokes(len(a.chart.strokes))
    yield (
        f"The chart has {strokes}; near this place they count as {a.near:.1f}."
        f" The advice leans {100 * a.lean:.0f} % on the usual habit."
    )
    yield from kinds_lines(a.chart)
    shares = ", ".join(
        f"{name} {100 * s:.0f} (usual {100 * h:.0f})"
        for name, s, h in zip(DIRECTIONS, a.shares, a.habit_shares, strict=True)
    )
    yield f"Balls in 100: {shares}."
    alone = "" if a.chart_best is None else f", for the chart alone {side(a.chart_best.x_m)}"
    yield (
        f"Best place by this chart {side(a.spot.best.x_m)}; for the usual habit alone"
        f" {side(a.habit_best.x_m)}{alone}."
    )
    yield (
        f"Another chart of as many strokes would have moved it: of {len(a.resampled_x_m)} resamples"
        f" 95 in 100 lie from {side(low)} to {side(high)}."
    )
    low, high = a.believed_interval_m
    yield (
        "The part that leans on the habit does not move with the chart. With that in doubt as well,"
        f" the best place lies from {side(low)} to {side(high)} (95 %)."
    )


def advice_json(advice: ChartAdvice) -> dict[str, Any]:
    """All numbers of an advice."""
    alone = advice.chart_best
    return {
        **spot_json(advice.spot),
        "chart": {
            "questions": list(questions(advice.chart)),
            **({"kinds": kinds} if (kinds := advice.chart.kinds) else {}),
            "strokes_near": advice.near,
            "weight_of_habit": advice.lean,
            "shares": dict(zip(DIRECTIONS, advice.shares, strict=True)),
            "habit_shares": dict(zip(DIRECTIONS, advice.habit_shares, strict=True)),
            "best_for_habit": best_json(advice.habit_best),
            "best_for_chart_alone": None if alone is None else best_json(alone),
            "resampled_best_x_m": _spread(advice.resampled_x_m, advice.interval_m),
            "believed_best_x_m": _spread(advice.believed_x_m, advice.believed_interval_m),
        },
    }


def _spread(found: np.ndarray, interval: tuple[float, float]) -> dict[str, Any]:
    low, high = interval
    return {"low": low, "median": np.median(found), "high": high, "draws": len(found)}
