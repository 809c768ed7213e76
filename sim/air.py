"""Air density from altitude, temperature and humidity."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.arithmetic import exp, log
from sim.errors import InputError

DRY_GAS_CONSTANT = 287.05  # J/(kg K)
VAPOUR_GAS_CONSTANT = 461.5  # J/(kg K)
ZERO_CELSIUS_K = 273.15


def standard_temperature_c(altitude_m: float) -> float:
    """Temperature of the International Standard Atmosphere (from memory)."""
    return 288.15 - 0.0065 * altitude_m - ZERO_CELSIUS_K


def standard_pressure_pa(altitude_m: float) -> float:
    """Pressure of the International Standard Atmosphere (from memory)."""
    return 101325.0 * exp(5.25588 * log(1.0 - 2.25577e-5 * altitude_m))


def saturation_pressure_pa(temperature_c: float) -> float:
    """Saturation vapour pressure over water (Magnus form, from memory)."""
    return 611.2 * exp(17.62 * temperature_c / (243.12 + temperature_c))


@dataclass(frozen=True)
class Air:
    """The air that the ball flies through.

    Parameters: altitude (m), temperature (degrees Celsius), relative humidity (0 to 1) and, where
    measured, pressure (Pa) in place of the standard atmosphere's.

    Raises:
        InputError: a value is not finite or outside what the formulas cover.
    """

    altitude_m: float = 0.0
    temperature_c: float = 20.0
    relative_humidity: float = 0.5
    pressure_pa: float | None = None

    def __post_init__(self) -> None:
        _require("altitude", self.altitude_m, -500.0, 6000.0, "m")
        _require("temperature", self.temperature_c, -20.0, 50.0, "degrees Celsius")
        _require("relative humidity", self.relative_humidity, 0.0, 1.0, "")
        if self.pressure_pa is not None:
            _require("pressure", self.pressure_pa, 4e4, 1.1e5, "Pa")

    @property
    def density_kg_m3(self) -> float:
        """Density of moist air: dry air and vapour as ideal gases."""
        kelvin = self.temperature_c + ZERO_CELSIUS_K
        pressure = self.pressure_pa
        if pressure is None:
            pressure = standard_pressure_pa(self.altitude_m)
        vapour = self.relative_humidity * saturation_pressure_pa(self.temperature_c)
        dry = (pressure - vapour) / (DRY_GAS_CONSTANT * kelvin)
        return dry + vapour / (VAPOUR_GAS_CONSTANT * kelvin)


def _require(what: str, value: float, low: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise InputError(f"{what} is {value!r}; it must be from {low:g} to {high:g} {unit}".strip())
