"""A short rule of weights as one sentence that a coach can say."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from experiments.scene.sides import behind
from sim.contracts import bodies_at, contacts_at
from sim.court import HALF_LENGTH_M
from sim.envelope import EXTREME
from sim.records import FOREHAND
from strategies.recovery.learned import Weighted, stand_as_learned


def rule_sentence(weights: Mapping[str, float], depth_m: float) -> str:
    """The rule of the weights `opponent`, `back` and `back_weak` (those not named are 0), for who
    was trained from a waiting depth `depth_m` behind the baseline."""
    away, back, weak = (weights.get(name, 0.0) for name in ("opponent", "back", "back_weak"))
    parts = ["recover to the middle"]
    if away:
        other = "to the other side" if away > 0 else "to your opponent's side"
        parts = [
            f"for each metre that your opponent is off the middle, recover {abs(100 * away):.0f} cm"
            f" {other}"
        ]
    if back or weak:
        parts.append(f"wait {behind(depth_of(weights, depth_m, 1.0))}")
    if weak:
        way = "come in" if weak < 0 else "go back"
        stretched = behind(depth_of(weights, depth_m, 0.0))
        parts.append(f"{way} as your opponent is stretched, in full stretch to {stretched}")
    return "; ".join(parts)


def depth_of(weights: Mapping[str, float], depth_m: float, quality: float) -> float:
    """How far behind the baseline the rule waits against a contact of that quality (m)."""
    out, one = np.empty((1, 3)), np.ones(1)
    line = HALF_LENGTH_M + depth_m
    contact = contacts_at(0.0 * one, HALF_LENGTH_M * one, one, np.array([FOREHAND]), quality)
    body, extremes = bodies_at(0.0 * one, -line * one), np.zeros((1, 2), EXTREME)
    numbers = Weighted("rule", weights).numbers
    stand_as_learned(body, contact, np.inf * one, extremes, depth_m, 1.0, numbers, out)
    return float(-out[0, 1] - HALF_LENGTH_M)
