"""What `rally-recovery learn` says: the spot in words, and what it is worth on held out points."""

from __future__ import annotations

from typing import Any

from experiments.learning.training.answer import Judged, Outcome, numbers
from experiments.statistics.comparison import verdict
from experiments.statistics.estimates import Difference
from strategies.learned.reading import MEANING


def learned_text(outcome: Outcome, written: str) -> str:
    """The whole answer."""
    goal = outcome.plan.goal
    lines = [
        f"Learned: {outcome.title}, on a {goal.surface} court. The weights:",
        *(
            f"  {name:<18}{value:+8.2f} {MEANING[name].unit:<5} {MEANING[name].about}"
            for name, value in outcome.weights.items()
        ),
        "",
        f"Held out ({outcome.points} whole points against each hitter, half of them with the own"
        " serve),",
        "points in 100 more than recovering to the middle (95 %, all hitters together):",
        f"  {'against':<16}{'the middle':>10}  {'bisector':>9}  {_shade(outcome):>11}"
        f"  {'learned':<20} more than the shade",
        *(_row(row) for row in outcome.rows),
        "",
        f"Use it as learned,weights={written} wherever a policy is asked for. A model's result: it"
        " knows these",
        "hitters and no others. Try a new spot easy first, and stop on pain.",
    ]
    return "\n".join(lines)


def _shade(outcome: Outcome) -> str:
    return f"shade {outcome.shade.shade_m_per_m:g}"


def _row(row: Judged) -> str:
    bisector, shade = (100.0 * row.more[name].value for name in ("bisector", "shade"))
    return (
        f"  {row.hitter:<16}{row.middle:>10.1f}  {bisector:>+9.1f}  {shade:>+11.1f}"
        f"  {_said(row.more['learned']):<20} {_said(row.over_shade)}, {_verdict(row.over_shade)}"
    )


def _said(more: Difference) -> str:
    value, low, high = numbers(more)
    return f"{value:+.1f} ({low:+.1f} to {high:+.1f})"


def _verdict(more: Difference) -> str:
    _, low, high = numbers(more)
    return verdict(low, high)


def learned_json(outcome: Outcome) -> dict[str, Any]:
    """The same as numbers."""
    return {
        "title": outcome.title,
        "weights": outcome.weights,
        "best_shade_m_per_m": outcome.shade.shade_m_per_m,
        "points": outcome.points,
        "seed": outcome.plan.seed,
        "held_out": [
            {
                "hitter": row.hitter,
                "middle_points_per_100": row.middle,
                **{f"{name}_more_per_100": numbers(more) for name, more in row.more.items()},
                "more_than_shade_per_100": numbers(row.over_shade),
                "verdict": _verdict(row.over_shade),
            }
            for row in outcome.rows
        ],
    }
