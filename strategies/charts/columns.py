"""The columns of a chart: what they hold, in which units, and what is allowed in them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M
from sim.kinds import (
    APPROACH,
    BLOCK,
    DRIVE,
    DROP_SHOT,
    FIRST_SERVE,
    HALF_VOLLEY,
    HIGH_BALL,
    KINDS,
    OVERHEAD,
    PASSING_SHOT,
    SCOOP,
    SECOND_SERVE,
    SLICE,
)
from sim.people_files import decimal

FT, KM_H, MPH = 0.3048, 1 / 3.6, 0.44704
LENGTHS = {"m": 1.0, "ft": FT}
SPEEDS = {"m_s": 1.0, "km_h": KM_H, "mph": MPH}
SPINS = {"rpm": 1.0}
FAR_M = HALF_LENGTH_M + 8.0
SIDE_M = 10.0
FASTEST_M_S = 55.0  # of a stroke that is no serve: 198 km/h
IN, OUT, NET = "in", "out", "net"
# What people write for a kind of stroke.
ALIASES = {
    **dict.fromkeys(("groundstroke", "topspin", "flat"), KINDS[DRIVE]),
    **dict.fromkeys(("chip", "cut", "backspin", "underspin"), KINDS[SLICE]),
    **dict.fromkeys(("moonball", "moon ball", "high"), KINDS[HIGH_BALL]),
    **dict.fromkeys(("float", "blocked"), KINDS[BLOCK]),
    "scooped": KINDS[SCOOP],
    "halfvolley": KINDS[HALF_VOLLEY],
    **dict.fromkeys(("drop", "dropshot"), KINDS[DROP_SHOT]),
    "approach shot": KINDS[APPROACH],
    **dict.fromkeys(("pass", "passing"), KINDS[PASSING_SHOT]),
    **dict.fromkeys(("smash", "overhead smash"), KINDS[OVERHEAD]),
    **dict.fromkeys(("serve", "1st serve"), KINDS[FIRST_SERVE]),
    "2nd serve": KINDS[SECOND_SERVE],
}
# Kinds that tell whereto this hitter plays the ball to a player at the baseline. The others are
# aimed at something else: over or past a player at the net, short, into a service box, or away from
# where the ball is met in the air.
FROM_THE_GROUND = tuple(
    KINDS[k] for k in (DRIVE, SLICE, HIGH_BALL, BLOCK, SCOOP, HALF_VOLLEY, APPROACH)
)


@dataclass(frozen=True)
class Quantity:
    """A column of numbers: `units` by the ending of its header, `low` to `high` in the first."""

    name: str
    about: str
    units: dict[str, float]
    low: float
    high: float
    needed: bool = False

    @property
    def headers(self) -> tuple[str, ...]:
        return tuple(f"{self.name}_{unit}" for unit in self.units)

    def allowed(self, unit: str) -> str:
        """What is allowed, in that unit."""
        factor = self.units[unit]
        said = unit.replace("_", "/")
        return f"{self.low / factor:.4g} to {self.high / factor:.4g} {said}"

    def value(self, text: str, unit: str) -> float | None:
        """The number in the first unit, or None if it is none or out of range."""
        number = decimal(text, lambda n: self._is_inside(n * self.units[unit]))
        if number is None or not self._is_inside(number * self.units[unit]):
            return None
        return number * self.units[unit]

    def _is_inside(self, number: float) -> bool:
        slack = 1e-9 * abs(number)
        return math.isfinite(number) and self.low - slack <= number <= self.high + slack

    def refusal(self, text: str, unit: str) -> str:
        """Why `value` is None for that text, and what to do."""
        allowed = f"allowed: {self.allowed(unit)}"
        number = decimal(text, lambda _: False)
        if number is None:
            return allowed
        if self._is_inside(number * self.units[unit]):
            return f"{allowed}; is the comma a decimal one? write {number:g} or leave it out"
        others = [u for u, f in self.units.items() if self._is_inside(number * f)]
        if not others:
            return allowed
        meant = ", ".join(f"{self.name}_{u}" for u in others)
        return f"{allowed}; another unit? then name the column {meant}"


@dataclass(frozen=True)
class Words:
    """A column of words; `aliases` are other ways to write them."""

    name: str
    about: str
    words: tuple[str, ...]
    aliases: Mapping[str, str] = field(default_factory=dict)

    def word(self, text: str) -> str | None:
        """The word that a text means: capital letters, dashes and underscores do not matter."""
        plain = " ".join(text.casefold().replace("-", " ").replace("_", " ").split())
        word = self.aliases.get(plain, plain)
        return word if word in self.words else None


QUANTITIES = (
    Quantity(
        "contact_x",
        "where the opponent met the ball, from the centre mark, positive to your right",
        LENGTHS,
        -SIDE_M,
        SIDE_M,
        needed=True,
    ),
    Quantity(
        "contact_y",
        f"its distance beyond the net (the far baseline is at {HALF_LENGTH_M:g} m)",
        LENGTHS,
        0.5,
        FAR_M,
        needed=True,
    ),
    Quantity(
        "bounce_x",
        "where the ball bounced, from the centre, positive to your right; empty for the net",
        LENGTHS,
        -SIDE_M,
        SIDE_M,
        needed=True,
    ),
    Quantity(
        "bounce_y",
        f"negative on your side (your baseline is at {-HALF_LENGTH_M:g} m); empty for the net",
        LENGTHS,
        -FAR_M,
        0.0,
        needed=True,
    ),
    Quantity("speed", "speed off the strings, if measured", SPEEDS, 5.0, FASTEST_M_S),
    Quantity("topspin", "topspin, if measured", SPINS, -6000.0, 8000.0),
    Quantity(
        "receiver_x",
        "where you stood at that moment, positive to your right",
        LENGTHS,
        -SIDE_M,
        SIDE_M,
    ),
    Quantity(
        "receiver_y",
        "negative on your side, if charted",
        LENGTHS,
        -(HALF_LENGTH_M + RUN_OFF_BACK_M),
        0.0,
    ),
)
WORDS = (
    Words(
        "wing", "the opponent's wing; empty: by the side of the contact", ("forehand", "backhand")
    ),
    Words("outcome", "what became of the ball; empty: by the bounce", (IN, OUT, NET)),
    Words("hand", "the opponent's hand, the same in every row; empty: right", ("right", "left")),
    Words("kind", "the kind of stroke; empty: a stroke from the ground", KINDS, ALIASES),
)
BY_HEADER: dict[str, tuple[Quantity | Words, str]] = {
    **{header: (q, header[len(q.name) + 1 :]) for q in QUANTITIES for header in q.headers},
    **{w.name: (w, "") for w in WORDS},
}


def guide() -> str:
    """What every column holds, for whoever fills in a chart."""
    lines = [
        "One row a stroke of the opponent. The middle of the court under the net is 0,0; x runs to",
        "your right as you face the net, y along the court: you are at y below 0, the opponent",
        "above. Lengths in m or ft, as the header says. A step of a metre is exact enough.",
        "",
    ]
    for q in QUANTITIES:
        need = "" if q.needed else " (may be empty or left out)"
        lines.append(f"{' or '.join(q.headers)}: {q.about}; {q.allowed(next(iter(q.units)))}{need}")
    lines += [f"{w.name}: {w.about}; {', '.join(w.words)} (may be left out)" for w in WORDS]
    return "\n".join(lines)
