"""Air density: the standard atmosphere, moisture, and refusals."""

from __future__ import annotations

import math

import pytest

from sim.air import Air, standard_pressure_pa, standard_temperature_c
from sim.errors import InputError


@pytest.mark.parametrize(
    ("altitude_m", "temperature_c", "pressure_pa", "density_kg_m3"),
    [(0.0, 15.0, 101325.0, 1.2250), (1000.0, 8.5, 89875.0, 1.1116), (2000.0, 2.0, 79495.0, 1.0065)],
)
def test_standard_atmosphere(
    altitude_m: float, temperature_c: float, pressure_pa: float, density_kg_m3: float
) -> None:
    """Table of the International Standard Atmosphere (from memory), within 1 in 5000."""
    assert standard_temperature_c(altitude_m) == pytest.approx(temperature_c, abs=0.01)
    assert standard_pressure_pa(altitude_m) == pytest.approx(pressure_pa, rel=2e-4)
    air = Air(altitude_m, temperature_c, relative_humidity=0.0)
    assert air.density_kg_m3 == pytest.approx(density_kg_m3, rel=2e-4)


def test_moist_warm_or_high_air_is_lighter() -> None:
    ordinary = Air().density_kg_m3
    assert Air(relative_humidity=0.9).density_kg_m3 < ordinary
    assert Air(temperature_c=35.0).density_kg_m3 < ordinary
    assert Air(altitude_m=1600.0).density_kg_m3 < ordinary


def test_measured_pressure_takes_the_place_of_the_altitude() -> None:
    measured = Air(altitude_m=2000.0, pressure_pa=101325.0)
    assert measured.density_kg_m3 == Air(pressure_pa=101325.0).density_kg_m3
    assert measured.density_kg_m3 == pytest.approx(Air().density_kg_m3, rel=1e-12)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("altitude_m", 9000.0, ("altitude is 9000.0", "from -500 to 6000 m")),
        ("altitude_m", math.nan, ("altitude is nan",)),
        ("temperature_c", 80.0, ("temperature is 80.0", "from -20 to 50 degrees Celsius")),
        ("temperature_c", math.inf, ("temperature is inf",)),
        ("relative_humidity", 55.0, ("relative humidity is 55.0", "from 0 to 1")),
        ("pressure_pa", 1013.0, ("pressure is 1013.0", "from 40000 to 110000 Pa")),
    ],
)
def test_refusal_says_what_the_value_is_and_what_is_allowed(
    field: str, value: float, words: tuple[str, ...]
) -> None:
    with pytest.raises(InputError) as refusal:
        Air(**{field: value})
    assert all(word in str(refusal.value) for word in words)
