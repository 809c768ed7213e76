"""Which kind of stroke a ball allows: a wish becomes what height, time and stretch leave of it.

A ball that comes low is scooped or half-volleyed; one reached late is blocked, sliced or sent up
high; one that has not bounced is volleyed; one overhead is smashed. Where a kind begins is drawn:
its chance grows smoothly with height, time and stretch, so that nothing jumps for anybody who
stands or runs a little differently.
"""

from __future__ import annotations

import numpy as np

from sim.arithmetic import exp
from sim.compiled import kernel
from sim.kinds import (
    BLOCK,
    FIRST_SERVE,
    HALF_VOLLEY,
    HIGH_BALL,
    OVERHEAD,
    SCOOP,
    SLICE,
    VOLLEY,
)
from sim.records import BACKHAND

# Targets of strokes that were not chosen: this share of the way to the side, so deep.
SAFE_WIDTH_SHARE, HIGH_DEPTH_M, BLOCK_DEPTH_M, SCOOP_DEPTH_M = 0.7, 9.4, 8.4, 8.2
OVERHEAD_WIDTH_M, OVERHEAD_NET_M = 0.5, 9.0
OFF_FOREHAND_SHARE = 0.2  # of the weight of a late slice on the backhand


@kernel
def smooth(x):  # type: ignore[no-untyped-def]
    """From 0 at 0 to 1 at 1, flat at both ends."""
    t = max(0.0, min(1.0, x))
    return t * t * (3.0 - 2.0 * t)


@kernel
def low_chance(z, hitter):  # type: ignore[no-untyped-def]
    """Chance that a ball at that height is too low to be driven: all at half of the height."""
    if hitter.scoop_height_m <= 0.0:
        return 0.0
    return smooth(2.0 * (1.0 - z / hitter.scoop_height_m))


@kernel
def overhead_chance(z, hitter):  # type: ignore[no-untyped-def]
    """Chance that a ball at that height is smashed."""
    return smooth((z - hitter.overhead_from_m) / OVERHEAD_WIDTH_M + 0.5)


@kernel
def late_kind(c, draw, hitter):  # type: ignore[no-untyped-def]
    """The kind that a late player falls back on; -1: none is at hand."""
    block = hitter.block_weight * (0.25 + 0.75 * c.stretch)
    high = hitter.high_weight * (1.0 - 0.75 * c.stretch)
    cut = hitter.late_slice_weight * (1.0 if c.wing == BACKHAND else OFF_FOREHAND_SHARE)
    left = draw * (block + high + cut)
    if block + high + cut <= 0.0:
        return -1
    if left < block:
        return BLOCK
    return HIGH_BALL if left < block + high else SLICE


@kernel
def kind_for(wished, c, draw, hitter):  # type: ignore[no-untyped-def]
    """The kind that is played from a CONTACT where `wished` was meant; one uniform number."""
    if wished >= FIRST_SERVE:
        return wished
    smashed = overhead_chance(c.z_m, hitter)
    if c.volley:
        return OVERHEAD if draw < smashed else VOLLEY
    if draw < smashed * smooth((OVERHEAD_NET_M + c.y_m) / 3.0):
        return OVERHEAD
    low = low_chance(c.z_m, hitter)
    if draw < low:
        return HALF_VOLLEY if draw < low * smooth(0.5 + 0.5 * c.rise_m_s) else SCOOP
    late = 1.0 / (1.0 + exp((c.quality - hitter.late_quality) / hitter.late_width))
    if 1.0 - draw < late:
        fallback = late_kind(c, (1.0 - draw) / late, hitter)
        return wished if fallback < 0 else fallback
    return wished


@kernel
def settle_all(contacts, chance, hitters, intents):  # type: ignore[no-untyped-def]
    """Give each intent the kind that its contact allows, and a safe target where it was forced."""
    hitter = hitters[0]
    for i in range(intents.shape[0]):
        wish = intents[i]
        kind = kind_for(wish.kind, contacts[i], chance[i], hitter)
        if kind not in (wish.kind, VOLLEY, OVERHEAD):
            wish.target_x_m *= SAFE_WIDTH_SHARE
            if kind in (HIGH_BALL, SLICE):
                wish.target_y_m = HIGH_DEPTH_M
            else:
                wish.target_y_m = BLOCK_DEPTH_M if kind == BLOCK else SCOOP_DEPTH_M
        wish.kind = kind


def settled(
    intents: np.ndarray, contacts: np.ndarray, chance: np.ndarray, hitter: np.ndarray
) -> np.ndarray:
    """INTENT records (n,) of the kinds that can be played from CONTACT records (n,).

    `chance` are uniform numbers (n,), `hitter` a HITTER record of length one.
    """
    out = intents.copy()
    settle_all(contacts, np.ascontiguousarray(chance), hitter, out)
    return out
