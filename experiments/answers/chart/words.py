"""What a chart says, in words and as numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import numpy as np

from experiments.answers.chart.answer import ChartAdvice
from experiments.answers.chart.plausible import corners, questions
from experiments.answers.spot.words import best_json, spot_json, spot_text
from experiments.scene.sides import side
from sim.belief import DIRECTIONS
from strategies.charts.columns import NET
from strategies.charts.reading import Chart


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


def _strokes(count: int) -> str:
    return f"{count} stroke{'' if count == 1 else 's'}"


def advice_text(advice: ChartAdvice) -> str:
    """The page for a coach: the spot, then what the chart does to it."""
    asked = [f"Question: {text}" for text in questions(advice.chart)]
    return "\n\n".join([spot_text(advice.spot), "\n".join([*_chart_lines(advice), *asked])])


def _chart_lines(a: ChartAdvice) -> Iterator[str]:
    low, high = a.interval_m
    strokes = _strokes(len(a.chart.strokes))
    yield (
        f"The chart has {strokes}; near this place they count as {a.near:.1f}."
        f" The advice leans {100 * a.lean:.0f} % on the usual habit."
    )
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
