"""Numbers that people type: plain ones in the stated unit, or with a unit of their own."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any

from sim.errors import InputError

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
WITH_UNIT = re.compile(rf"\s*({NUMBER})\s*([^\d\s].*?)\s*")
# The units library would work out whatever stands in a unit, numbers to any power too.
ONE_UNIT = r"[^\W\d_]+(?:(?:\*\*|\^)?-?[1-4])?"
A_UNIT = re.compile(rf"°?{ONE_UNIT}(?:\s*[*/·]\s*{ONE_UNIT}|\s+{ONE_UNIT}){{0,3}}|%")
# The unit's name in the units library, where it differs from what messages say.
LIBRARY_NAMES = {"kg/m3": "kg/m**3", "deg C": "degC", "degrees": "degree", "1": "dimensionless"}


def number(what: str, text: str, unit: str, low: float, high: float) -> float:
    """The number in `unit` that `text` says: "30", "108 km/h" or "3 ft".

    A plain number is taken in `unit`; else a units library converts it. `what` names the quantity
    in messages; `low` and `high` are the ends of what is allowed.

    Raises:
        InputError: not a number, a unit that does not fit, not finite, or out of range.
    """
    try:
        value = float(text)
    except ValueError:
        value = converted(what, text, unit)
    if not (math.isfinite(value) and low <= value <= high):
        shown = text.strip() if text.strip()[-1:].isalpha() else f"{text.strip()} {unit}"
        raise InputError(
            f"{what} is {shown}; it must be a finite number from {low:g} to {high:g} {_said(unit)}"
        )
    return value


@cache
def registry() -> Any:
    """The units library's table of units, which takes long to build."""
    import pint

    return pint.UnitRegistry()


def _said(unit: str) -> str:
    return "" if unit == "1" else unit


def converted(what: str, text: str, unit: str) -> float:
    """A number with a unit of its own, in `unit`.

    Raises:
        InputError: no number with a known unit of the same kind.
    """
    found = WITH_UNIT.fullmatch(text)
    if found is None:
        raise InputError(
            f"{what} is {text!r}; give a number in {_said(unit) or 'plain form'}, or one with its"
            ' unit in quotes, such as "108 km/h" or "3 ft"'
        )
    import pint  # slow to import, and plain numbers do not need it

    value, own = float(found[1]), found[2]
    if not A_UNIT.fullmatch(own):
        raise _unknown_unit(what, text, own, unit)
    try:
        quantity = registry().Quantity(value, LIBRARY_NAMES.get(own, own))
        return float(quantity.to(LIBRARY_NAMES.get(unit, unit)).magnitude)
    except pint.DimensionalityError:
        raise InputError(
            f"{what} is {text!r}, which is another kind of quantity; give it in {_said(unit)} or"
            " a unit that converts to it"
        ) from None
    except Exception:  # the library's parser raises many kinds for a unit that it cannot read
        raise _unknown_unit(what, text, own, unit) from None


def _unknown_unit(what: str, text: str, own: str, unit: str) -> InputError:
    return InputError(f"{what} is {text!r}, and {own!r} is no known unit; give it in {_said(unit)}")


def point(what: str, text: str, names: str, low: float, high: float) -> tuple[float, ...]:
    """A point in metres from "X,Y" or "X,Y,Z"; `names` holds one letter a coordinate.

    Raises:
        InputError: another count of numbers, or one that `number` refuses.
    """
    parts = text.split(",")
    if len(parts) != len(names):
        form = ",".join(names.upper())
        raise InputError(
            f"{what} is {text!r}; give {len(names)} numbers as {form}, in metres, without spaces"
            f" or in quotes"
        )
    return tuple(
        number(f"{name} of {what}", part, "m", low, high)
        for name, part in zip(names, parts, strict=True)
    )
