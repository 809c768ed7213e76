"""Court: the net's height along its width, and the lines."""

from __future__ import annotations

import math

import pytest

from sim import court

FEET_M = 0.3048


@pytest.mark.parametrize(
    ("metres", "feet"),
    [
        (2 * court.HALF_LENGTH_M, 78),
        (2 * court.HALF_WIDTH_M, 27),
        (court.SERVICE_LINE_M, 21),
        (court.NET_CENTRE_M, 3),
        (court.NET_SUPPORT_M, 3.5),
        (court.NET_SUPPORT_X_M - court.HALF_WIDTH_M, 3),
    ],
)
def test_dimensions_are_those_of_the_rules(metres: float, feet: float) -> None:
    """ITF Rules of Tennis, rule 1, published in feet and in metres rounded to the centimetre."""
    assert metres == pytest.approx(feet * FEET_M, abs=0.005)


def test_net_rises_linearly_from_centre_to_support() -> None:
    support = court.NET_SUPPORT_X_M
    assert court.net_height_m(0.0) == 0.914
    assert court.net_height_m(support) == pytest.approx(1.07, abs=1e-12)
    for share in (0.25, 0.5, 0.9):
        expected = 0.914 + share * (1.07 - 0.914)
        assert court.net_height_m(share * support) == pytest.approx(expected, abs=1e-12)


def test_net_is_the_same_on_both_sides_and_ends_at_its_support() -> None:
    for x in (0.3, 2.0, 4.115, 5.029):
        assert court.net_height_m(-x) == court.net_height_m(x)
    beyond = math.nextafter(court.NET_SUPPORT_X_M, math.inf)
    assert court.net_height_m(beyond) == court.net_height_m(-beyond) == 0.0


@pytest.mark.parametrize(
    ("outside", "line_m"), [(court.is_wide, 4.115), (court.is_long, 11.885)], ids=["wide", "long"]
)
def test_ball_on_the_line_is_in(outside, line_m: float) -> None:  # type: ignore[no-untyped-def]
    for side in (-1.0, 1.0):
        assert not outside(side * line_m)
        assert outside(side * math.nextafter(line_m, math.inf))
        assert not outside(0.0)
