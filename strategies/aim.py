"""Aiming: from a direction to a target, speed and topspin, with margins from the own error."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from sim.chance import normals
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.kinds import DRIVE
from sim.parameter import parameter, require_finite_parameters
from sim.records import INTENT, record, record_type
from strategies.directions import DOWN_THE_LINE, MIDDLE, SHORT_ANGLE, crosscourt_of
from strategies.margins import margins
from strategies.variety import VARIETY_DRAWS, vary

NEAREST_AIM_M = 4.5
SHORT_ANGLE_TOPSPIN_SHARE = 1.15
DEVIATES, FIRST_VARIETY = slice(1, 5), 5

AIM = record_type(
    "speed_share",
    "speed_spread",
    "topspin_spread",
    "margin_share",
    "width_spread_m",
    "depth_spread_m",
    "short_angle_depth_m",
    "short_angle_speed_share",
    "drop_when_far",
    "approach_when_far",
    "pass_away",
)


@kernel
def target(c, direction, across, along, hand, aim, hitter):  # type: ignore[no-untyped-def]
    """Target (x, y) of one stroke with its deviates across and along the court.

    Deviates move a target further inside the court, never nearer to the line than the margin; a
    ball to the middle spreads to both sides.
    """
    crosscourt = crosscourt_of(c.x_m, c.wing, hand)
    side = -crosscourt if direction == DOWN_THE_LINE else crosscourt
    short = direction == SHORT_ANGLE
    depth = aim.short_angle_depth_m if short else HALF_LENGTH_M
    margin_x, margin_y = margins(c, side, depth, aim, hitter)
    if direction == MIDDLE:
        wandering = max(-HALF_WIDTH_M / 2, min(HALF_WIDTH_M / 2, aim.width_spread_m * across))
        x = crosscourt * wandering
    else:
        x = side * max(HALF_WIDTH_M - margin_x - aim.width_spread_m * abs(across), 0.0)
    if short:
        y = depth + 0.5 * aim.depth_spread_m * along
    else:
        y = HALF_LENGTH_M - margin_y - aim.depth_spread_m * abs(along)
    return x, max(NEAREST_AIM_M, min(HALF_LENGTH_M, y))


@kernel
def pace(wing, short, faster, more_spin, aim, hitter):  # type: ignore[no-untyped-def]
    """Speed (m/s) and topspin (rad/s) around the usual ones, kept in the hitter's range."""
    share = aim.speed_share * (1.0 + aim.speed_spread * faster)
    speed = hitter.forehand_speed_m_s if wing > 0 else hitter.backhand_speed_m_s
    speed *= hitter.unhurried_share
    topspin = hitter.forehand_topspin_rad_s if wing > 0 else hitter.backhand_topspin_rad_s
    topspin *= 1.0 + aim.topspin_spread * more_spin
    if short:
        share *= aim.short_angle_speed_share
        topspin *= SHORT_ANGLE_TOPSPIN_SHARE
    fastest = max(hitter.fastest_share, aim.speed_share)
    return (
        speed * max(hitter.slowest_share, min(fastest, share)),
        max(hitter.least_topspin_rad_s, min(hitter.most_topspin_rad_s, topspin)),
    )


@kernel
def aim_all(contacts, directions, deviates, hand, aims, hitters, out):  # type: ignore[no-untyped-def]
    """Fill INTENT records for directions (n,) and normal deviates (n, 4).

    The deviates: across the court, along it, speed, topspin.
    """
    aim, hitter = aims[0], hitters[0]
    for i in range(out.shape[0]):
        c, d, direction = contacts[i], deviates[i], directions[i]
        x, y = target(c, direction, d[0], d[1], hand, aim, hitter)
        speed, topspin = pace(c.wing, direction == SHORT_ANGLE, d[2], d[3], aim, hitter)
        out[i].target_x_m, out[i].target_y_m = x, y
        out[i].speed_m_s, out[i].topspin_rad_s = speed, topspin
        out[i].sidespin_rad_s, out[i].kind = 0.0, DRIVE


@dataclass(frozen=True)
class AimedShots:
    """What the models that pick a direction share; a model adds `name` and `directions`.

    Draws: 0 the direction, 1 across and 2 along the court, 3 speed, 4 topspin, then those of the
    kind of stroke (strategies.variety).
    Even a model that is blind to the receiver sees one who is at the net, and volleys away from the
    other (strategies.variety); a receiver behind the baseline changes nothing, unless drop shots or
    approaches are added for who is far back.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    speed_share: float = parameter(1.0, "1", "speed over the usual one", low=0.7, high=1.15)
    speed_spread: float = parameter(0.06, "1", "standard deviation of that share", low=0, high=0.15)
    topspin_spread: float = parameter(
        0.10, "1", "standard deviation of the topspin, as a share", low=0.0, high=0.3
    )
    margin_share: float = parameter(
        1.0, "1", "margin to the lines over the hitter's normal one", low=0.3, high=1.5
    )
    width_spread_m: float = parameter(
        0.4, "m", "how far inside the margin targets spread, across", low=0.0, high=1.0
    )
    depth_spread_m: float = parameter(
        0.8, "m", "how far inside the margin targets spread, along", low=0.0, high=2.0
    )
    short_angle_depth_m: float = parameter(
        6.2, "m", "landing of the short angle from the net", low=4.5, high=7.5
    )
    short_angle_speed_share: float = parameter(
        0.8, "1", "speed of the short angle over that of a drive", low=0.6, high=1.0
    )
    drop_when_far: float = parameter(
        0.0,
        "1",
        "drop shots added, of the strokes that allow one, against who is too far back for them",
        low=0.0,
        high=1.0,
    )
    approach_when_far: float = parameter(
        0.0,
        "1",
        "approaches added, of the strokes that allow one, against who is so far back",
        low=0.0,
        high=1.0,
    )
    pass_away: float = parameter(
        0.0,
        "1",
        "passing shots played to the side that the player at the net leaves more open, by the place"
        " there; the others go where the drive would",
        low=0.0,
        high=1.0,
    )
    draws: ClassVar[int] = FIRST_VARIETY + VARIETY_DRAWS
    looks: ClassVar[bool] = False

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @property
    def sees_receiver(self) -> bool:
        """Whether the receiver's place changes the choice."""
        return self.looks or self.drop_when_far > 0.0 or self.approach_when_far > 0.0

    def directions(self, seen: ShotSituation, draw: np.ndarray) -> np.ndarray:
        """The direction of each stroke (index in sim.belief.DIRECTIONS) from one draw each."""
        raise NotImplementedError

    @cached_property
    def numbers(self) -> np.ndarray:
        """The parameters of aiming as an AIM record."""
        return record(AIM, **{name: getattr(self, name) for name in AIM.names or ()})

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        return self.towards(seen, self.directions(seen, chance[:, 0]), chance)

    def towards(
        self, seen: ShotSituation, directions: np.ndarray, chance: np.ndarray
    ) -> np.ndarray:
        """INTENT records for directions (n,), all else by uniform numbers (n, draws)."""
        drives = self.aimed(seen, directions, normals(chance[:, DEVIATES]))
        return vary(seen, drives, np.ascontiguousarray(chance[:, FIRST_VARIETY:]), self.numbers)

    def aimed(
        self, seen: ShotSituation, directions: np.ndarray, deviates: np.ndarray
    ) -> np.ndarray:
        """INTENT records for directions (n,) and deviates (n, 4): see `aim_all`."""
        out = np.empty(len(seen), INTENT)
        hand = 1.0 if seen.me.hand == "right" else -1.0
        hitter = seen.me.hitter.numbers
        aim_all(seen.contact, directions, deviates, hand, self.numbers, hitter, out)
        return out

    def targets(
        self,
        seen: ShotSituation,
        direction: np.ndarray,
        across: np.ndarray | float = 0.0,
        along: np.ndarray | float = 0.0,
    ) -> tuple[np.ndarray, np.ndarray]:
        """Targets (x, y) in m, y > 0, for directions (n,); `across` and `along` are deviates."""
        deviates = np.zeros((len(seen), 4))
        deviates[:, 0], deviates[:, 1] = across, along
        aimed = self.aimed(seen, direction, deviates)
        return aimed["target_x_m"], aimed["target_y_m"]
