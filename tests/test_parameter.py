"""Parameters with unit, range, source and status."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from sim.ball import Ball
from sim.errors import InputError
from sim.parameter import (
    STATUSES,
    parameter,
    parameter_rows,
    require_above_zero,
    require_finite_parameters,
)
from sim.players import PLAYERS, player_parameters
from sim.surface import SURFACES, surface_parameters
from sim.world import World


@dataclass(frozen=True)
class Slope:
    name: str = "slope"
    rise: float = parameter(0.5, "m/m", "rise per metre", low=-1.0, high=1.0, source="a table")
    length_m: float = parameter(2.0, "m", "length", low=0.0, high=9.0, status="memory")


def test_rows_tell_all_about_each_parameter() -> None:
    rows = list(parameter_rows("slope", Slope(rise=0.25)))
    assert [row.name for row in rows] == ["rise", "length_m"]
    first = rows[0]
    assert (first.owner, first.value, first.unit, first.about) == (
        "slope",
        0.25,
        "m/m",
        "rise per metre",
    )
    assert (first.low, first.high, first.source, first.status) == (-1.0, 1.0, "a table", "assumed")


@pytest.mark.parametrize("thing", [World(), Ball(), *SURFACES.values()])
def test_every_default_lies_in_its_own_range_and_has_a_status(thing: object) -> None:
    rows = list(parameter_rows("thing", thing))
    assert rows
    for row in rows:
        assert row.low <= row.value <= row.high, row.name
        assert row.status in STATUSES
        assert row.unit
        assert row.source or row.status == "assumed", row.name


@pytest.mark.parametrize("level", PLAYERS)
def test_every_value_of_a_level_lies_in_the_range_of_that_level(level: str) -> None:
    general = {r.name: r for part in parts(level) for r in parameter_rows(level, part)}
    for row in player_parameters(PLAYERS[level]):
        assert general[row.name].low <= row.low <= row.value <= row.high, row.name
        assert row.high <= general[row.name].high, row.name


def parts(level: str) -> tuple[object, ...]:
    who = PLAYERS[level]
    return who, who.legs, who.hitter, who.hitter.repertoire


def test_levels_have_ranges_of_their_own() -> None:
    """A club player's forehand is not drawn from the range that also holds professionals."""
    low, high = (
        next(r for r in player_parameters(PLAYERS[level]) if r.name == "forehand_speed_m_s")
        for level in ("club-adult", "professional-man")
    )
    assert low.high < high.low


@pytest.mark.parametrize("name", sorted(SURFACES))
def test_every_surface_lies_in_the_range_of_its_name(name: str) -> None:
    rows = {row.name: row for row in surface_parameters(SURFACES[name])}
    assert rows["friction"].high - rows["friction"].low < 0.2
    assert all(row.low <= row.value <= row.high for row in rows.values())


def test_fitted_values_name_the_figures_that_they_were_fitted_to() -> None:
    junior = {row.name: row for row in player_parameters(PLAYERS["elite-junior"])}
    assert "under 16" in junior["tau_s"].fitted_to
    assert junior["braking_m_s2"].fitted_to == ""


@pytest.mark.parametrize(("status", "fitted_to"), [("fitted", ""), ("assumed", "a figure")])
def test_fitted_without_a_figure_is_a_mistake_of_the_code(status: str, fitted_to: str) -> None:
    with pytest.raises(ValueError, match=r"both or neither"):
        parameter(1.0, "1", "", low=0.0, high=1.0, status=status, fitted_to=fitted_to)


def test_unknown_status_is_a_mistake_of_the_code() -> None:
    with pytest.raises(ValueError, match=r"status 'guessed' is not one of"):
        parameter(1.0, "1", "", low=0.0, high=1.0, status="guessed")


@pytest.mark.parametrize("value", [math.nan, math.inf, "2", None])
def test_value_that_is_no_finite_number_is_refused(value: object) -> None:
    with pytest.raises(
        InputError, match=r"Slope.rise is .*finite number \(sensible: -1 to 1 m/m\)"
    ):
        require_finite_parameters(Slope(rise=value))  # type: ignore[arg-type]


def test_negative_value_is_refused_only_where_the_range_has_no_negative_part() -> None:
    require_finite_parameters(Slope(rise=-3.0))
    with pytest.raises(InputError, match=r"Slope.length_m is -1.0; .*not negative"):
        require_finite_parameters(Slope(length_m=-1.0))


def test_zero_is_refused_where_it_makes_no_sense() -> None:
    require_above_zero(Slope(length_m=0.0), "rise")
    with pytest.raises(InputError, match=r"Slope.length_m is 0.0; it must be above 0"):
        require_above_zero(Slope(length_m=0.0), "length_m")
