"""Elementary functions against numbers with 50 digits (mpmath) and Python's special cases."""

from __future__ import annotations

import math
from collections.abc import Callable

import mpmath
import numpy as np
import pytest

from sim import arithmetic, over_arrays

PI = math.pi
ONES = ("exp", "expm1", "log", "sin", "cos", "tan", "atan", "erfc")
ODD = ("sin", "tan", "atan")
# Units in the last place.
LARGEST_ERROR = {name: 1.0 for name in (*ONES, "atan2")} | {"erfc": 4.0}


def _both(high: float, count: int = 1500) -> np.ndarray:
    """Numbers of both signs up to `high`: evenly, and over 12 powers of ten."""
    rng = np.random.default_rng(1)
    small = high * 10.0 ** rng.uniform(-12.0, 0.0, count)
    return np.concatenate([rng.uniform(-high, high, count), small, -small])


def _near_multiples(step: float, most: float) -> np.ndarray:
    at = step * np.arange(1.0, most / step, max(1.0, most / step / 2000))
    return np.concatenate([at, -at, np.nextafter(at, 0.0)])


ANGLES = np.concatenate([_both(1e5), _both(8.0), _near_multiples(PI / 4, 1e5)])
WHERE = {
    "exp": np.concatenate(
        [_both(709.0), np.linspace(-745.0, -708.0, 500), _near_multiples(math.log(2.0) / 256, 4.0)]
    ),
    "expm1": np.concatenate([_both(709.0), _both(3.0), _near_multiples(math.log(2.0) / 2, 45.0)]),
    "log": np.concatenate(
        [1.0 + _both(0.5), 1.0 + _both(1e-6), 10.0 ** _both(307.0), 5e-324 * np.arange(1.0, 500.0)]
    ),
    "sin": ANGLES,
    "cos": ANGLES,
    "tan": ANGLES,
    "atan": np.concatenate([_both(1e6), _both(3.0)]),
    "erfc": np.concatenate([_both(6.0), np.linspace(0.0, 27.2, 2000)]),
}


def _units_off(got: float, exact: mpmath.mpf) -> float:
    """Distance from the exact number in units of the last place there."""
    return float(abs((mpmath.mpf(got) - exact) / math.ulp(float(exact))))


@pytest.fixture(autouse=True)
def fifty_digits() -> None:
    mpmath.mp.dps = 50


@pytest.mark.parametrize("name", ONES)
def test_the_last_digit_is_off_by_at_most_one(name: str) -> None:
    ours, exact = getattr(arithmetic, name), getattr(mpmath, name)
    off = [_units_off(ours(x), exact(mpmath.mpf(x))) for x in WHERE[name].tolist()]
    worst = int(np.argmax(off))
    assert off[worst] < LARGEST_ERROR[name], (WHERE[name][worst], off[worst])


def test_angles_of_points_are_off_by_at_most_one_digit() -> None:
    y, x = _both(3.0), np.roll(_both(3.0), 777)
    off = [
        _units_off(arithmetic.atan2(a, b), mpmath.atan2(a, b))
        for a, b in zip(y.tolist(), x.tolist(), strict=True)
    ]
    assert max(off) < LARGEST_ERROR["atan2"]


SPECIAL = [0.0, math.inf, math.nan, 5e-324, 2.2e-308, 1e-300, 1e-20, 1e-10, 0.5, 1.0, 1e5]
SPECIAL += [1e16, 1e100, 1e300, 1.7976931348623157e308, 709.782712893384, 709.7827128933841]
SPECIAL += [-x for x in SPECIAL] + [-745.1332191019411, -745.1332191019412, -745.2, -708.4]


def _pythons(name: str, *x: float) -> float:
    """What Python's own function says, with infinities and NaN where it raises."""
    if name == "log" and x[0] == 0.0:
        return -math.inf
    try:
        return float(getattr(math, name)(*x))
    except OverflowError:
        return math.inf
    except ValueError:
        return math.nan


def _alike(ours: float, pythons: float) -> bool:
    if math.isnan(pythons):
        return math.isnan(ours)
    if math.isinf(pythons) or pythons == 0.0:
        return ours == pythons and math.copysign(1.0, ours) == math.copysign(1.0, pythons)
    return abs(ours - pythons) <= 2.0 * math.ulp(pythons)


@pytest.mark.parametrize("name", ONES)
def test_special_numbers_are_as_pythons(name: str) -> None:
    turned = name in ("sin", "cos", "tan")
    for x in SPECIAL:
        ours = getattr(arithmetic, name)(x)
        wanted = math.nan if turned and abs(x) >= 2.0**20 else _pythons(name, x)
        assert _alike(ours, wanted), (x, ours, wanted)


def test_angles_of_special_points_are_as_pythons() -> None:
    for y in SPECIAL:
        for x in SPECIAL:
            ours, wanted = arithmetic.atan2(y, x), _pythons("atan2", y, x)
            assert _alike(ours, wanted), (y, x, ours, wanted)


def test_known_numbers_are_exact() -> None:
    assert arithmetic.exp(0.0) == arithmetic.exp(-0.0) == arithmetic.cos(0.0) == 1.0
    assert arithmetic.log(1.0) == arithmetic.expm1(0.0) == arithmetic.sin(0.0) == 0.0
    assert arithmetic.erfc(0.0) == 1.0
    assert arithmetic.exp(1.0) == math.e and arithmetic.atan2(0.0, -1.0) == PI
    assert arithmetic.atan2(1.0, 1.0) == PI / 4 and arithmetic.atan2(1.0, 0.0) == PI / 2


@pytest.mark.parametrize("name", ODD)
def test_odd_functions_are_odd_to_the_bit(name: str) -> None:
    ours = getattr(arithmetic, name)
    for x in np.abs(WHERE[name]).tolist():
        assert ours(-x) == -ours(x)


def test_an_even_function_is_even_and_a_circle_turned_to_the_bit() -> None:
    for x, y in zip(ANGLES.tolist(), ANGLES[::-1].tolist(), strict=True):
        assert arithmetic.cos(-x) == arithmetic.cos(x)
        assert arithmetic.atan2(-y, x) == -arithmetic.atan2(y, x)


OF_ARRAYS: dict[str, Callable[..., np.ndarray]] = {
    name: getattr(over_arrays, f"{name}_of") for name in ("exp", "expm1", "log", "cos")
}


@pytest.mark.parametrize("name", OF_ARRAYS)
def test_an_array_has_the_bits_of_its_numbers(name: str) -> None:
    x = WHERE[name][: len(WHERE[name]) // 6 * 6].reshape(2, -1, 3)
    one = np.array([getattr(arithmetic, name)(v) for v in x.ravel().tolist()]).reshape(x.shape)
    turned = OF_ARRAYS[name](x.transpose(2, 0, 1))
    assert OF_ARRAYS[name](x).tobytes() == one.tobytes()
    assert turned.tobytes() == np.ascontiguousarray(one.transpose(2, 0, 1)).tobytes()


def test_angles_of_arrays_match_shapes_as_numpy_does() -> None:
    y, x = np.array([[-1.0], [2.0]]), np.array([0.5, -0.0, -3.0])
    found = over_arrays.atan2_of(y, x)
    assert found.shape == (2, 3)
    assert found[1, 2] == arithmetic.atan2(2.0, -3.0) and over_arrays.exp_of(0.0).shape == ()
