"""Coefficients of a straight line or plane through points, with errors that ask for no model."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from experiments.evidence.validation.estimates import Estimate, normal


def coefficient(
    which: int, columns: Sequence[np.ndarray], values: np.ndarray, rallies: np.ndarray
) -> Estimate:
    """Least squares of the values on the columns: the coefficient of the column `which`.

    It is that of the values on what the other columns leave of this one (Frisch and Waugh 1933,
    Econometrica 1, 387; memory). The standard error is the sandwich of White (1980, Econometrica
    48, 817; memory) with whole rallies as the independent units. NaN where the others leave
    nothing.
    """
    own, off, basis = _fitted(which, columns, values)
    left = float((own * own).sum())
    units = len(np.unique(rallies))
    if not left > 1e-12 * float((columns[which] * columns[which]).sum()) or units <= len(basis):
        return normal(math.nan, math.nan)
    _, index = np.unique(rallies, return_inverse=True)
    shifts = np.bincount(index, weights=own * off)
    se = math.sqrt(units / (units - len(basis)) * float((shifts * shifts).sum())) / left
    return normal(float((own * values).sum()) / left, se, units)


def spread(columns: Sequence[np.ndarray], values: np.ndarray) -> Estimate:
    """Standard deviation of independent values about their least squares on the columns."""
    _, off, basis = _fitted(0, columns, values)
    freedom = len(values) - len(basis)
    if freedom < 1:
        return normal(math.nan, math.nan)
    squares = off * off
    found = math.sqrt(float(squares.sum()) / freedom)
    if found == 0.0:
        return normal(0.0, 0.0)
    return normal(found, float(squares.std()) / math.sqrt(len(values)) / (2 * found), len(values))


def _fitted(
    which: int, columns: Sequence[np.ndarray], values: np.ndarray
) -> tuple[np.ndarray, np.ndarray, list[np.ndarray]]:
    """What the other columns leave of this one, what all leave of the values, and all of them at
    right angles to each other."""
    basis: list[np.ndarray] = []
    for column in (*columns[:which], *columns[which + 1 :], columns[which]):
        basis.append(_cleared(column, basis))
    return basis[-1], _cleared(values, basis), basis


def _cleared(values: np.ndarray, basis: Sequence[np.ndarray]) -> np.ndarray:
    """What is left of the values when their share along each of the basis is taken off."""
    for along in basis:
        size = float((along * along).sum())
        if size > 0.0:
            values = values - float((along * values).sum()) / size * along
    return values
