"""Surfaces: pace rating and category, and refusals."""

from __future__ import annotations

import math

import pytest

from sim.errors import InputError
from sim.surface import Surface, court_pace_rating, surface

# What a player expects of the name; only the bounds of the categories are from memory.
EXPECTED_PACE = {"clay": "slow", "hard": "medium", "grass": "fast", "carpet": "fast"}


@pytest.mark.parametrize("name", EXPECTED_PACE)
def test_surface_has_the_pace_that_its_name_leads_to_expect(name: str) -> None:
    assert surface(name).name == name
    assert surface(name).pace_category == EXPECTED_PACE[name]


@pytest.mark.parametrize(
    ("rating", "category"),
    [
        (29, "slow"),
        (30, "medium-slow"),
        (34, "medium-slow"),
        (35, "medium"),
        (39, "medium"),
        (40, "medium-fast"),
        (44, "medium-fast"),
        (45, "fast"),
    ],
)
def test_bounds_of_the_pace_categories(rating: int, category: str) -> None:
    """Categories in whole ratings as in the ITF's court pace classes (from memory)."""
    friction = 1.0 - rating / 100.0
    made = Surface("own", restitution=0.81, friction=friction)
    assert made.pace_rating == pytest.approx(rating, abs=1e-9)
    assert made.pace_category == category


def test_rating_is_brought_to_23_degrees() -> None:
    """Each degree above 23 takes 0.003 off the restitution: 0.45 of a point."""
    warmer = court_pace_rating(0.6, 0.8, temperature_c=33.0)
    assert warmer - court_pace_rating(0.6, 0.8) == pytest.approx(4.5, abs=1e-9)


def test_unknown_surface_names_the_nearest() -> None:
    with pytest.raises(InputError, match=r"unknown surface 'gras'.*'grass'.*carpet, clay"):
        surface("gras")


@pytest.mark.parametrize(
    ("field", "value", "allowed"),
    [
        ("restitution", 1.2, "from 0 to 1"),
        ("grip_rebound", 1.01, "from 0 to 1"),
        ("friction", -0.1, "not negative"),
        ("restitution", math.nan, "finite"),
    ],
)
def test_impossible_surface_is_refused(field: str, value: float, allowed: str) -> None:
    with pytest.raises(InputError) as refusal:
        Surface("own", **{field: value})
    assert f"Surface.{field} is {value!r}" in str(refusal.value)
    assert allowed in str(refusal.value)
