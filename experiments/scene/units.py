"""Numbers that people type: plain ones in the stated unit, or with a unit of their own."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any

from sim.errors import InputError
from sim.people_files import decimal

INCH_M, FOOT_M, YARD_M, MILE_M = 0.0254, 0.3048, 0.9144, 1609.344
NUMBER = r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?"
WITH_UNIT = re.compile(rf"\s*({NUMBER})\s*([^\d\s].*?)\s*")
# 5ft6in, 5'6", 5 feet 6 inches: of a body or a reach.
FEET_AND_INCHES = re.compile(
    r"\s*(\d+)\s*(?:ft|feet|foot|['\u2019\u2032])\.?\s*(\d+(?:\.\d+)?)"
    r"\s*(?:in|inch|inches|[\"\u201d\u2033]|'')?\.?\s*"
)
# Units that a plain number out of range was likely meant in, with their size.
LIKELIER = {"m/s": {"km/h": 1 / 3.6}, "m": {"cm": 0.01}}
# The units library would work out whatever stands in a unit, numbers to any power too.
ONE_UNIT = r"[^\W\d_]+(?:(?:\*\*|\^)?-?[1-4])?"
A_UNIT = re.compile(rf"°?{ONE_UNIT}(?:\s*[*/·]\s*{ONE_UNIT}|\s+{ONE_UNIT}){{0,3}}|%")
# The unit's name in the units library, where it differs from what messages say.
LIBRARY_NAMES = {"kg/m3": "kg/m**3", "deg C": "degC", "degrees": "degree", "1": "dimensionless"}


def number(
    what: str, text: str, unit: str, low: float, high: float, plain_most: float | None = None
) -> float:
    """The number in `unit` that `text` says: "30", "1,68", "108 km/h", "3 ft" or "5ft6in".

    A plain number is taken in `unit`; else a units library converts it. `what` names the quantity
    in messages; `low` and `high` are the ends of what is allowed. A plain number above
    `plain_most` is likelier in another unit, which is asked for.

    Raises:
        InputError: not a number, a unit that does not fit, not finite, or out of range.
    """
    value = decimal(text, lambda v: low <= v <= high)
    is_plain = value is not None
    if value is None:
        value = converted(what, text, unit)
    most = plain_most if is_plain and plain_most is not None else high
    if not (math.isfinite(value) and low <= value <= most):
        bare = text.strip()
        shown = f"{bare} {_said(unit)}".strip() if is_plain else bare
        asked = question_of(bare, unit, low, most) if is_plain else ""
        raise InputError(
            f"{what} is {shown}; it must be a finite number from {low:g} to {most:g}"
            f" {_said(unit)}".rstrip()
            + asked
        )
    return value


def question_of(text: str, unit: str, low: float, high: float) -> str:
    """Whether a plain number that is out of range in `unit` was meant in another: a question."""
    for other, factor in LIKELIER.get(unit, {}).items():
        value = decimal(text, lambda _: True)
        if value is not None and low <= value * factor <= high:
            return f'. Did you mean "{text} {other}"?'
    return ""


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
    if unit == "m" and (feet := FEET_AND_INCHES.fullmatch(text)) is not None:
        return FOOT_M * float(feet[1]) + INCH_M * float(feet[2])
    found = WITH_UNIT.fullmatch(text)
    if found is None:
        raise InputError(
            f"{what} is {text!r}; give a number in {_said(unit) or 'plain form'}, or one with its"
            ' unit in quotes, such as "108 km/h" or "3 ft"'
        )
    import pint  # slow to import, and plain numbers do not need it

    value, own = decimal(found[1], lambda _: True), found[2]
    if value is None:
        raise InputError(f"{what} is {text!r}; is the comma a decimal one? write a point, or none")
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
            f"{what} is {text!r}; give {len(names)} numbers as {form}, in metres and in quotes"
        )
    return tuple(
        number(f"{name} of {what}", part, "m", low, high)
        for name, part in zip(names, parts, strict=True)
    )
