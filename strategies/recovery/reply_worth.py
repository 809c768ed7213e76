"""What a ball costs that comes back, by the time to spare and the depth of the own contact.

Points lost less points won from there on. Fitted by least squares to whole rallies of this model
in which the studied player waits at a depth drawn anew for each ball, 2 m inside the baseline to
6 m behind it (tests/fit_reply_worth.py). Straight between the nodes, and beyond them as there.
"""

from __future__ import annotations

import numpy as np

from sim.over_arrays import product

SPARE_S = np.array([0.0, 0.2, 0.5, 1.0, 1.6])
BEHIND_M = np.array([-5.0, -2.0, 0.0, 2.0, 4.0])  # contacts behind the baseline
# One row for each time to spare.
COST = np.array(
    [
        [-0.09, 0.24, 0.23, 0.33, 0.32],
        [-0.07, 0.22, 0.18, 0.27, 0.37],
        [-0.16, 0.05, 0.10, 0.15, 0.11],
        [-0.27, -0.01, 0.05, 0.06, 0.08],
        [-0.18, -0.02, 0.04, 0.09, 0.10],
    ]
)


def hats(values: np.ndarray, nodes: np.ndarray) -> np.ndarray:
    """How much each node counts for each value, (n, nodes): straight between them, adding to 1."""
    inside = np.clip(values, nodes[0], nodes[-1])[:, None]
    gaps = np.diff(nodes)
    up = np.clip((inside - nodes[:-1]) / gaps, 0.0, 1.0)
    down = np.clip((nodes[1:] - inside) / gaps, 0.0, 1.0)
    out = np.ones((len(values), len(nodes)))
    out[:, 1:] *= up
    out[:, :-1] *= down
    return out


def shares_of(spare_s: np.ndarray, behind_m: np.ndarray) -> np.ndarray:
    """How much each entry of COST counts for each ball, (n, entries)."""
    both = hats(spare_s, SPARE_S)[:, :, None] * hats(behind_m, BEHIND_M)[:, None]
    return both.reshape(len(spare_s), COST.size)


def reply_cost(spare_s: np.ndarray, behind_m: np.ndarray) -> np.ndarray:
    """What balls cost that come back, (n,): played with so much time to spare, so far back."""
    return product(shares_of(spare_s, behind_m), COST.ravel())
