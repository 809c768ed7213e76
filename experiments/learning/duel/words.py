"""What `rally-recovery duel` says: the table, worst cases, mixes, what disguise is worth."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from experiments.learning.duel.answer import ANSWER, HITTER_STEPS, STILL, Duel
from sim.contracts import ShotModel
from strategies.recovery.learned import Weighted

SHOWN = 0.005  # a smaller share of a mix is not told


def duel_text(found: Duel) -> str:
    """The whole answer."""
    goal = found.plan.goal
    return "\n\n".join(
        [
            f"Recovery against shots, {goal.level}, {goal.surface} court: points won in 100 whole"
            " points, half of\nthem with the own serve, by where one recovers to (rows) and what"
            " the opponent hits (columns).",
            _table(found),
            _steps(found),
            _mixes(found),
            _disguise(found),
            "A model's result. Each number has a chance error of about"
            f" {50.0 / np.sqrt(found.plan.points):.1f} in 100; all rows met the same points.",
        ]
    )


def _table(found: Duel) -> str:
    heads = [f"{k}" for k in range(1, len(found.hitters) + 1)]
    lines = [" " * 34 + "".join(f"{h:>7}" for h in heads) + "   worst"]
    order = sorted(found.worst, key=lambda name: -found.worst[name][0])
    rows = dict(zip(found.policies, found.won, strict=True))
    for name in order:
        cells = "".join(f"{v:7.1f}" for v in rows[name])
        lines.append(f"{name:<34}{cells}{found.worst[name][0]:8.1f}")
    hitters = [f"{k} {name}" for k, name in enumerate(found.hitters, 1)]
    return "\n".join([*lines, "columns: " + ", ".join(hitters)])


def _steps(found: Duel) -> str:
    lines = [
        f"  after {k} {'answer' if k == 1 else 'answers'} of each side: value {s.value:.1f}; the"
        f" learner of places gains {s.recovery_gain:+.1f}, that of shots {s.shots_gain:+.1f}"
        for k, s in enumerate(found.steps)
    ]
    end = (
        f"Neither gains more than {STILL:g} in 100 any more: the value stands."
        if found.is_still
        else f"A learner still gained more than {STILL:g} in 100: the value may move further."
    )
    return "\n".join(["Each learner against the other's mix:", *lines, end])


def _mixes(found: Duel) -> str:
    places = _mix(dict(zip(found.policies, found.recovery_mix, strict=True)))
    shots = _mix(dict(zip(found.hitters, found.shots_mix, strict=True)))
    lines = [
        f"The value is {found.value:.1f} points in 100, with places mixed as {places},",
        f"and hitters as {shots}.",
    ]
    for name, hitter in found.hitters.items():
        if name.startswith(ANSWER):
            lines.append(f"  hitter {name}: {_learned(hitter)}")
    return "\n".join(lines)


def _mix(shares: dict[str, float]) -> str:
    used = sorted(((s, n) for n, s in shares.items() if s > SHOWN), reverse=True)
    return ", ".join(f"{name} {100 * share:.0f} %" for share, name in used)


def _learned(hitter: ShotModel) -> str:
    return ", ".join(f"{name} {getattr(hitter, name):.2f}" for name in HITTER_STEPS)


def _disguise(found: Duel) -> str:
    return (
        f"Disguise: a player who knew which of the mixed hitters is met could win {found.known:.1f}"
        f" with the places of this table, {found.known - found.value:.1f} more."
    )


def duel_table(found: Duel) -> pd.DataFrame:
    """A row a pair."""
    rows = [
        {"policy": policy, "hitter": hitter, "points_per_100": float(found.won[i, j])}
        for i, policy in enumerate(found.policies)
        for j, hitter in enumerate(found.hitters)
    ]
    return pd.DataFrame(rows)


def duel_json(found: Duel) -> dict[str, Any]:
    """The same as numbers."""
    return {
        "value_per_100": found.value,
        "known_per_100": found.known,
        "still": found.is_still,
        "steps": [vars(step) for step in found.steps],
        "recovery_mix": dict(zip(found.policies, map(float, found.recovery_mix), strict=True)),
        "shots_mix": dict(zip(found.hitters, map(float, found.shots_mix), strict=True)),
        "worst": {name: {"points": v, "hitter": h} for name, (v, h) in found.worst.items()},
        "learned": {
            name: dict(policy.weights)
            for name, policy in found.policies.items()
            if isinstance(policy, Weighted)
        },
        "hitters": {
            hitter: {name: getattr(model, name) for name in HITTER_STEPS}
            for hitter, model in found.hitters.items()
            if hitter.startswith(ANSWER)
        },
        "points": found.plan.points,
        "seed": found.plan.seed,
    }
