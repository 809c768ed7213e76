"""Elementary functions of whole arrays, with the digits of `sim.arithmetic` one by one."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from sim.arithmetic import atan2, cos, exp, expm1, log, sin
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
def fill_sin(x, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = sin(x[i])


@kernel
def fill_cos(x, out):  # type: ignore[no-untyped-def]
    for i in range(x.size):
        out[i] = cos(x[i])


@kernel
def fill_atan2(y, x, out):  # type: ignore[no-untyped-def]
    for i in range(y.size):
        out[i] = atan2(y[i], x[i])


def _filled(fill: Callable[..., None], *values: npt.ArrayLike) -> np.ndarray:
    arrays = np.broadcast_arrays(*(np.asarray(v, float) for v in values))
    out = np.empty(arrays[0].size)
    fill(*(np.array(a).ravel() for a in arrays), out)
    return out.reshape(arrays[0].shape)


def exp_of(x: npt.ArrayLike) -> np.ndarray:
    """e to the power of each number, same shape."""
    return _filled(fill_exp, x)


def expm1_of(x: npt.ArrayLike) -> np.ndarray:
    """e to the power of each number less 1, same shape."""
    return _filled(fill_expm1, x)


def log_of(x: npt.ArrayLike) -> np.ndarray:
    """Natural logarithm of each number, same shape."""
    return _filled(fill_log, x)


def sin_of(x: npt.ArrayLike) -> np.ndarray:
    """Sine of each angle in radians, same shape."""
    return _filled(fill_sin, x)


def cos_of(x: npt.ArrayLike) -> np.ndarray:
    """Cosine of each angle in radians, same shape."""
    return _filled(fill_cos, x)


def atan2_of(y: npt.ArrayLike, x: npt.ArrayLike) -> np.ndarray:
    """The angle of each point (x, y) in radians, from -pi to pi; shapes as NumPy matches them."""
    return _filled(fill_atan2, y, x)
