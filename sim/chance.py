"""Random numbers by address: (root seed; replicate, purpose, stroke, index).

A counter-based generator (Philox 4x64 with 10 rounds; Salmon et al. 2011, bit-equal to NumPy's)
turns an address into a number, so that no decision can shift another's draws and any rally can be
replayed alone. The key is the seed; the counter is (index // 4, stroke, purpose, replicate).
"""

from __future__ import annotations

import math
import secrets

import numpy as np

from sim.arithmetic import log
from sim.compiled import inlined, kernel
from sim.errors import InputError

SHOT, EXECUTION, RECEIVE, RECOVER = 1, 2, 3, 4
LARGEST_SEED = 2**63 - 1

M0, M1 = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
W0, W1 = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
LOW_HALF, HALF_BITS = np.uint64(0xFFFFFFFF), np.uint64(32)
SPARE_BITS = np.uint64(12)


@kernel
def high_product(a, b):  # type: ignore[no-untyped-def]
    """The upper 64 bits of the product of two unsigned 64-bit numbers."""
    a_low, a_high = a & LOW_HALF, a >> HALF_BITS
    b_low, b_high = b & LOW_HALF, b >> HALF_BITS
    middle = a_high * b_low + ((a_low * b_low) >> HALF_BITS)
    other = a_low * b_high + (middle & LOW_HALF)
    return a_high * b_high + (middle >> HALF_BITS) + (other >> HALF_BITS)


@kernel
def philox(c0, c1, c2, c3, k0, k1):  # type: ignore[no-untyped-def]
    """Four random 64-bit numbers of a counter and a key (all unsigned 64-bit)."""
    for _ in range(10):
        h0, l0 = high_product(M0, c0), M0 * c0
        h1, l1 = high_product(M1, c2), M1 * c2
        c0, c1, c2, c3 = h1 ^ c1 ^ k0, l1, h0 ^ c3 ^ k1, l0
        k0 += W0
        k1 += W1
    return c0, c1, c2, c3


@kernel
def unit(bits):  # type: ignore[no-untyped-def]
    """A number strictly between 0 and 1 from 64 random bits: 52 of them, else half would round."""
    return (np.float64(bits >> SPARE_BITS) + 0.5) * 2.0**-52


@kernel
def fill_uniforms(seed, replicates, purpose, stroke, out):  # type: ignore[no-untyped-def]
    """Fill row i of `out` with the numbers of stroke `stroke[i]` of replicate `replicates[i]`."""
    zero = np.uint64(0)
    for i in range(out.shape[0]):
        for block in range((out.shape[1] + 3) // 4):
            drawn = philox(
                np.uint64(block),
                np.uint64(stroke[i]),
                np.uint64(purpose),
                np.uint64(replicates[i]),
                np.uint64(seed),
                zero,
            )
            for lane in range(4):
                column = 4 * block + lane
                if column < out.shape[1]:
                    out[i, column] = unit(drawn[lane])


def uniforms(
    seed: int, replicates: np.ndarray, purpose: int, stroke: int | np.ndarray, count: int
) -> np.ndarray:
    """Uniform numbers in (0, 1), shape (replicates, count), each fixed by its address alone.

    `stroke` is the same for all, or one for each replicate.
    """
    out = np.empty((len(replicates), count))
    fill_uniforms(seed, replicates, purpose, one_each(stroke, len(out)), out)
    return out


def one_each(stroke: int | np.ndarray, count: int) -> np.ndarray:
    """A stroke number for each of `count` rallies, from those or from one for all."""
    return stroke if isinstance(stroke, np.ndarray) else np.full(count, stroke, np.int64)


def fresh_seed() -> int:
    """A new root seed from the operating system, below 2**32 so that people can type it."""
    return secrets.randbelow(2**32)


def checked_seed(seed: int) -> int:
    """The seed, if it can be one.

    Raises:
        InputError: not from 0 to 2**63 - 1.
    """
    if not 0 <= seed <= LARGEST_SEED:
        raise InputError(f"seed is {seed}; it must be a whole number from 0 to {LARGEST_SEED}")
    return seed


@kernel
def horner(coefficients, x):  # type: ignore[no-untyped-def]
    """Polynomial with the highest power first."""
    total = 0.0
    for c in coefficients:
        total = total * x + c
    return total


CENTRAL_TOP = (
    2509.0809287301226727,
    33430.575583588128105,
    67265.770927008700853,
    45921.953931549871457,
    13731.693765509461125,
    1971.5909503065514427,
    133.14166789178437745,
    3.387132872796366608,
)
CENTRAL_BOTTOM = (
    5226.495278852545925,
    28729.085735721942674,
    39307.89580009271061,
    21213.794301586595867,
    5394.1960214247511077,
    687.1870074920579083,
    42.313330701600911252,
    1.0,
)
TAIL_TOP = (
    7.7454501427834140764e-4,
    0.0227238449892691845833,
    0.24178072517745061177,
    1.27045825245236838258,
    3.64784832476320460504,
    5.7694972214606914055,
    4.6303378461565452959,
    1.42343711074968357734,
)
TAIL_BOTTOM = (
    1.05075007164441684324e-9,
    5.475938084995344946e-4,
    0.0151986665636164571966,
    0.14810397642748007459,
    0.68976733498510000455,
    1.6763848301838038494,
    2.05319162663775882187,
    1.0,
)
FAR_TOP = (
    2.01033439929228813265e-7,
    2.71155556874348757815e-5,
    0.0012426609473880784386,
    0.026532189526576123093,
    0.29656057182850489123,
    1.7848265399172913358,
    5.4637849111641143699,
    6.6579046435011037772,
)
FAR_BOTTOM = (
    2.04426310338993978564e-15,
    1.4215117583164458887e-7,
    1.8463183175100546818e-5,
    7.868691311456132591e-4,
    0.0148753612908506148525,
    0.13692988092273580531,
    0.59983220655588793769,
    1.0,
)


@inlined
@kernel
def normal(u):  # type: ignore[no-untyped-def]
    """Standard normal deviate of the uniform number `u` (inverse distribution function).

    Algorithm AS 241, Wichura 1988, Applied Statistics 37, 477-484 (coefficients from memory,
    tested against scipy.special.ndtri).
    """
    q = u - 0.5
    if abs(q) <= 0.425:
        r = 0.180625 - q * q
        return q * horner(CENTRAL_TOP, r) / horner(CENTRAL_BOTTOM, r)
    tail = u if q < 0.0 else 1.0 - u
    r = math.sqrt(-log(tail))
    if r <= 5.0:
        x = horner(TAIL_TOP, r - 1.6) / horner(TAIL_BOTTOM, r - 1.6)
    else:
        x = horner(FAR_TOP, r - 5.0) / horner(FAR_BOTTOM, r - 5.0)
    return -x if q < 0.0 else x


@kernel
def fill_normals(u, out):  # type: ignore[no-untyped-def]
    for i in range(u.size):
        out[i] = normal(u[i])


def normals(u: np.ndarray) -> np.ndarray:
    """Standard normal deviates of uniform numbers, same shape."""
    out = np.empty(u.size)
    fill_normals(np.ascontiguousarray(u).ravel(), out)
    return out.reshape(u.shape)
