"""What `rally-recovery headroom` says: what is got, what cannot be exceeded, and why."""

from __future__ import annotations

from typing import Any

from experiments.evidence.headroom.answer import Effort
from experiments.evidence.headroom.gain import Headroom, Z


def headroom_text(
    found: Headroom, policy: str, level: str, hitter: str, effort: Effort, seed: int
) -> str:
    """The whole answer."""
    high = found.value + Z * found.value_se
    opening = found.opening
    lines = [
        f"{policy} wins {found.value:.1f} of 100 whole points ({found.low:.1f} to {high:.1f};"
        f" {level}, against {hitter}, half with the own serve).",
        f"No way of recovering wins more than {found.upper:.1f}, as far as its states are like"
        " those looked at:",
        f"there is room for {found.least_room(found.widest):.1f} to {found.room(found.widest):.1f}"
        " points more. Of that,",
    ]
    for name, gain in found.gains.items():
        each = f"{100 * gain.least:.2f} to {100 * gain.most:.2f} (error {100 * gain.se:.2f})"
        lines.append(
            f"  at states that {name} comes to: {each} at each of {found.decisions[name]:.2f}"
            " decisions in a point"
        )
    if opening is not None:
        lines.append(f"  waiting nearer or farther back for the serve: {100 * opening.most:.2f}")
    lines += [
        "",
        "The first number of each pair rather errs downward, the second upward. The bound is a sum"
        " over decisions",
        "(performance difference lemma); it holds for any policy whose decisions come in places"
        " like these.",
        f"A model's result; {effort.points} points, {effort.states} decisions, {effort.shots} shots"
        f" at each; seed {seed}.",
    ]
    return "\n".join(lines)


def headroom_json(found: Headroom, policy: str, effort: Effort, seed: int) -> dict[str, Any]:
    """The same as numbers."""
    return {
        "policy": policy,
        "points_per_100": found.value,
        "low": found.low,
        "high": found.value + Z * found.value_se,
        "upper": found.upper,
        "room_low": found.least_room(found.widest),
        "room_high": found.room(found.widest),
        "at_states_of": {
            name: {
                "least": 100.0 * gain.least,
                "most": 100.0 * gain.most,
                "error": 100.0 * gain.se,
                "decisions": found.decisions[name],
            }
            for name, gain in found.gains.items()
        },
        "serve": 100.0 * found.opening.most if found.opening else None,
        **vars(effort),
        "seed": seed,
    }
