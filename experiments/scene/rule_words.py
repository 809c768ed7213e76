"""A short rule of weights as one sentence that a coach can say."""

from __future__ import annotations

from collections.abc import Mapping


def rule_sentence(weights: Mapping[str, float]) -> str:
    """The rule of the weights `opponent`, `back` and `back_weak` (those not named are 0)."""
    away, back, weak = (weights.get(name, 0.0) for name in ("opponent", "back", "back_weak"))
    parts = ["recover to the middle"]
    if away:
        other = "to the other side" if away > 0 else "to your opponent's side"
        parts = [
            f"for each metre that your opponent is off the middle, recover {abs(100 * away):.0f} cm"
            f" {other}"
        ]
    if back:
        parts.append(f"wait {abs(back):g} m {'farther back' if back > 0 else 'nearer'} than usual")
    if weak:
        way = "come in" if weak < 0 else "go back"
        parts.append(f"{way} when your opponent is stretched, by up to {abs(weak):g} m")
    return "; ".join(parts)
