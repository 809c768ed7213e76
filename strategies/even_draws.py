"""Numbers that fill a cube evenly, for means that a few strokes have to give."""

from __future__ import annotations

import numpy as np

from sim.arithmetic import exp, log
from sim.over_arrays import powers


def even_uniforms(shift: np.ndarray, count: int) -> np.ndarray:
    """Uniform numbers (count, dimensions) that fill the cube evenly, turned as a whole by `shift`.

    An additive lattice with the powers of 1/g, g the root of g^(d + 1) = g + 1 (Roberts 2018, from
    memory), and a shift between 0 and 1 in each of the d dimensions (Cranley and Patterson 1976,
    from memory). Means over it have far less noise than means over independent numbers; what
    noise is left shows in the spread over random shifts.
    """
    dimensions, root = len(shift), 1.5
    for _ in range(60):
        root = exp(log(1.0 + root) / (dimensions + 1))
    steps = np.arange(1, count + 1)[:, None] * powers(1.0 / root, dimensions + 1)[1:]
    return np.clip((shift + steps) % 1.0, 2.0**-53, 1.0 - 2.0**-53)
