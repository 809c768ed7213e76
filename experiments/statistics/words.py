"""How an estimate of balls in 100 is said."""

from __future__ import annotations

from typing import Protocol

DIGITS = 1


class Signed(Protocol):
    """A number with its interval."""

    @property
    def value(self) -> float: ...
    @property
    def low(self) -> float: ...
    @property
    def high(self) -> float: ...


def said(e: Signed, digits: int = DIGITS, brackets: str = "({} to {})") -> str:
    """The estimate with its interval as `printed`, such as 1.4 (1.2 to 1.6)."""
    parts = (f"{v:.{digits}f}" for v in printed(e, digits))
    return f"{{}} {brackets}".format(*parts).replace("-", "\u2212")


def printed(e: Signed, digits: int = DIGITS) -> tuple[float, float, float]:
    """The estimate and the ends of its interval as they are shown.

    Ends that would round to 0 are rounded outward, so that what is not 0 for sure never looks it:
    0.0 (0.0 to 0.0) is a difference of a place from itself.
    """
    ends = _outward(e.low, -1.0, digits), _outward(e.high, 1.0, digits)
    return round(e.value, digits) + 0.0, *ends


def _outward(end: float, way: float, digits: int) -> float:
    rounded = round(end, digits) + 0.0
    return way * 10.0**-digits if rounded == 0.0 and way * end > 0.0 else rounded


def estimate_json(e: Signed) -> dict[str, float]:
    """The estimate and the ends of its interval, for JSON."""
    return {"estimate": e.value, "low": e.low, "high": e.high}
