"""Numbers with and without units."""

from __future__ import annotations

import subprocess
import sys

import pytest

from experiments.scene.units import number, point
from sim.errors import InputError


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("30", "m/s", 30.0),
        ("-2.5e1", "m/s", -25.0),
        ("108 km/h", "m/s", 30.0),
        ("134 mph", "m/s", 134 * 0.44704),
        ("3 ft", "m", 0.9144),
        ("-3ft", "m", -0.9144),
        ("66 mm", "m", 0.066),
        ("57.7 g", "kg", 0.0577),
        ("2 oz", "kg", 2 * 0.028349523125),
        ("2000 rpm", "rpm", 2000.0),
        ("0.1 rad", "degrees", 5.729577951308232),
        ("70 degF", "deg C", 21.11111111111111),
        ("1.2 kg/m3", "kg/m3", 1.2),
        ("0.0012 g/cm**3", "kg/m3", 1.2),
    ],
)
def test_units_convert(text: str, unit: str, value: float) -> None:
    """Conversion factors are those of the international definitions (mile 1609.344 m)."""
    assert number("quantity", text, unit, -1e9, 1e9) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("nan", "finite number from 1 to 100 m/s"),
        ("inf", "finite number"),
        ("1e999", "finite number"),
        ("-30", "--speed is -30 m/s"),
        ("400 mph", "--speed is 400 mph"),
        ("30 kg", "another kind of quantity"),
        ("30 m/sec2", "no known unit"),
        ("30 furlongz", "no known unit"),
        ("thirty", "give a number in m/s"),
        ("", "give a number in m/s"),
        ("30 __import__('os')", "no known unit"),
    ],
)
def test_bad_numbers_are_refused(text: str, says: str) -> None:
    with pytest.raises(InputError, match=r"^--speed is ") as caught:
        number("--speed", text, "m/s", 1, 100)
    assert says in str(caught.value)


def test_points() -> None:
    assert point("--from", "3, -11.885,3 ft", "xyz", -40, 40) == pytest.approx((3, -11.885, 0.9144))
    for text in ("3", "1,2,3,4", "1,2,", "1;2;3"):
        with pytest.raises(InputError, match="--from"):
            point("--from", text, "xyz", -40, 40)


def test_plain_numbers_leave_the_units_library_alone() -> None:
    code = (
        "import sys; from experiments.scene.units import number;"
        "number('a', '3', 'm', 0, 9); assert 'pint' not in sys.modules;"
        "number('a', '3 ft', 'm', 0, 9); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
