"""What a ball costs that comes back, by the time to spare and the depth of the own contact.

Points lost less points won from there on. Fitted by least squares to whole rallies of this model
in which the studied player waits at a depth drawn anew for each ball, 2 m inside the baseline to
6 m behind it (tests/fit_reply_worth.py). Straight between the nodes, and beyond them as there.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from sim.compiled import kernel

SPARE_S = (0.0, 0.2, 0.5, 1.0, 1.6)
BEHIND_M = (-5.0, -2.0, 0.0, 2.0, 4.0)  # contacts behind the baseline
# One row for each time to spare.
COST = np.array(
    [
        [-0.15, 0.22, 0.15, 0.25, 0.29],
        [-0.16, 0.09, 0.11, 0.14, 0.22],
        [-0.20, 0.03, 0.08, 0.11, 0.15],
        [-0.27, 0.01, 0.04, 0.10, 0.12],
        [-0.18, -0.01, 0.06, 0.08, 0.13],
    ]
)


ENTRIES = tuple(COST.ravel().tolist())


@kernel
def hat(value, nodes, k):  # type: ignore[no-untyped-def]
    """How much node k counts for a value: straight between the nodes, adding to 1."""
    inside, weight = min(max(value, nodes[0]), nodes[len(nodes) - 1]), 1.0
    if k > 0:
        weight *= min(max((inside - nodes[k - 1]) / (nodes[k] - nodes[k - 1]), 0.0), 1.0)
    if k < len(nodes) - 1:
        weight *= min(max((nodes[k + 1] - inside) / (nodes[k + 1] - nodes[k]), 0.0), 1.0)
    return weight


@kernel
def reply_cost(spare, behind):  # type: ignore[no-untyped-def]
    """What a ball costs that comes back: played with so much time to spare, so far back."""
    total = 0.0
    for i in range(len(SPARE_S)):
        share = hat(spare, SPARE_S, i)
        if share > 0.0:
            for j in range(len(BEHIND_M)):
                total += share * hat(behind, BEHIND_M, j) * ENTRIES[i * len(BEHIND_M) + j]
    return total


@kernel
def fill_hats(values, nodes, out):  # type: ignore[no-untyped-def]
    for i in range(out.shape[0]):
        for k in range(out.shape[1]):
            out[i, k] = hat(values[i], nodes, k)


def hats(values: npt.ArrayLike, nodes: npt.ArrayLike) -> np.ndarray:
    """How much each node counts for each value, (n, nodes): see `hat`."""
    each, places = (np.array(v, float) for v in (values, nodes))
    out = np.empty((len(each), len(places)))
    fill_hats(each, places, out)
    return out


def shares_of(spare_s: np.ndarray, behind_m: np.ndarray) -> np.ndarray:
    """How much each entry of COST counts for each ball, (n, entries)."""
    both = hats(spare_s, SPARE_S)[:, :, None] * hats(behind_m, BEHIND_M)[:, None]
    return both.reshape(len(spare_s), COST.size)
