"""Elementary functions from one source, so that every machine gives the same digits.

A platform's own library rounds a last digit as it likes, and another one on another processor. What
a stored number depends on goes through these; square roots, which IEEE 754 fixes, do not need to.
"""

from __future__ import annotations

import math

from sim.compiled import kernel


@kernel
def exp(x: float) -> float:
    """e to the power of x."""
    return math.exp(x)


@kernel
def expm1(x: float) -> float:
    """e to the power of x less 1, exact near 0."""
    return math.expm1(x)


@kernel
def log(x: float) -> float:
    """Natural logarithm; -inf at 0, NaN below."""
    return math.log(x)


@kernel
def sin(x: float) -> float:
    """Sine of an angle in radians."""
    return math.sin(x)


@kernel
def cos(x: float) -> float:
    """Cosine of an angle in radians."""
    return math.cos(x)


@kernel
def tan(x: float) -> float:
    """Tangent of an angle in radians."""
    return math.tan(x)


@kernel
def atan(x: float) -> float:
    """The angle in radians, from -pi/2 to pi/2, whose tangent is x."""
    return math.atan(x)


@kernel
def atan2(y: float, x: float) -> float:
    """The angle of the point (x, y) in radians, from -pi to pi."""
    return math.atan2(y, x)


@kernel
def erfc(x: float) -> float:
    """One less the error function."""
    return math.erfc(x)
