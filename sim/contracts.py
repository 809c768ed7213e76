"""What decisions see and return: the contracts that policies and shot models implement.

Every decision is made in the decider's own frame: own side at y < 0, the other at y > 0. All
methods work on arrays, one entry a rally; entry i of an answer may depend on entry i of what is
seen and on nothing else, so a batch gives each rally the bits that it gets alone. Write answers
with element-wise arithmetic; no sums or products across the batch.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol, runtime_checkable

import numpy as np

from sim.belief import Belief
from sim.court import HALF_LENGTH_M
from sim.envelope import DriveLimits, bisector_x_m, extremes_from
from sim.handover import turned as turned
from sim.kinds import DRIVE
from sim.meeting import appraisals
from sim.players import Player
from sim.records import BODY, CONTACT, INTENT
from sim.stroke import fly_drives


@dataclass(frozen=True)
class Situation:
    """What a player can see when choosing where to recover to; never the coming shot.

    The arrays are read-only: what a policy does cannot change what others see.

    body: BODY records (n,), own place and velocity at the own contact.
    contact: CONTACT records (n,), the opponent's probable contact, at y > 0 in the own frame.
    time_s: (n,), time until that contact; inf where the player is already placed.
    own_ball: BALL records (n,) of the own stroke in the opponent's frame, or None.
    world: WORLD record in the own frame. depth_m: waiting depth behind the own baseline.
    """

    me: Player
    opponent: Player
    world: np.ndarray
    depth_m: float
    body: np.ndarray
    contact: np.ndarray
    time_s: np.ndarray
    own_ball: np.ndarray | None = None
    belief: Belief = field(default_factory=Belief)
    limits: DriveLimits = field(default_factory=DriveLimits)

    def __post_init__(self) -> None:
        seal(self, "body", "contact", "time_s", "own_ball")

    def __len__(self) -> int:
        return len(self.contact)

    @property
    def line_m(self) -> float:
        """Distance of the waiting depth from the net."""
        return HALF_LENGTH_M + self.depth_m

    @cached_property
    def opponent_speed_m_s(self) -> np.ndarray:
        """The opponent's usual speed with the wing of the probable contact, shape (n,)."""
        return self.opponent.hitter.speed_m_s(self.contact["wing"])

    @cached_property
    def extremes(self) -> np.ndarray:
        """The two extreme drives: EXTREME records (n, 2), left and right."""
        return self.extremes_by(self.limits)

    @cached_property
    def fastest_extremes(self) -> np.ndarray:
        """The two extreme drives at the highest speed that they allow: EXTREME records (n, 2)."""
        return self.extremes_by(self.limits, fastest=True)

    def extremes_by(self, limits: DriveLimits, fastest: bool = False) -> np.ndarray:
        """The two extreme drives by other limits than the situation's: EXTREME records (n, 2)."""
        return extremes_from(self.contact, self.opponent.hitter, self.world, limits, fastest)

    @cached_property
    def bisector_x_m(self) -> np.ndarray:
        """Where the bisector of the two extreme paths meets the waiting depth, shape (n,)."""
        return self.halfway_x_m(self.extremes)

    def halfway_x_m(
        self, extremes: np.ndarray, line_m: float | np.ndarray | None = None
    ) -> np.ndarray:
        """Where the bisector of these paths (EXTREME records (n, 2)) meets the waiting depth, or
        a line `line_m` from the net, one for all or (n,)."""
        line = self.line_m if line_m is None else line_m
        return bisector_x_m(self.contact["x_m"], self.contact["y_m"], extremes, line)

    def time_to_spare_s(self, flown: tuple[np.ndarray, np.ndarray], x_m: np.ndarray) -> np.ndarray:
        """Time to spare against exact drives from places at the waiting depth.

        `flown` are the balls and paths of one drive a rally (see `drive_paths`); `x_m` the lateral
        places, (n, places). Returns (n, places); -1e9 where the ball cannot be played at all, NaN
        where it is not in.
        """
        y = np.full(x_m.shape, -self.line_m)
        legs = self.me.legs
        return appraisals(*flown, x_m, y, legs.numbers, legs.times)[0]

    def drive_paths(self, drives: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """BALL records (n,) and paths of exact drives (EXTREME records) toward the own side."""
        return fly_drives(self.contact, drives, self.world)

    def spots_at(self, x_m: np.ndarray) -> np.ndarray:
        """Spots (n, 2) at the lateral places `x_m` and the waiting depth."""
        return np.stack([x_m, np.full(len(self), -self.line_m)], axis=1)


@dataclass(frozen=True)
class ShotSituation:
    """What a hitter can see at the ball; the arrays are read-only.

    contact: CONTACT records (n,), own, at y < 0. receiver: BODY records (n,) at y > 0, place and
    velocity at this moment. world: WORLD record in the receiver's frame.
    """

    me: Player
    opponent: Player
    world: np.ndarray
    contact: np.ndarray
    receiver: np.ndarray
    receiver_depth_m: float = 1.3

    def __post_init__(self) -> None:
        seal(self, "contact", "receiver")

    def __len__(self) -> int:
        return len(self.contact)

    @cached_property
    def speed_m_s(self) -> np.ndarray:
        """The own usual speed with the wing of the contact, shape (n,)."""
        return self.me.hitter.speed_m_s(self.contact["wing"])

    @cached_property
    def topspin_rad_s(self) -> np.ndarray:
        """The own usual topspin with the wing of the contact, shape (n,)."""
        return self.me.hitter.topspin_rad_s(self.contact["wing"])


@runtime_checkable
class RecoveryPolicy(Protocol):
    """Where to recover to, and how hard. A frozen dataclass; parameters carry their unit in the
    name. A policy that chooses how deep to stand says so by `chooses_depth = True`."""

    @property
    def name(self) -> str:
        """Display name, unique in the catalogue."""

    def spots(self, seen: Situation) -> np.ndarray:
        """The spot of each rally, shape (n, 2), x and y in m, in the own frame (y < 0).

        Or (n, 3), with the effort of the way there: a share of the full sprint, 0 for the effort
        that the legs make by themselves.
        """


@runtime_checkable
class ShotModel(Protocol):
    """What to hit. A frozen dataclass; states how many random numbers it reads a stroke."""

    @property
    def name(self) -> str:
        """Display name, unique in the catalogue."""

    @property
    def draws(self) -> int:
        """Uniform random numbers read for each stroke."""

    @property
    def sees_receiver(self) -> bool:
        """Whether the receiver's place or velocity changes the choice."""

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        """INTENT records (n,); `chance` holds uniform numbers, shape (n, draws)."""


@dataclass(frozen=True)
class PerRally:
    """A recovery policy from a plain function of one rally: (Situation of length 1) to (x, y), or
    to (x, y, effort)."""

    name: str
    spot: Callable[[Situation], tuple[float, ...]]

    def spots(self, seen: Situation) -> np.ndarray:
        rows = [self.spot(one_rally(seen, i)) for i in range(len(seen))]
        return np.array(rows, float) if rows else np.zeros((0, 2))


def aims_of(policy: RecoveryPolicy, seen: Situation) -> tuple[np.ndarray, np.ndarray]:
    """What a policy decides: spots (n, 2), and efforts (n,), 0 where it leaves that to the legs."""
    return parted(policy.spots(seen))


def parted(answer: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What a policy answered, (n, 2 or 3), as spots (n, 2) and efforts (n,)."""
    answer = np.ascontiguousarray(answer, float)
    if answer.shape[1] == 2:
        return answer, np.zeros(len(answer))
    return np.ascontiguousarray(answer[:, :2]), np.ascontiguousarray(answer[:, 2])


def one_rally(seen: Situation, i: int) -> Situation:
    """The situation of rally `i` alone, as a batch of length one."""
    pick = slice(i, i + 1)
    own_ball = None if seen.own_ball is None else seen.own_ball[pick]
    return dataclasses.replace(
        seen,
        body=seen.body[pick],
        contact=seen.contact[pick],
        time_s=seen.time_s[pick],
        own_ball=own_ball,
    )


def seal(seen: Situation | ShotSituation, *names: str) -> None:
    """Put contiguous read-only views in the place of the arrays of those names."""
    held = vars(seen)
    for name in names:
        values = held[name]
        if values is not None:
            held[name] = view = np.ascontiguousarray(values)[:]
            view.setflags(write=False)


def bodies_at(x_m: np.ndarray, y_m: np.ndarray) -> np.ndarray:
    """BODY records at rest."""
    out = np.zeros(len(x_m), BODY)
    out["x_m"], out["y_m"] = x_m, y_m
    return out


def contacts_at(
    x_m: np.ndarray, y_m: np.ndarray, z_m: np.ndarray, wing: np.ndarray, quality: float = 1.0
) -> np.ndarray:
    """CONTACT records of unhurried strokes (or of another quality)."""
    out = np.zeros(len(x_m), CONTACT)
    out["x_m"], out["y_m"], out["z_m"] = x_m, y_m, z_m
    out["wing"], out["quality"] = wing, quality
    return out


def intents_of(
    target_x_m: np.ndarray,
    target_y_m: np.ndarray,
    speed_m_s: np.ndarray,
    topspin_rad_s: np.ndarray,
    sidespin_rad_s: np.ndarray | float = 0.0,
    kind: np.ndarray | int = DRIVE,
) -> np.ndarray:
    """INTENT records from their columns; `kind` one of sim.kinds."""
    out = np.zeros(len(target_x_m), INTENT)
    out["target_x_m"], out["target_y_m"] = target_x_m, target_y_m
    out["speed_m_s"], out["topspin_rad_s"] = speed_m_s, topspin_rad_s
    out["sidespin_rad_s"], out["kind"] = sidespin_rad_s, kind
    return out
