"""Spots that a player can stand on."""

from __future__ import annotations

from typing import Any

import numpy as np

from sim.compiled import kernel
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, RUN_OFF_BACK_M, RUN_OFF_SIDE_M
from sim.errors import InputError
from sim.parameter import parameter
from sim.players import Player
from strategies.directions import hand_of

SIDE_LIMIT_M = HALF_WIDTH_M + RUN_OFF_SIDE_M
# Policies that choose how deep to stand keep between these depths behind the baseline.
FRONT_LIMIT_M, BACK_LIMIT_M = -2.0, RUN_OFF_BACK_M


@kernel
def stand(x, line, out):  # type: ignore[no-untyped-def]
    """Fill one spot `line` metres behind the net, the lateral place kept inside the run-off."""
    out[0], out[1] = min(max(x, -SIDE_LIMIT_M), SIDE_LIMIT_M), -line


@kernel
def stand_deep(x, behind, effort, out):  # type: ignore[no-untyped-def]
    """Fill one spot `behind` the baseline, kept within the limits, and the effort of the way."""
    stand(x, HALF_LENGTH_M + min(max(behind, FRONT_LIMIT_M), BACK_LIMIT_M), out)
    out[2] = effort


def standing(seen: Situation, x_m: np.ndarray) -> np.ndarray:
    """Spots (n, 2) at the waiting depth, the lateral places kept inside the run-off."""
    return seen.spots_at(np.clip(x_m, -SIDE_LIMIT_M, SIDE_LIMIT_M))


def resting() -> Any:
    """The field `toward_backhand_m` of a policy."""
    return parameter(
        0.0,
        "m",
        "how far toward the own backhand side of the spot to stand, so as to play forehands",
        low=0.0,
        high=0.9,
        source="two men rest 0.59 m (0.32 to 0.85) toward the backhand side (one tracked final)",
    )


def toward_backhand(me: Player, metres: float) -> float:
    """Metres to the right that are `metres` toward the own backhand side.

    For none it is -0.0, which added to any number leaves it, 0.0 and -0.0 too, as it is.
    """
    return -hand_of(me) * metres if metres else -0.0


def require_shares(policy: Any, *names: str) -> None:
    """Refuse a policy of which one of the named shares is above 1.

    Raises:
        InputError: names the class, the parameter, the value and the range.
    """
    for name in names:
        value = getattr(policy, name)
        if value > 1:
            raise InputError(f"{type(policy).__name__}.{name} is {value:g}; allowed: 0 to 1")
