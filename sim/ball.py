"""Ball types (ITF Rules of Tennis, Appendix I)."""

from __future__ import annotations

from dataclasses import dataclass

from sim.errors import unknown_name
from sim.parameter import parameter, require_above_zero, require_finite_parameters

RULES = "ITF Rules of Tennis, Appendix I"


@dataclass(frozen=True)
class Ball:
    """A tennis ball as the flight and the bounce see it.

    Raises:
        InputError: a value that is not finite or not above zero.
    """

    name: str = "medium"
    mass_kg: float = parameter(
        0.0577, "kg", "mass", low=0.0560, high=0.0594, source=RULES, status="published"
    )
    diameter_m: float = parameter(
        0.066, "m", "diameter", low=0.0654, high=0.0686, source=RULES, status="published"
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
        low=0.94,
        high=1.0,
        source=f"{RULES}: rebound bands of the drop test",
    )

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        require_above_zero(self, "mass_kg", "diameter_m", "inertia_factor")

    @property
    def radius_m(self) -> float:
        return self.diameter_m / 2


BALLS = {
    "medium": Ball(),
    "slow": Ball(name="slow", diameter_m=0.0715),
    "high-altitude": Ball(name="high-altitude", restitution_factor=0.945),
}


def ball(name: str) -> Ball:
    """The ball type of that name.

    Raises:
        InputError: no such type.
    """
    if name not in BALLS:
        raise unknown_name("ball", name, BALLS)
    return BALLS[name]
