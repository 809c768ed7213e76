"""In which units lengths and speeds are told: metres and km/h, or feet, inches and miles an hour.

One home for what people are told; what they may type is read by `scene.units`. Numbers in JSON, in
tables that are written, and in files stay in SI units.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from experiments.scene.units import FOOT_M, INCH_M, MILE_M

METRIC, IMPERIAL = "metric", "imperial"
UNITS = (METRIC, IMPERIAL)
MPH = MILE_M / 3600
INCHES = round(FOOT_M / INCH_M)

_told = ContextVar("the units that are told", default=METRIC)


@contextmanager
def told_in(units: str) -> Iterator[None]:
    """Inside, lengths and speeds are told in these units, one of UNITS."""
    before = _told.set(units)
    try:
        yield
    finally:
        _told.reset(before)


def in_imperial() -> bool:
    """Whether feet, inches and miles an hour are told here."""
    return _told.get() == IMPERIAL


def inches(metres: float) -> str:
    """A short length in whole inches that no line breaks: 11 in."""
    return f"{metres / INCH_M:.0f}\u00a0in"


def length(metres: float, digits: int | None = 1) -> str:
    """A length in words: 1.3 m with so many digits, or as it is for None; or 4 ft 3 in to the
    nearest inch."""
    if _told.get() == METRIC:
        return f"{metres:{'g' if digits is None else f'.{digits}f'}} m".replace("-", "\u2212")
    feet, inches = divmod(round(abs(metres) / INCH_M), INCHES)
    parts = [f"{feet} ft"] * (feet > 0) + [f"{inches} in"] * (inches > 0 or feet == 0)
    return ("\u2212" if metres < 0 and feet + inches else "") + " ".join(parts)


def ball_speed(m_s: float, digits: int = 0) -> str:
    """The speed of a ball in words: 119 km/h or 74 mph."""
    from sim.players import KM_H  # late: the options of commands import this file

    if _told.get() == METRIC:
        return f"{m_s / KM_H:.{digits}f} km/h"
    return f"{m_s / MPH:.{digits}f} mph"


def leg_speed(m_s: float, digits: int = 2) -> str:
    """The speed of a player in words: 7.50 m/s or 16.8 mph."""
    if _told.get() == METRIC:
        return f"{m_s:.{digits}f} m/s"
    return f"{m_s / MPH:.{max(digits - 1, 0)}f} mph"


def ranged(low: str, high: str) -> str:
    """A range of two told lengths or speeds, the unit once where both have the same single one:
    0.3 to 0.5 m, 10 in to 1 ft 8 in."""
    number, _, unit = low.partition(" ")
    if high.partition(" ")[2] == unit and " " not in unit:
        return f"{number} to {high}"
    return f"{low} to {high}"
