"""Everything around the players: air, ball, surface, wind and how flight is computed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.air import Air
from sim.ball import BALLS, USUAL_BALL, Ball
from sim.errors import InputError, unknown_name
from sim.parameter import parameter, require_finite_parameters
from sim.records import WORLD, record
from sim.surface import SURFACES, Surface

GRAVITY_M_S2 = 9.80665
INTEGRATED, TABULATED = "integrated", "tabulated"
FLIGHTS = (INTEGRATED, TABULATED)


@dataclass(frozen=True)
class World:
    """Air, ball, surface and wind; the wind blows in the studied player's frame.

    `flight` says how a ball's flight is computed: "integrated", or "tabulated", from a table made
    by integration (`sim.flight_table` says which balls it serves; the others are integrated).

    Raises:
        InputError: a value that is not finite or not physical, or a flight of another name.
    """

    surface: Surface = SURFACES["hard"]
    air: Air = Air()
    ball: Ball = BALLS[USUAL_BALL]
    wind_m_s: tuple[float, float, float] = (0.0, 0.0, 0.0)
    drag_coefficient: float = parameter(
        0.55,
        "1",
        "drag coefficient of the ball",
        low=0.50,
        high=0.65,
        source="Brody, Cross and Lindsey 2002 (new ball); contested: 0.507 in Cross and Lindsey"
        " 2014, 0.6-0.7 in wind tunnels",
        status="published",
    )
    lift_slope: float = parameter(
        2.0,
        "1",
        "lift coefficient = S / (slope S + offset), S = surface speed over ball speed",
        low=2.0,
        high=2.03,
        source="common form 1/(2 + 1/S)",
        status="memory",
    )
    lift_offset: float = parameter(
        1.0,
        "1",
        "see lift_slope; Stepanek 1988 has 2.022 and 0.981",
        low=0.98,
        high=1.0,
        source="common form 1/(2 + 1/S)",
        status="memory",
    )
    gravity_m_s2: float = parameter(
        GRAVITY_M_S2,
        "m/s2",
        "standard gravity",
        low=9.78,
        high=9.83,
        source="CGPM 1901",
        status="published",
    )
    air_density_kg_m3: float | None = None
    flight: str = INTEGRATED

    def __post_init__(self) -> None:
        require_finite_parameters(self)
        three = len(self.wind_m_s) == 3
        if not (three and all(math.isfinite(w) and abs(w) < 40 for w in self.wind_m_s)):
            raise InputError(f"wind is {self.wind_m_s!r}; give three numbers below 40 m/s each")
        rho = self.density_kg_m3
        if not (math.isfinite(rho) and 0 <= rho < 2):
            raise InputError(f"air density is {rho!r}; it must be from 0 to 2 kg/m3")
        if self.flight not in FLIGHTS:
            raise unknown_name("way to compute flight", self.flight, FLIGHTS)

    def __repr__(self) -> str:
        wind = f", wind {self.wind_m_s} m/s" if any(self.wind_m_s) else ""
        return (
            f"World({self.surface.name}, {self.ball.name} ball, air"
            f" {self.density_kg_m3:.3f} kg/m3{wind}, flight {self.flight})"
        )

    @property
    def density_kg_m3(self) -> float:
        """Air density: the given one, else that of `air`."""
        given = self.air_density_kg_m3
        return self.air.density_kg_m3 if given is None else given

    @cached_property
    def numbers(self) -> np.ndarray:
        """The world as a WORLD record, seen by the studied player."""
        return self._record(self.wind_m_s)

    @cached_property
    def turned_numbers(self) -> np.ndarray:
        """The world as a WORLD record, seen from the other side of the net."""
        wind_x, wind_y, wind_z = self.wind_m_s
        return self._record((-wind_x, -wind_y, wind_z))

    def _record(self, wind: tuple[float, float, float]) -> np.ndarray:
        area = math.pi * self.ball.radius_m * self.ball.radius_m
        return record(
            WORLD,
            drag_per_m=self.density_kg_m3 * area / (2 * self.ball.mass_kg),
            drag_coefficient=self.drag_coefficient,
            lift_slope=self.lift_slope,
            lift_offset=self.lift_offset,
            gravity_m_s2=self.gravity_m_s2,
            radius_m=self.ball.radius_m,
            inertia_factor=self.ball.inertia_factor,
            restitution=self.surface.restitution * self.ball.restitution_factor,
            friction=self.surface.friction,
            grip_rebound=self.surface.grip_rebound,
            wind_x_m_s=wind[0],
            wind_y_m_s=wind[1],
            wind_z_m_s=wind[2],
            tabulated=self.flight == TABULATED,
        )
