"""Ball types against the bands of ITF Rules of Tennis, Appendix I, and refusals."""

from __future__ import annotations

import math

import pytest

from sim.ball import BALLS, Ball, ball
from sim.errors import InputError

# Appendix I: diameter in metres; the third type is the slow ball.
DIAMETERS_M = {
    "medium": (0.0654, 0.0686),
    "high-altitude": (0.0654, 0.0686),
    "slow": (0.0700, 0.0730),
}


@pytest.mark.parametrize("name", sorted(BALLS))
def test_type_keeps_to_the_rules(name: str) -> None:
    kind = ball(name)
    low, high = DIAMETERS_M[name]
    assert kind.name == name
    assert low <= kind.diameter_m <= high
    assert 0.0560 <= kind.mass_kg <= 0.0594
    assert kind.radius_m == kind.diameter_m / 2


def test_unknown_type_names_the_nearest() -> None:
    with pytest.raises(InputError, match=r"unknown ball 'slwo'.*'slow'.*high-altitude, medium"):
        ball("slwo")


@pytest.mark.parametrize("field", ["mass_kg", "diameter_m", "inertia_factor"])
@pytest.mark.parametrize("value", [0.0, -0.05, math.nan, math.inf])
def test_impossible_ball_is_refused(field: str, value: float) -> None:
    with pytest.raises(InputError) as refusal:
        Ball(**{field: value})
    assert f"Ball.{field} is {value!r}" in str(refusal.value)
    assert "sensible:" in str(refusal.value)
