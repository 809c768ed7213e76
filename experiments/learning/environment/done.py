"""What an agent does: where to recover to, and how hard, as numbers between -1 and 1."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from experiments.learning.environment.fields import Field, ends
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, RUN_OFF_BACK_M, RUN_OFF_SIDE_M
from sim.errors import InputError

UNIT_M = 8.0  # a power of two, so that a place keeps its bits on the way there and back
SIDE_M = HALF_WIDTH_M + RUN_OFF_SIDE_M

DONE = (
    Field("sideways", "8 m", -1.0, 1.0, "place to recover to, right of the centre line"),
    Field("depth", "8 m", -1.0, 1.0, "that place behind the baseline; below 0 inside the court"),
    Field("effort", "1", 0.0, 1.0, "share of the full sprint on the way; 0: the legs' own"),
)


def aims_of_actions(actions: npt.ArrayLike) -> np.ndarray:
    """What a recovery policy returns, (n, 3), for actions (n, 3): x and y in m, effort.

    Actions are kept inside their ranges, places inside the lines and the run-off.

    Raises:
        InputError: another shape, or a number that is not finite.
    """
    given = np.asarray(actions, float)
    if given.ndim != 2 or given.shape[1] != len(DONE):
        raise InputError(
            f"actions have the shape {given.shape}; give one row of {len(DONE)} numbers (sideways,"
            " depth, effort) for each rally"
        )
    if not np.isfinite(given).all():
        wrong = int(np.flatnonzero(~np.isfinite(given).all(axis=1))[0])
        raise InputError(f"action {wrong} is {given[wrong].tolist()}; all numbers must be finite")
    out = np.clip(given, *ends(DONE))
    out[:, 0] = np.clip(UNIT_M * out[:, 0], -SIDE_M, SIDE_M)
    out[:, 1] = -(HALF_LENGTH_M + np.minimum(UNIT_M * out[:, 1], RUN_OFF_BACK_M))
    return out


def actions_of_aims(aims: np.ndarray) -> np.ndarray:
    """The actions (n, 3) that lead to these aims (n, 2 or 3), to the bit from 5.95 m off the net
    on; what no action can say is kept inside the ranges."""
    out = np.zeros((len(aims), len(DONE)))
    out[:, 0] = aims[:, 0] / UNIT_M
    out[:, 1] = (-aims[:, 1] - HALF_LENGTH_M) / UNIT_M
    out[:, 2 : aims.shape[1]] = aims[:, 2:]
    return np.clip(out, *ends(DONE), out=out)
