"""Elementary functions from one source, so that every machine gives the same digits.

A platform's own library rounds a last digit as it likes, and another one on another processor. What
a stored number depends on goes through these; square roots, which IEEE 754 fixes, do not need to.
They use additions, multiplications, divisions and the bits of a number, each rounded by itself.

Method, the textbook one (Muller 2016, Elementary Functions, 3rd ed., Birkhaeuser): the argument is
reduced with constants split in two or three (Cody and Waite), a series is summed over what is
left, and what the last addition would round away is carried along as a second number. The numbers
stand in `sim.series`. `tests/test_arithmetic.py` measures the error against numbers with 50 digits:
below 1 unit in the last place, that of `erfc` below 4.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiled import kernel
from sim.series import (
    ATAN,
    ATAN_HALF,
    ATAN_HALF_REST,
    ATAN_ONE,
    ATAN_ONE_REST,
    CENTRE_BITS,
    CENTRE_LOG,
    CENTRE_LOG_REST,
    COSINE,
    ERF,
    ERFC,
    ERFC_FIRST,
    EXP,
    FIRST_BITS,
    HALF_PI,
    HALF_PI_A,
    HALF_PI_B,
    HALF_PI_C,
    HALF_PI_REST,
    INVERSE,
    INVERSE_REST,
    LN2,
    LN2_REST,
    LOG,
    ONE_BY_LN2,
    PART_BITS,
    PARTS,
    PI,
    PI_REST,
    POWER_BITS,
    POWER_REST,
    QUARTER_PI,
    SINE,
    STEP,
    STEP_BITS,
    STEP_REST,
    STEPS,
    STEPS_BY_LN2,
    TWO_BY_PI,
)

# Adding this and taking it away rounds to a whole number, whose bits then stand lowest.
TO_WHOLE = 1.5 * 2.0**52
FRACTION_BITS, ONE_BITS = 52, 1023 << 52
UPPER_HALF = -(1 << 27)  # keeps sign, exponent and the upper 26 bits of a number
LARGEST_EXP, LEAST_EXP, PLAIN_EXP = 709.782712893384, -745.1332191019412, 708.0
LARGEST_ANGLE = 2.0**20


@kernel
def bits_of(x: float) -> int:
    """The 64 bits of a number, as a whole number."""
    return int(np.float64(x).view(np.int64))


@kernel
def number_of(bits: int) -> float:
    """The number that has these 64 bits."""
    return float(np.int64(bits).view(np.float64))


@kernel
def power_of_two(k: int) -> float:
    """2**k, for k from -1022 to 1023."""
    return number_of(ONE_BITS + (k << FRACTION_BITS))


@kernel
def scaled(x: float, k: int) -> float:
    """x times 2**k, rounded once; k from -2000 to 2000."""
    half = k >> 1
    return x * power_of_two(half) * power_of_two(k - half)


@kernel
def rounded_away(a: float, b: float, product: float) -> float:
    """What the rounding of a times b to `product` left out (Dekker 1971)."""
    a_high, b_high = number_of(bits_of(a) & UPPER_HALF), number_of(bits_of(b) & UPPER_HALF)
    a_low, b_low = a - a_high, b - b_high
    return ((a_high * b_high - product) + a_high * b_low + a_low * b_high) + a_low * b_low


@kernel
def quotient(top: float, top_rest: float, bottom: float, bottom_rest: float) -> tuple[float, float]:
    """The quotient of two numbers, each given with a small rest, and its own rest."""
    found = top / bottom
    product = found * bottom
    left = (top - product) - rounded_away(found, bottom, product)
    return found, (left + (top_rest - found * bottom_rest)) / bottom


@kernel
def of_four(c, x, x2):  # type: ignore[no-untyped-def]
    """Polynomial with four coefficients, the constant first."""
    return (c[0] + x * c[1]) + x2 * (c[2] + x * c[3])


@kernel
def of_eight(c, x):  # type: ignore[no-untyped-def]
    """Polynomial with eight coefficients, the constant first, its halves side by side (Estrin)."""
    x2 = x * x
    return of_four(c[:4], x, x2) + x2 * x2 * of_four(c[4:], x, x2)


@kernel
def of_twelve(c, x):  # type: ignore[no-untyped-def]
    """Polynomial with twelve coefficients, the constant first."""
    x2 = x * x
    x4 = x2 * x2
    upper = of_four(c[4:8], x, x2) + x4 * of_four(c[8:], x, x2)
    return of_four(c[:4], x, x2) + x4 * upper


@kernel
def exponential(x: float) -> tuple[float, float, int]:
    """(high, rest, k): e**x is (1 + high + rest) 2**k, |high| below 0.35; |x| below 1000."""
    shifted = x * ONE_BY_LN2 + TO_WHOLE
    n = shifted - TO_WHOLE
    k = (bits_of(shifted) << 13) >> 13
    high, low = x - n * LN2, n * LN2_REST
    r = high - low
    return high, r * r * of_twelve(EXP, r) - low, k


@kernel
def exp(x: float) -> float:
    """e to the power of x."""
    if abs(x) <= PLAIN_EXP:
        shifted = x * STEPS_BY_LN2 + TO_WHOLE
        n = shifted - TO_WHOLE
        bits = bits_of(shifted)
        step = bits & (STEPS - 1)
        r = (x - n * STEP) - n * STEP_REST
        r2 = r * r
        more = r + r2 * ((EXP[0] + r * EXP[1]) + r2 * (EXP[2] + r * EXP[3]))
        power = number_of(POWER_BITS[step] + ((bits - step) << FRACTION_BITS - STEP_BITS))
        return power + power * (POWER_REST[step] + more)
    return far_exp(x)


@kernel
def far_exp(x: float) -> float:
    """e to the power of x where that is nearly too large or too small a number, or none: apart,
    so that what is met always stays short."""
    if x > LARGEST_EXP:
        return math.inf
    if x < LEAST_EXP:
        return 0.0
    if x != x:
        return x
    high, rest, k = exponential(x)
    return scaled(1.0 + (high + rest), k)


@kernel
def expm1(x: float) -> float:
    """e to the power of x less 1, exact near 0."""
    if abs(x) < 1e-17 or x != x:
        return x
    if x > LARGEST_EXP:
        return math.inf
    if x < -40.0:
        return -1.0
    high, rest, k = exponential(x)
    one = power_of_two(-k) if k < 100 else 0.0
    offset = 1.0 - one
    top = offset + high
    return scaled(top + ((high - (top - offset)) + (rest + ((1.0 - offset) - one))), k)


@kernel
def log(x: float) -> float:
    """Natural logarithm; -inf at 0, NaN below."""
    if not 0.0 < x < math.inf:
        return -math.inf if x == 0.0 else (x if x > 0.0 else math.nan)
    whole = 0
    if x < 1e-300:
        x, whole = x * 2.0**54, -54
    offset = bits_of(x) - FIRST_BITS
    k = offset >> FRACTION_BITS
    part = (offset >> PART_BITS) & (PARTS - 1)
    away = number_of(bits_of(x) - (k << FRACTION_BITS)) - number_of(
        CENTRE_BITS + (part << PART_BITS)
    )
    r, n = away * INVERSE[part], float(k + whole)
    r2 = r * r
    series = r2 * (of_four(LOG[:4], r, r2) + r2 * r2 * (LOG[4] + r * LOG[5]))
    known = n * LN2 + CENTRE_LOG[part]
    found = known + r
    rest = (n * LN2_REST + CENTRE_LOG_REST[part]) + (away * INVERSE_REST[part] + series)
    return found + ((r - (found - known)) + rest)


@kernel
def from_quarter(x: float) -> tuple[float, float, int]:
    """(r, rest, n): the angle x is n quarter turns and r + rest, |r| at most an eighth turn."""
    if abs(x) <= QUARTER_PI:
        return x, 0.0, 0
    shifted = x * TWO_BY_PI + TO_WHOLE
    n = shifted - TO_WHOLE
    left, part = x - n * HALF_PI_A, n * HALF_PI_B
    high = left - part
    back = high - left
    low = (left - (high - back)) - (part + back) - n * HALF_PI_C
    r = high + low
    return r, (high - r) + low, (bits_of(shifted) << 13) >> 13


@kernel
def sine_parts(r: float, rest: float) -> tuple[float, float]:
    """Sine of a small angle and the rest of it, as two numbers."""
    z = r * r
    return r, r * z * of_eight(SINE, z) + rest * (1.0 - 0.5 * z)


@kernel
def cosine_parts(r: float, rest: float) -> tuple[float, float]:
    """Cosine of a small angle and the rest of it, as two numbers."""
    z = r * r
    half = 0.5 * z
    top = 1.0 - half
    return top, ((1.0 - top) - half) + (z * z * of_eight(COSINE, z) - r * rest)


@kernel
def sin(x: float) -> float:
    """Sine of an angle in radians; NaN beyond 2**20."""
    if abs(x) < 1e-9:
        return x
    if not abs(x) < LARGEST_ANGLE:
        return math.nan
    r, rest, n = from_quarter(x)
    high, low = cosine_parts(r, rest) if n & 1 else sine_parts(r, rest)
    return -(high + low) if n & 2 else high + low


@kernel
def cos(x: float) -> float:
    """Cosine of an angle in radians; NaN beyond 2**20."""
    if not abs(x) < LARGEST_ANGLE:
        return math.nan
    r, rest, n = from_quarter(x)
    high, low = sine_parts(r, rest) if n & 1 else cosine_parts(r, rest)
    return -(high + low) if (n + 1) & 2 else high + low


@kernel
def tan(x: float) -> float:
    """Tangent of an angle in radians; NaN beyond 2**20."""
    if abs(x) < 1e-9:
        return x
    if not abs(x) < LARGEST_ANGLE:
        return math.nan
    r, rest, n = from_quarter(x)
    s, s_low = sine_parts(r, rest)
    c, c_low = cosine_parts(r, rest)
    sine, cosine = s + s_low, c + c_low
    s_rest, c_rest = (s - sine) + s_low, (c - cosine) + c_low
    if n & 1:
        found, left = quotient(-cosine, -c_rest, sine, s_rest)
    else:
        found, left = quotient(sine, s_rest, cosine, c_rest)
    return found + left


@kernel
def first_octant(top: float, bottom: float) -> tuple[float, float]:
    """The angle whose tangent is top / bottom, both at least 0 and top the smaller, and its rest.

    Turned back by the angle with tangent 0, 1/2 or 1, what is left has a tangent below 0.24.
    """
    if top < 1e-9 * bottom:
        return top / bottom, 0.0
    if top < 0.23 * bottom:
        known, known_rest = 0.0, 0.0
        t, t_rest = quotient(top, 0.0, bottom, 0.0)
    else:
        share, known, known_rest = 1.0, ATAN_ONE, ATAN_ONE_REST
        if top < 0.72 * bottom:
            share, known, known_rest = 0.5, ATAN_HALF, ATAN_HALF_REST
        away, along = top - share * bottom, bottom + share * top
        away_rest = top - (away + share * bottom)
        along_rest = (bottom - along) + share * top
        t, t_rest = quotient(away, away_rest, along, along_rest)
    z = t * t
    low = known_rest + (t_rest + t * z * of_twelve(ATAN, z))
    found = known + t
    return found, (t - (found - known)) + low


@kernel
def atan(x: float) -> float:
    """The angle in radians, from -pi/2 to pi/2, whose tangent is x."""
    return atan2(x, 1.0)


@kernel
def atan2(y: float, x: float) -> float:
    """The angle of the point (x, y) in radians, from -pi to pi."""
    if x != x or y != y:
        return math.nan
    up, out, left = abs(y), abs(x), bits_of(x) < 0
    if up == math.inf and out == math.inf:
        up, out = 1.0, 1.0
    if max(up, out) > 1e300:
        up, out = 0.25 * up, 0.25 * out
    elif max(up, out) < 1e-200:
        up, out = 2.0**400 * up, 2.0**400 * out
    if up == 0.0:
        angle, rest = 0.0, 0.0
    elif up <= out:
        angle, rest = first_octant(up, out)
    else:
        angle, rest = first_octant(out, up)
    if up > out:
        base, base_rest, way = HALF_PI, HALF_PI_REST, 1.0 if left else -1.0
    elif left:
        base, base_rest, way = PI, PI_REST, -1.0
    else:
        base, base_rest, way = 0.0, 0.0, 1.0
    turned = base + way * angle
    found = turned + ((way * angle - (turned - base)) + (base_rest + way * rest))
    return -found if bits_of(y) < 0 else found


@kernel
def erfc(x: float) -> float:
    """One less the error function."""
    if x != x:
        return x
    if abs(x) < 0.25:
        return 1.0 - x * of_twelve(ERF, x * x)
    if x < -6.0:
        return 2.0  # to the last digit
    if abs(x) > 28.0:
        return 0.0
    return tail_of_normal(x) if x > 0.0 else 2.0 - tail_of_normal(-x)


@kernel
def tail_of_normal(x: float) -> float:
    """erfc for x from 0 to 28: exp(-x**2) times a smooth function over 1 + 2 x."""
    t = (x - 4.0) / (x + 4.0)
    t4 = t * t * t * t
    series = t * (of_twelve(ERFC[:12], t) + t4 * t4 * t4 * of_twelve(ERFC[12:], t))
    smooth = ERFC_FIRST + series
    square = x * x
    power = exp(-square)
    return (power - power * rounded_away(x, x, square)) * smooth / (1.0 + 2.0 * x)
