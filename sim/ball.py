"""Ball types (ITF Rules of Tennis, Appendix I)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sim.errors import named
from sim.parameter import (
    ParameterRow,
    parameter,
    parameter_rows,
    require_above_zero,
    require_finite_parameters,
)
from sim.preset import Own, by_name, preset

RULES = "ITF Rules of Tennis, Appendix I"


@dataclass(frozen=True)
class Ball:
    """A tennis ball as the flight and the bounce see it.

    Raises:
        InputError: a value that is not finite or not above zero.
    """

    name: str = "medium"
    mass_kg: float = parameter(
        0.0577, "kg", "mass", low=0.0470, high=0.0594, source=RULES, status="published"
    )
    diameter_m: float = parameter(
        0.066, "m", "diameter", low=0.0630, high=0.0730, source=RULES, status="published"
    )
    inertia_factor: float = parameter(
        0.55,
        "1",
        "moment of inertia over mass times radius squared",
        low=0.53,
        high=0.57,
        source="thick uniform shell gives 0.553-0.568",
        status="memory",
    )
    restitution_factor: float = parameter(
        1.0,
        "1",
        "vertical rebound speed relative to the medium ball",
        low=0.92,
        high=1.0,
        source=f"{RULES}: rebound bands of the drop test",
    )

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        require_above_zero(self, "mass_kg", "diameter_m", "inertia_factor")

    def __repr__(self) -> str:
        return (
            f"Ball({self.name!r}, {1000 * self.mass_kg:.1f} g, {100 * self.diameter_m:.2f} cm,"
            f" restitution factor {self.restitution_factor:.3g})"
        )

    @property
    def radius_m(self) -> float:
        return self.diameter_m / 2


USUAL_BALL = "medium"  # of whoever does not play with another
YELLOW_REBOUND_M = (1.35, 1.47)  # from 2.54 m on a hard floor
GREEN_REBOUND_M = (1.20, 1.35)
GREEN_RULES = f"{RULES}: stage 1 (green) ball"


def _bounces_over_yellow(rebound_m: float) -> float:
    """Rebound speed in a drop test over that of a yellow ball in the middle of its band."""
    return math.sqrt(rebound_m / (0.5 * sum(YELLOW_REBOUND_M)))


KINDS = by_name(
    preset(
        "medium",
        mass_kg=Own(0.0577, 0.0560, 0.0594),
        diameter_m=Own(0.066, 0.0654, 0.0686),
        restitution_factor=Own(1.0, 0.94, 1.0),
    ),
    preset(
        "slow",
        mass_kg=Own(0.0577, 0.0560, 0.0594),
        diameter_m=Own(0.0715, 0.0700, 0.0730),
        restitution_factor=Own(1.0, 0.94, 1.0),
    ),
    preset(
        "high-altitude",
        mass_kg=Own(0.0577, 0.0560, 0.0594),
        diameter_m=Own(0.066, 0.0654, 0.0686),
        restitution_factor=Own(0.945, 0.94, 1.0),
    ),
    preset(
        "green",
        mass_kg=Own(0.04925, 0.0470, 0.0515, GREEN_RULES, "memory"),
        diameter_m=Own(0.0658, 0.0630, 0.0686, GREEN_RULES, "memory"),
        restitution_factor=Own(
            _bounces_over_yellow(0.5 * sum(GREEN_REBOUND_M)),
            _bounces_over_yellow(GREEN_REBOUND_M[0]),
            _bounces_over_yellow(GREEN_REBOUND_M[1]),
            f"{GREEN_RULES} rebounds 1.20-1.35 m in the drop test, a yellow one 1.35-1.47 m",
            "published",
        ),
    ),
)
BALLS = {name: Ball(name, **kind.values_of(Ball)) for name, kind in KINDS.items()}


def ball_parameters(of: Ball) -> Iterator[ParameterRow]:
    """The parameter table of a ball, with the ranges of the rules for a ball of its name."""
    kind = KINDS.get(of.name)
    for row in parameter_rows("ball", of):
        yield row if kind is None else kind.row(row)


def ball(name: str) -> Ball:
    """The ball type of that name.

    Raises:
        InputError: no such type.
    """
    return BALLS[named("ball", name, BALLS)]
