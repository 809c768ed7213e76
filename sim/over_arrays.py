"""Arithmetic with whole arrays that rounds alike on every machine.

Elementary functions have the digits of `sim.arithmetic`, number by number. Products of matrices are
summed in the order of the rows, where a library's own changes with the processor.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from sim.arithmetic import atan2, cos, exp, expm1, log
from sim.compiled import kernel


@kernel
def fill_exp(x, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = exp(x[i])


@kernel
def fill_expm1(x, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = expm1(x[i])


@kernel
def fill_log(x, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = log(x[i])


@kernel
def fill_cos(x, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = cos(x[i])


@kernel
def fill_atan2(y, x, out):  # type: ignore[no-untyped-def]
    for i in range(y.size):
        out[i] = atan2(y[i], x[i])


@kernel
def interpolate(x, at, values):  # type: ignore[no-untyped-def]
    """The curve through `values` at rising places `at`, straight between them and level beyond."""
    low, high = 0, len(at) - 1
    if x <= at[low]:
        return values[low]
    if x >= at[high]:
        return values[high]
    while high - low > 1:
        middle = (low + high) // 2
        if at[middle] <= x:
            low = middle
        else:
            high = middle
    slope = (values[low + 1] - values[low]) / (at[low + 1] - at[low])
    return slope * (x - at[low]) + values[low]


@kernel
def fill_interpolated(x, at, values, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = interpolate(x[i], at, values)


@kernel
def fill_product(a, b, out):  # type: ignore[no-untyped-def]
    for i in range(a.shape[0]):
        for j in range(b.shape[1]):
            out[i, j] = 0.0
        for k in range(a.shape[1]):
            for j in range(b.shape[1]):
                out[i, j] += a[i, k] * b[k, j]


def filled(fill: Callable[..., None], *values: npt.ArrayLike) -> np.ndarray:
    """What a kernel puts into its last argument, from arrays of numbers matched as NumPy does."""
    arrays = np.broadcast_arrays(*(np.asarray(v, float) for v in values))
    out = np.empty(arrays[0].size)
    fill(*(np.array(a).ravel() for a in arrays), out)
    return out.reshape(arrays[0].shape)


def exp_of(x: npt.ArrayLike) -> np.ndarray:
    """e to the power of each number, same shape."""
    return filled(fill_exp, x)


def expm1_of(x: npt.ArrayLike) -> np.ndarray:
    """e to the power of each number less 1, same shape."""
    return filled(fill_expm1, x)


def log_of(x: npt.ArrayLike) -> np.ndarray:
    """Natural logarithm of each number, same shape."""
    return filled(fill_log, x)


def cos_of(x: npt.ArrayLike) -> np.ndarray:
    """Cosine of each angle in radians, same shape."""
    return filled(fill_cos, x)


def atan2_of(y: npt.ArrayLike, x: npt.ArrayLike) -> np.ndarray:
    """The angle of each point (x, y) in radians, from -pi to pi; shapes as NumPy matches them."""
    return filled(fill_atan2, y, x)


def length_of(*parts: npt.ArrayLike) -> Any:
    """Length of each vector, given by its parts: one number where they are numbers."""
    first, *others = (np.asarray(part, float) for part in parts)
    squares = first * first
    for other in others:
        squares = squares + other * other
    return np.sqrt(squares)


def powers(base: float, count: int) -> np.ndarray:
    """base**0, base**1, ... (count,), each from the one before by one product."""
    return np.cumprod(np.append(1.0, np.full(count - 1, base)))


def interpolated(x: npt.ArrayLike, at: npt.ArrayLike, values: npt.ArrayLike) -> np.ndarray:
    """The curve through `values` (n,) at rising places `at` (n,), straight between them and level
    beyond, at each x: same shape as x."""
    wanted, places, curve = (np.array(v, float) for v in (x, at, values))
    out = np.empty(wanted.size)
    fill_interpolated(wanted.ravel(), places, curve, out)
    return out.reshape(wanted.shape)


def product(a: npt.ArrayLike, b: npt.ArrayLike) -> np.ndarray:
    """Matrix product of a (..., k) and b (k, ...), each of one or two dimensions."""
    left, right = np.asarray(a, float), np.asarray(b, float)
    rows = left[None] if left.ndim == 1 else left
    columns = right[:, None] if right.ndim == 1 else right
    out = np.empty((len(rows), columns.shape[1]))
    fill_product(np.ascontiguousarray(rows), np.ascontiguousarray(columns), out)
    return out.reshape(left.shape[:-1] + right.shape[1:])
