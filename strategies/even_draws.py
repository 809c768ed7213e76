"""Numbers that fill a cube evenly, for means that a few strokes have to give."""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic import exp, log
from sim.compiled import kernel

LEAST = 2.0**-53  # above 0, and so much below 1


@kernel
def fill_even(shift, out):  # type: ignore[no-untyped-def]
    """Fill numbers (count, dimensions): see `even_uniforms`."""
    dimensions, root, share = shift.size, 1.5, 1.0
    for _ in range(60):
        root = exp(log(1.0 + root) / (dimensions + 1))
    for d in range(dimensions):
        share *= 1.0 / root
        for k in range(out.shape[0]):
            place = shift[d] + (k + 1) * share
            out[k, d] = min(max(place - math.floor(place), LEAST), 1.0 - LEAST)


def even_uniforms(shift: np.ndarray, count: int) -> np.ndarray:
    """Uniform numbers (count, dimensions) that fill the cube evenly, turned as a whole by `shift`.

    An additive lattice with the powers of 1/g, g the root of g^(d + 1) = g + 1 (Roberts 2018, from
    memory), and a shift between 0 and 1 in each of the d dimensions (Cranley and Patterson 1976,
    from memory). Means over it have far less noise than means over independent numbers; what
    noise is left shows in the spread over random shifts.
    """
    out = np.empty((count, len(shift)))
    fill_even(np.ascontiguousarray(shift, float), out)
    return out
