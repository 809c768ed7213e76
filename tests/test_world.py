"""The world's record: what it holds, seen from both sides, and refusals."""

from __future__ import annotations

import math

import pytest

from sim.air import Air
from sim.ball import BALLS
from sim.errors import InputError
from sim.records import WORLD
from sim.surface import SURFACES
from sim.world import World


def test_record_holds_the_world() -> None:
    world = World(surface=SURFACES["clay"], ball=BALLS["high-altitude"], wind_m_s=(1.0, -2.0, 0.5))
    w = world.numbers[0]
    assert world.numbers.dtype == WORLD
    assert (w["wind_x_m_s"], w["wind_y_m_s"], w["wind_z_m_s"]) == (1.0, -2.0, 0.5)
    assert w["friction"] == SURFACES["clay"].friction
    assert w["radius_m"] == 0.033
    # The ball's own liveliness multiplies the surface's.
    assert (
        w["restitution"] == SURFACES["clay"].restitution * BALLS["high-altitude"].restitution_factor
    )


def test_drag_comes_from_density_area_and_mass() -> None:
    """rho A / (2 m), here rho 1.2, m 57.7 g, d 66 mm."""
    w = World(air_density_kg_m3=1.2).numbers[0]
    assert w["drag_per_m"] == pytest.approx(1.2 * math.pi * 0.033**2 / (2 * 0.0577), rel=1e-14)


def test_given_density_takes_the_place_of_the_air() -> None:
    high = Air(altitude_m=2000.0)
    assert World(air=high).density_kg_m3 == high.density_kg_m3
    assert World(air=high, air_density_kg_m3=1.3).density_kg_m3 == 1.3


def test_other_side_sees_the_wind_turned_and_all_else_the_same() -> None:
    world = World(wind_m_s=(1.0, -2.0, 0.5))
    own, other = world.numbers[0], world.turned_numbers[0]
    for name in WORLD.names or ():
        sign = -1.0 if name in ("wind_x_m_s", "wind_y_m_s") else 1.0
        assert other[name] == sign * own[name], name


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"wind_m_s": (0.0, 50.0, 0.0)}, ("wind is (0.0, 50.0, 0.0)", "below 40 m/s")),
        ({"wind_m_s": (0.0, math.nan, 0.0)}, ("wind is", "three numbers")),
        ({"wind_m_s": (3.0, 1.0)}, ("wind is (3.0, 1.0)", "three numbers")),
        ({"air_density_kg_m3": -1.0}, ("air density is -1.0", "from 0 to 2 kg/m3")),
        ({"air_density_kg_m3": math.inf}, ("air density is inf",)),
        ({"drag_coefficient": -0.5}, ("World.drag_coefficient is -0.5", "not negative", "0.5 to")),
        ({"gravity_m_s2": math.nan}, ("World.gravity_m_s2 is nan", "finite")),
    ],
)
def test_impossible_world_is_refused(fields: dict[str, float], words: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as refusal:
        World(**fields)  # type: ignore[arg-type]
    assert all(word in str(refusal.value) for word in words)
