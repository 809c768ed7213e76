"""What `sim.arithmetic` makes its functions from: series, split constants, powers of two."""

from __future__ import annotations

import math

import numpy as np

# Taylor's series, from the first power that is not written out where they are used.
EXP = tuple(1.0 / math.factorial(n) for n in range(2, 14))
SINE = tuple((-1) ** (n // 2) / math.factorial(n) for n in range(3, 19, 2))
COSINE = tuple((-1) ** (n // 2) / math.factorial(n) for n in range(4, 20, 2))
LOG = tuple((-1) ** (n + 1) / n for n in range(2, 8))
ERF = tuple((-1) ** n * 1.1283791670955126 / ((2 * n + 1) * math.factorial(n)) for n in range(12))
ATAN = tuple((-1) ** (n // 2) / n for n in range(3, 27, 2))

# The first parts are short, so that their products with the whole numbers met here are exact.
ONE_BY_LN2, LN2, LN2_REST = 1.4426950408889634, 0.6931471803691238, 1.9082149292705877e-10
TWO_BY_PI = 0.6366197723675814
HALF_PI_A, HALF_PI_B, HALF_PI_C = 1.5707963267341256, 6.077100506303966e-11, 2.0222662487959506e-21
QUARTER_PI = 0.7853981633974483
HALF_PI, HALF_PI_REST = 1.5707963267948966, 6.123233995736766e-17
PI, PI_REST = 3.141592653589793, 1.2246467991473532e-16
ATAN_HALF, ATAN_HALF_REST = 0.4636476090008061, 2.2698777452961687e-17
ATAN_ONE, ATAN_ONE_REST = 0.7853981633974483, 3.061616997868383e-17

# exp(x**2) erfc(x) (1 + 2 x) as a polynomial of (x - 4) / (x + 4) for x from 0 to 27.5, fitted at
# Chebyshev's points in 60 digits to 2e-18: the constant, then the others from the first power.
ERFC_FIRST = 1.2329951186255526
ERFC = (
    -0.13962111684056253,
    0.015379652102619577,
    0.06809705425469348,
    -0.1010390660362956,
    0.0937328349983214,
    -0.06633036581238866,
    0.03716751553792265,
    -0.016197734056192747,
    0.005031969974293165,
    -0.0007577732964763434,
    -0.00019925667587989877,
    0.00015062169605217738,
    -2.4399274806735163e-05,
    -1.122205415946788e-05,
    5.70985344176465e-06,
    2.938175156873787e-07,
    -8.255610031719535e-07,
    7.464016908895004e-08,
    1.1011918537215051e-07,
    -1.7920360316356552e-08,
    -1.4096503348569252e-08,
    1.8368212617851957e-09,
    1.2537550125450752e-09,
    0.0,
)

# Tables are worked out in whole numbers, as so many parts of 2**120.
UNIT_BITS = 120
UNIT = 1 << UNIT_BITS


def in_two(value: int) -> tuple[float, float]:
    """A number of units as the nearest number and what that leaves out."""
    head = value / UNIT
    return head, (value - int(head * 2.0**UNIT_BITS)) / UNIT


def root_powers(steps: int) -> list[int]:
    """2**(j / steps) in units for each j below `steps`, a power of two: square roots of 2."""
    root = 2 * UNIT
    for _ in range(steps.bit_length() - 1):
        root = math.isqrt(root << UNIT_BITS)
    out = [UNIT]
    for _ in range(steps - 1):
        out.append(out[-1] * root >> UNIT_BITS)
    return out


def logarithm(value: int) -> int:
    """Logarithm in units of a number between 0.7 and 1.42 in units, by the series of atanh."""
    term = ((value - UNIT) << UNIT_BITS) // (value + UNIT)
    square, total = term * term >> UNIT_BITS, 0
    for n in range(1, 60, 2):
        total += term // n
        term = term * square >> UNIT_BITS
    return 2 * total


# 2**(j / 128) for j from 0 to 127: its bits, and what they leave out as a share of it.
STEP_BITS = 7
STEPS = 1 << STEP_BITS
STEPS_BY_LN2, STEP, STEP_REST = STEPS * ONE_BY_LN2, LN2 / STEPS, LN2_REST / STEPS
_powers = np.array([in_two(power) for power in root_powers(STEPS)])
POWER_BITS, POWER_REST = _powers[:, 0].copy().view(np.int64), _powers[:, 1] / _powers[:, 0]

# Of the numbers from 0.709 to 1.418 in 128 parts, even in the bits, 1 the centre of one: the
# inverse of each centre and its logarithm, in two numbers, the first of the logarithm a short one.
PARTS, PART_BITS, SHORT_BITS = 128, 45, 32
FIRST_BITS = (1023 << 52) - 149 * (1 << PART_BITS - 1)
CENTRE_BITS = FIRST_BITS + (1 << PART_BITS - 1)
_centres = (CENTRE_BITS + (np.arange(PARTS) << PART_BITS)).view(np.float64)
_units = [int(c * 2.0**UNIT_BITS) for c in _centres.tolist()]
_inverses = np.array([in_two((UNIT << UNIT_BITS) // c) for c in _units])
INVERSE, INVERSE_REST = _inverses[:, 0].copy(), _inverses[:, 1].copy()
_logs = [logarithm(c) for c in _units]
_short = [round(v / UNIT * 2.0**SHORT_BITS) for v in _logs]
CENTRE_LOG = np.array(_short) * 2.0**-SHORT_BITS
CENTRE_LOG_REST = np.array(
    [(v - (s << UNIT_BITS - SHORT_BITS)) / UNIT for v, s in zip(_logs, _short, strict=True)]
)
