"""Units that people are told: feet, inches and mph where they ask for them, else m and km/h."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from experiments.command.main import main
from experiments.scene.sides import side
from experiments.scene.told_units import (
    IMPERIAL,
    METRIC,
    ball_speed,
    leg_speed,
    length,
    ranged,
    told_in,
)
from experiments.scene.units import number

METRES = re.compile(r"\d (m|m/s|km/h)\b")
SPOT = ("spot", "--balls", "200", "--seed", "3", "--opponent", "3.0,12.4")
PLAYER = ("player", "--sprint", "5:1.25", "--sprint", "10:2.07", "--height", "1.68")


def printed(*words: str) -> str:
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    return str(done.output)


def test_metres_and_km_h_are_told_unless_asked_otherwise() -> None:
    assert (length(1.28), length(1.284, 2), length(10, None)) == ("1.3 m", "1.28 m", "10 m")
    assert ball_speed(119 / 3.6) == "119 km/h" and leg_speed(7.5) == "7.50 m/s"
    assert side(-1.26) == "1.3 m left"


@pytest.mark.parametrize(
    ("metres", "words"),
    [
        (0.0, "0 in"),
        (0.28, "11 in"),
        (0.3048, "1 ft"),
        (1.28, "4 ft 2 in"),
        (3.6449, "12 ft"),  # 11 ft 11.5 in: never 11 ft 12 in
        (-0.9144, "\N{MINUS SIGN}3 ft"),
        (-0.001, "0 in"),
    ],
)
def test_feet_and_inches_to_the_nearest_inch(metres: float, words: str) -> None:
    with told_in(IMPERIAL):
        assert length(metres) == words
    assert length(1.0) == "1.0 m", "outside it is metric again"


def test_speeds_in_miles_an_hour() -> None:
    with told_in(IMPERIAL):
        assert (ball_speed(119 / 3.6), leg_speed(7.5)) == ("74 mph", "16.8 mph")
        assert side(1.28) == "4 ft 2 in right"


def test_what_is_told_can_be_typed_again() -> None:
    for metres in (0.2, 0.61, 1.28, 11.885):
        with told_in(IMPERIAL):
            again = number("it", length(metres), "m", 0, 40)
        assert again == pytest.approx(metres, abs=0.0128)


def test_a_range_names_a_single_unit_once() -> None:
    assert ranged("0.30 m", "0.50 m") == "0.30 to 0.50 m"
    assert ranged("10 in", "1 ft 8 in") == "10 in to 1 ft 8 in"
    assert ranged("1 ft 2 in", "2 ft 2 in") == "1 ft 2 in to 2 ft 2 in"


@pytest.mark.parametrize("words", [SPOT, PLAYER])
def test_a_command_tells_one_kind_of_units(words: tuple[str, ...]) -> None:
    metric, imperial = printed(*words), printed(*words, "--units", IMPERIAL)
    assert METRES.search(metric) and not re.search(r"\d (ft|in|mph)\b", metric)
    assert printed(*words, "--units", METRIC) == metric
    left = METRES.findall(re.sub(r"\(5, 10 and 20 m\)", "", imperial))
    assert not left, imperial
    assert re.search(r"\d ft \d+ in", imperial) and "mph" in imperial


def test_numbers_stay_in_si_units() -> None:
    assert json.loads(printed(*SPOT, "--json")) == json.loads(
        printed(*SPOT, "--json", "--units", IMPERIAL)
    )


def test_units_that_are_none_are_refused() -> None:
    done = CliRunner().invoke(main, [*SPOT, "--units", "furlongs"])
    assert done.exit_code == 2 and "metric" in done.output and "imperial" in done.output
