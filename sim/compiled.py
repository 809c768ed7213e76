"""Compilation of the numerical kernels."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

# A vector maths library would give the last rows of a batch other bits than the first ones.
os.environ.setdefault("NUMBA_DISABLE_INTEL_SVML", "1")

import numba  # noqa: E402


def kernel(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compile a function to machine code: strict arithmetic, no parallel reduction, cached."""
    return numba.njit(cache=True, nogil=True, error_model="numpy")(function)
