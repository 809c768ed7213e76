"""One record a ball or rally: what a headline and its interval are made of, in few bytes.

A record holds what a cell's tally adds up and, of the last ball that the studied player had to
recover to, where it was struck, how it was met and with how much time to spare. A missed ball ends
a rally, so what is missed is missed at the last ball.
"""

from __future__ import annotations

import numpy as np

from experiments.statistics.tally import COLUMNS, is_faced
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.records import MISSED, UNRETURNED

# Where the opponent strikes: metres off the centre line, and short: so far inside the baseline.
# Common practice, no source; the places of the bundled studies lie in the zones of their names.
MIDDLE_M, CORNER_M, SHORT_M = 1.0, 2.5, 2.0
ZONES = ("middle", "off centre", "corner", "wide", "short", "short wide")
SHORT = ZONES.index("short")

NOT_REACHED, NOT_RETURNED, RETURNED = 0, 1, 2
MET = ("not reached", "not returned", "returned")

SPARE_EDGES_S = (-0.2, 0.0, 0.2, 0.5)
SPARE = (
    "late by 0.2 s or more",
    "late by less than 0.2 s",
    "less than 0.2 s to spare",
    "0.2 to 0.5 s to spare",
    "0.5 s or more to spare",
)

NONE = -1  # of a rally in which there was no such ball
RALLY = np.dtype(
    [
        ("replicate", np.int64),
        ("points", np.float32),
        ("balls", np.uint16),
        ("missed", np.uint8),
        ("strokes", np.uint16),
        ("last_from", np.int8),
        ("last_met", np.int8),
        ("last_spare", np.int8),
        ("balls_from", np.uint16, (len(ZONES),)),
    ]
)


def zones_at(x_m: np.ndarray, y_m: np.ndarray) -> np.ndarray:
    """The zone, a number in ZONES, of each place at which the opponent strikes."""
    across = np.digitize(np.abs(x_m), (MIDDLE_M, CORNER_M, HALF_WIDTH_M))
    is_short = y_m < HALF_LENGTH_M - SHORT_M
    return np.where(is_short, SHORT + (across >= ZONES.index("corner")), across)


def rally_rows(strokes: np.ndarray, replicates: np.ndarray, table: np.ndarray) -> np.ndarray:
    """The RALLY records (n,) of balls or rallies, from their STROKE records and tally table (n, k).

    Replicates are counted from the first of the game, as in the strokes.
    """
    out = np.zeros(len(replicates), RALLY)
    out["replicate"] = replicates
    for name in ("points", "balls", "missed", "strokes"):
        out[name] = table[:, COLUMNS.index(name)]
    at = np.flatnonzero(is_faced(strokes))
    row, balls = np.searchsorted(replicates, strokes["replicate"][at]), strokes[at]
    zones = zones_at(balls["hitter_x_m"], balls["hitter_y_m"])
    np.add.at(out["balls_from"], (row, zones), 1)
    is_last = np.append(row[1:] != row[:-1], True)[: len(row)]
    for name in ("last_from", "last_met", "last_spare"):
        out[name] = NONE
    row, balls = row[is_last], balls[is_last]
    out["last_from"][row] = zones[is_last]
    reached = np.where(balls["ending"] == UNRETURNED, NOT_RETURNED, RETURNED)
    out["last_met"][row] = np.where(balls["grade"] == MISSED, NOT_REACHED, reached)
    out["last_spare"][row] = np.digitize(balls["time_to_spare_s"], SPARE_EDGES_S)
    return out
