"""Smooth curves and surfaces through values at even nodes."""

from __future__ import annotations

import numpy as np


def spline_weights(nodes: np.ndarray, at: np.ndarray) -> np.ndarray:
    """How much the value at each of n even nodes counts at each place, (places, n).

    The cubic spline through the values that has one cubic over the first two and over the last two
    gaps ("not a knot"; de Boor 1978, A Practical Guide to Splines, Springer; from memory). Four
    nodes at least; beyond the last ones the last cubics go on.
    """
    n, step = len(nodes), nodes[1] - nodes[0]
    bends = _bends(n) / (step * step)
    k = np.clip(((at - nodes[0]) / step).astype(int), 0, n - 2)
    up = (at - nodes[k]) / step
    down = 1.0 - up
    rows, out = np.arange(len(at)), np.zeros((len(at), n))
    out[rows, k] += down
    out[rows, k + 1] += up
    sixth = step * step / 6.0
    below, above = sixth * (down * down * down - down), sixth * (up * up * up - up)
    return np.asarray(out + below[:, None] * bends[k] + above[:, None] * bends[k + 1])


def _bends(n: int) -> np.ndarray:
    """The second derivative at each node for each unit of value, steps of 1, (n, n).

    It is straight over the first and over the last three nodes, which leaves those beside the ends
    without a neighbour in their equation.
    """
    left = 4.0 * np.eye(n - 2) + np.eye(n - 2, k=1) + np.eye(n - 2, k=-1)
    left[[0, -1]] = 0.0
    left[0, 0] = left[-1, -1] = 6.0
    right = 6.0 * (np.eye(n - 2, n) - 2.0 * np.eye(n - 2, n, k=1) + np.eye(n - 2, n, k=2))
    inner = _solved(left, right)
    return np.vstack([2.0 * inner[0] - inner[1], inner, 2.0 * inner[-1] - inner[-2]])


def _solved(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    """The solution of linear equations whose diagonal dominates, by Gauss and Jordan."""
    both = np.hstack([left, right])
    for i in range(len(both)):
        both[i] /= both[i, i]
        others = np.arange(len(both)) != i
        both[others] -= both[others, i][:, None] * both[i]
    return both[:, len(both) :]
