"""A user's own policies and shot models, watched: whatever goes wrong in them becomes a message."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sim.contracts import RecoveryPolicy, ShotModel, ShotSituation, Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, RUN_OFF_BACK_M, RUN_OFF_SIDE_M
from sim.errors import InputError
from sim.hitter import RPM
from sim.kinds import KINDS
from sim.records import INTENT
from strategies.limits import FARTHEST_X_M, FARTHEST_Y_M, FASTEST_M_S, MOST_SPIN_RPM
from strategies.user_file import asked

SIDE_M, BACK_M = HALF_WIDTH_M + RUN_OFF_SIDE_M, HALF_LENGTH_M + RUN_OFF_BACK_M
NEAR_NET_M = 1.0  # a spot in centimetres is no nearer to the net
FASTEST_KM_H = 3.6 * FASTEST_M_S
MOST_SPIN_RAD_S = MOST_SPIN_RPM * RPM
INTENT_LIMITS = {  # name: (lowest, highest, what is allowed)
    "target_x_m": (-FARTHEST_X_M, FARTHEST_X_M, f"{-FARTHEST_X_M:g} to {FARTHEST_X_M:g} m"),
    "target_y_m": (
        np.nextafter(0.0, 1.0),
        FARTHEST_Y_M,
        f"beyond the net, above 0 to {FARTHEST_Y_M:g} m",
    ),
    "speed_m_s": (np.nextafter(0.0, 1.0), FASTEST_M_S, f"above 0 to {FASTEST_M_S:g} m/s"),
    "topspin_rad_s": (-MOST_SPIN_RAD_S, MOST_SPIN_RAD_S, f"at most {MOST_SPIN_RAD_S:.0f} rad/s"),
    "sidespin_rad_s": (-MOST_SPIN_RAD_S, MOST_SPIN_RAD_S, f"at most {MOST_SPIN_RAD_S:.0f} rad/s"),
}


@dataclass(frozen=True)
class WatchedPolicy:
    """A user's own policy whose mistakes end a run with a message instead of a traceback."""

    policy: RecoveryPolicy = field(compare=False)
    text: str
    name: str
    placeable: bool
    chooses_depth: bool = False

    def spots(self, seen: Situation) -> np.ndarray:
        spots = _numbers(self.text, "spots", asked(self.text, lambda: self.policy.spots(seen)))
        if spots.shape not in ((len(seen), 2), (len(seen), 3)):
            raise InputError(
                f"{self.text}: spots has the shape {spots.shape}; give one row of x and y"
                f" for each of the rallies seen, here {(len(seen), 2)}, or of x, y and effort"
            )
        effort = spots[:, 2:]
        if not ((effort >= 0.0) & (effort <= 1.0)).all():
            raise InputError(
                f"{self.text}: an effort is {effort[~((effort >= 0.0) & (effort <= 1.0))][0]:g};"
                " allowed: 0 (what the legs do by themselves) to 1 (a full sprint)"
            )
        x, y = spots[:, :2].T
        wrong = ~((np.abs(x) <= SIDE_M) & (y < 0) & (y >= -BACK_M))
        if wrong.any():
            raise _no_spot(self.text, *spots[wrong][0, :2])
        return spots


def _no_spot(text: str, x: float, y: float) -> InputError:
    centimetres = abs(x) <= 100 * SIDE_M and 100 * NEAR_NET_M <= -y <= 100 * BACK_M
    seems = f"; it seems to be in centimetres: give ({x / 100:g}, {y / 100:g})"
    return InputError(
        f"{text}: the spot ({x:g}, {y:g}) cannot be stood on{seems if centimetres else ''}. In"
        f" metres, x goes from {-SIDE_M:.2f} to {SIDE_M:.2f} and y, negative on the own side of the"
        f" net, down to {-BACK_M:.2f} (the lines and the run-off)"
    )


@dataclass(frozen=True)
class WatchedShots:
    """A user's own shot model whose mistakes end a run with a message."""

    shots: ShotModel = field(compare=False)
    text: str
    name: str
    draws: int
    sees_receiver: bool

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        intents = asked(self.text, lambda: np.array(self.shots.intents(seen, chance)))
        if intents.dtype != INTENT or intents.shape != (len(seen),):
            raise InputError(
                f"{self.text}: intents gives {intents.dtype} of shape {intents.shape}; give INTENT"
                f" records (sim.contracts.intents_of makes them) of shape {(len(seen),)}"
            )
        for name, (low, high, allowed) in INTENT_LIMITS.items():
            wrong = ~((intents[name] >= low) & (intents[name] <= high))
            if wrong.any():
                raise _no_intent(self.text, name, float(intents[name][wrong][0]), allowed)
        _require_kinds(self.text, intents["kind"])
        return intents


def _require_kinds(text: str, kinds: np.ndarray) -> None:
    wrong = (kinds < 0) | (kinds >= len(KINDS))
    if wrong.any():
        known = ", ".join(f"{number} {name}" for number, name in enumerate(KINDS))
        raise InputError(
            f"{text}: kind of an intent is {kinds[wrong][0]}; allowed: the numbers of sim.kinds"
            f" ({known})"
        )


def _no_intent(text: str, name: str, value: float, allowed: str) -> InputError:
    kilometres = name == "speed_m_s" and FASTEST_M_S < value <= FASTEST_KM_H
    seems = f"; it seems to be in km/h: give {value / 3.6:.1f}" if kilometres else ""
    return InputError(
        f"{text}: {name} of an intent is {value:g}{seems}; allowed: a finite number, {allowed}"
    )


def _numbers(text: str, what: str, answer: object) -> np.ndarray:
    """The answer as an array of floats that is nobody else's."""
    values = asked(text, lambda: np.asarray(answer))
    if values.dtype.kind not in "fiu":
        raise InputError(
            f"{text}: {what} holds no plain numbers ({type(answer).__name__} of"
            f" {values.dtype}); give an array of floats"
        )
    return np.array(values, float, order="C")
