"""Parameters that carry their unit, range, source and status, kept beside the default value."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import Any

from sim.errors import InputError

STATUSES = ("published", "fitted", "memory", "assumed")
# What `rally-recovery calibrate` fits to, and the rows of the validation that are in it.
RECORD = "the record of men's points; W1a; W1b; W1c; W1d; W1e; W2a; W2b; W2c; W3a; W3b; W3c"
CALIBRATED = "fitted with many others to tracked ends of men's points (`rally-recovery calibrate`)"


def parameter(
    default: float,
    unit: str,
    about: str,
    *,
    low: float,
    high: float,
    source: str = "",
    status: str = "assumed",
    fitted_to: str = "",
) -> Any:
    """A dataclass field for a physical parameter.

    `low` and `high` are the range in which the value makes sense for a study; `source` names where
    the value comes from; `status` is one of STATUSES ("memory": remembered from a source that was
    not seen again). A fitted value names in `fitted_to` the figures that it was fitted to, divided
    by semicolons; a figure that is a row of `rally-recovery validate` by that row's key. Such a
    figure can no longer check the model.
    """
    require_status(status, fitted_to)
    metadata = {
        "unit": unit,
        "about": about,
        "low": low,
        "high": high,
        "source": source,
        "status": status,
        "fitted_to": fitted_to,
    }
    return dataclasses.field(default=default, metadata=metadata)


def calibrated(
    default: float, unit: str, about: str, *, low: float, high: float, source: str = ""
) -> Any:
    """A parameter that was fitted, together with others, to the record of professional men.

    `source` is of the range.
    """
    said = f"{CALIBRATED}; range: {source}" if source else CALIBRATED
    how = {"source": said, "status": "fitted", "fitted_to": RECORD}
    return parameter(default, unit, about, low=low, high=high, **how)


def require_status(status: str, fitted_to: str) -> None:
    """Refuse a status that is none, and a fitted value that does not say to what.

    Raises:
        ValueError: a mistake of the code.
    """
    if status not in STATUSES:
        raise ValueError(f"status {status!r} is not one of {STATUSES}")
    if (status == "fitted") != bool(fitted_to):
        raise ValueError(f"status {status!r} with fitted_to {fitted_to!r}: both or neither")


@dataclasses.dataclass(frozen=True)
class ParameterRow:
    """One line of the parameter table."""

    owner: str
    name: str
    value: float
    unit: str
    low: float
    high: float
    status: str
    source: str
    about: str
    fitted_to: str = ""


def parameter_rows(owner: str, thing: Any) -> Iterator[ParameterRow]:
    """The parameter table of one dataclass instance."""
    for field in dataclasses.fields(thing):
        if "unit" in field.metadata:
            m = field.metadata
            yield ParameterRow(
                owner,
                field.name,
                getattr(thing, field.name),
                m["unit"],
                m["low"],
                m["high"],
                m["status"],
                m["source"],
                m["about"],
                m["fitted_to"],
            )


def require_finite_parameters(thing: Any) -> None:
    """Refuse a dataclass whose parameters are not finite numbers or are negative without reason.

    Negative values are refused where the field's range has no negative part.

    Raises:
        InputError: names the class, the field, the value and the range.
    """
    for row in parameter_rows(type(thing).__name__, thing):
        bad = not isinstance(row.value, int | float) or not math.isfinite(row.value)
        if bad or (row.low >= 0 and row.value < 0):
            raise InputError(
                f"{row.owner}.{row.name} is {row.value!r}; it must be a finite number"
                f"{' that is not negative' if row.low >= 0 else ''}"
                f" (sensible: {row.low:g} to {row.high:g} {row.unit})."
            )


def require_above_zero(thing: Any, *names: str) -> None:
    """Refuse a dataclass of which one of the named parameters is zero or below.

    Raises:
        InputError: names the class, the field, the value and the range.
    """
    for row in parameter_rows(type(thing).__name__, thing):
        if row.name in names and row.value <= 0:
            raise InputError(
                f"{row.owner}.{row.name} is {row.value!r}; it must be above 0"
                f" (sensible: {row.low:g} to {row.high:g} {row.unit})."
            )
