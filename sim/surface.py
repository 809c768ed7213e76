"""Court surfaces: how the ball leaves them, and their pace."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sim.errors import InputError, named
from sim.parameter import ParameterRow, parameter, parameter_rows, require_finite_parameters
from sim.preset import Own, by_name, preset

RANGES = "range in use, from memory; value chosen inside it so that the pace fits the name"
PACE = "the pace category that the surface's name leads a player to expect"


@dataclass(frozen=True)
class Surface:
    """A surface: vertical restitution, friction and how much a gripping ball springs back.

    Raises:
        InputError: a value that is not finite or negative, or a bounce that would gain energy.
    """

    name: str
    restitution: float = parameter(
        0.80,
        "1",
        "vertical speed out over in",
        low=0.70,
        high=0.90,
        source=RANGES,
        status="fitted",
        fitted_to=PACE,
    )
    friction: float = parameter(
        0.63,
        "1",
        "sliding friction",
        low=0.40,
        high=0.90,
        source=RANGES,
        status="fitted",
        fitted_to=PACE,
    )
    grip_rebound: float = parameter(
        0.10,
        "1",
        "slip speed out over in while the ball grips (0: it rolls)",
        low=0.0,
        high=0.25,
        source="about 0.1-0.25 on a rough court",
        status="memory",
    )

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        for name in ("restitution", "grip_rebound"):
            if getattr(self, name) > 1:
                raise InputError(
                    f"Surface.{name} is {getattr(self, name)!r}; it must be from 0 to 1"
                    " (above 1 the ball would gain energy)."
                )

    def __repr__(self) -> str:
        return (
            f"Surface({self.name!r}, {self.pace_category}, restitution {self.restitution:g},"
            f" friction {self.friction:g}, grip rebound {self.grip_rebound:g})"
        )

    @property
    def pace_rating(self) -> float:
        """Court pace rating at 23 degrees Celsius (ITF technical booklet 2015, p. 40)."""
        return court_pace_rating(self.friction, self.restitution)

    @property
    def pace_category(self) -> str:
        """Pace category of the rating (bounds from memory)."""
        rating = self.pace_rating
        names = ("slow", "medium-slow", "medium", "medium-fast", "fast")
        return names[sum(rating >= bound for bound in (29.5, 34.5, 39.5, 44.5))]


def court_pace_rating(friction: float, restitution: float, temperature_c: float = 23.0) -> float:
    """Court pace rating, 100(1 - mu) + 150(0.81 - eT) (ITF technical booklet 2015, p. 40)."""
    adjusted = restitution + 0.003 * (23.0 - temperature_c)
    return 100.0 * (1.0 - friction) + 150.0 * (0.81 - adjusted)


# The ranges are those in use for each surface (memory).
GROUNDS = by_name(
    preset(
        "clay",
        restitution=Own(0.84, 0.82, 0.88),
        friction=Own(0.72, 0.70, 0.85),
        grip_rebound=0.15,
    ),
    preset(
        "hard",
        restitution=Own(0.80, 0.78, 0.83),
        friction=Own(0.63, 0.55, 0.70),
        grip_rebound=0.10,
    ),
    preset(
        "grass",
        restitution=Own(0.75, 0.72, 0.78),
        friction=Own(0.55, 0.45, 0.60),
        grip_rebound=0.05,
    ),
    preset(
        "carpet",
        restitution=Own(0.78, 0.76, 0.80),
        friction=Own(0.58, 0.50, 0.60),
        grip_rebound=0.05,
    ),
)
SURFACES = {name: Surface(name, **ground.values_of(Surface)) for name, ground in GROUNDS.items()}


def surface_parameters(of: Surface) -> Iterator[ParameterRow]:
    """The parameter table of a surface, with the ranges in use for a surface of its name."""
    ground = GROUNDS.get(of.name)
    for row in parameter_rows(of.name, of):
        yield row if ground is None else ground.row(row)


def surface(name: str) -> Surface:
    """The surface of that name.

    Raises:
        InputError: no such surface.
    """
    return SURFACES[named("surface", name, SURFACES)]
