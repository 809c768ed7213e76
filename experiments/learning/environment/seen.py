"""What an agent sees when it decides: an observation from a `Situation`, for whoever asks."""

from __future__ import annotations

import numpy as np

from experiments.learning.environment.fields import Field, ends
from sim.contracts import Situation
from sim.players import Player

LONGEST_S = 5.0

# In the own frame: x to the right and y forward from under the net's centre, own side at y < 0.
SEEN = (
    Field("own_x_m", "m", -15.0, 15.0, "own place at the own stroke, to the right"),
    Field("own_y_m", "m", -25.0, 0.0, "own place at the own stroke, forward"),
    Field("own_vx_m_s", "m/s", -12.0, 12.0, "own velocity at the own stroke, to the right"),
    Field("own_vy_m_s", "m/s", -12.0, 12.0, "own velocity at the own stroke, forward"),
    Field("opponent_x_m", "m", -15.0, 15.0, "where the opponent will strike, to the right"),
    Field("opponent_y_m", "m", 0.0, 25.0, "where the opponent will strike, from the net"),
    Field("opponent_z_m", "m", 0.0, 4.0, "height of that ball"),
    Field("quality", "1", 0.0, 1.0, "how well the opponent will be at that ball"),
    Field("wing", "1", -1.0, 1.0, "the opponent's wing: forehand 1, backhand -1"),
    Field("rise_m_s", "m/s", -25.0, 25.0, "speed upward of that ball"),
    Field("volley", "1", 0.0, 1.0, "1 where that ball will not have bounced"),
    Field("time_s", "s", 0.0, LONGEST_S, "until the opponent strikes; the most at an opening"),
    Field("own_hand", "1", -1.0, 1.0, "right 1, left -1"),
    Field("opponent_hand", "1", -1.0, 1.0, "right 1, left -1"),
    Field("opening", "1", 0.0, 1.0, "1 before the first stroke, in no hurry, else 0"),
)
BISECTOR = Field("bisector_x_m", "m", -15.0, 15.0, "where the bisector meets the waiting line")
COLUMN = {field.name: k for k, field in enumerate((*SEEN, BISECTOR))}


def fields(bisector: bool) -> tuple[Field, ...]:
    """The columns of an observation, with or without that of the bisector, the last one."""
    return (*SEEN, BISECTOR) if bisector else SEEN


def observed(seen: Situation, bisector: bool = False) -> np.ndarray:
    """Observations (n, columns) of what a side sees, float64, kept inside the stated ranges."""
    body, contact, out = seen.body, seen.contact, np.empty((len(seen), len(fields(bisector))))
    hands = np.full(len(seen), _sign(seen.me)), np.full(len(seen), _sign(seen.opponent))
    columns = (
        *(body[name] for name in ("x_m", "y_m", "vx_m_s", "vy_m_s")),
        *(contact[name] for name in ("x_m", "y_m", "z_m", "quality", "wing", "rise_m_s")),
        contact["volley"],
        seen.time_s,
        *hands,
        np.isinf(seen.time_s),
    )
    for k, column in enumerate((*columns, seen.bisector_x_m) if bisector else columns):
        out[:, k] = column
    return np.clip(out, *ends(fields(bisector)), out=out)


def _sign(player: Player) -> float:
    return 1.0 if player.hand == "right" else -1.0
