"""Points written by hand, as STROKE records."""

from __future__ import annotations

import numpy as np

from sim.records import (
    FORCED_ERROR,
    FOREHAND,
    GOING,
    LONG,
    MISSED,
    SET,
    STROKE,
    UNFORCED_ERROR,
    WINNER,
)

BACK_M = 12.0


def point_of(
    replicate: int,
    *kinds: int,
    ending: int,
    wing: int = FOREHAND,
    first_side: int = 1,
    **fields: tuple[float, ...],
) -> np.ndarray:
    """A point of so many strokes from the baselines; `fields` change strokes, one value each."""
    s = np.zeros(len(kinds), STROKE)
    s["replicate"], s["stroke"], s["kind"] = replicate, np.arange(len(kinds)), kinds
    s["side"] = (first_side + np.arange(len(kinds))) % 2
    s["hitter_wing"], s["grade"], s["hitter_y_m"], s["receiver_y_m"] = wing, SET, BACK_M, -BACK_M
    s["landing_y_m"], s["landing_time_s"], s["meeting_y_m"], s["meeting_time_s"] = -9, 1, -12, 1.5
    s["ending"] = GOING
    s["ending"][-1] = ending
    if ending in (FORCED_ERROR, UNFORCED_ERROR):
        s["outcome"][-1] = LONG
    if ending == WINNER:
        s["grade"][-1] = MISSED
    for name, values in fields.items():
        s[name] = values
    return s
