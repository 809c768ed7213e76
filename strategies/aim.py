"""Aiming: from a direction to a target, speed and topspin, with margins from the own error."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

import numpy as np

from sim.chance import normal
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.kinds import DRIVE
from sim.parameter import calibrated, parameter, require_finite_parameters
from sim.records import INTENT, record, record_type
from strategies.directions import DOWN_THE_LINE, MIDDLE, SHORT_ANGLE, crosscourt_of, hand_of
from strategies.margins import margins
from strategies.variety import VARIETY_DRAWS, vary

NEAREST_AIM_M = 4.5
SHORT_ANGLE_TOPSPIN_SHARE = 1.15
DIRECTION, ACROSS, ALONG, FASTER, MORE_SPIN, FIRST_VARIETY = range(6)  # which draw is for what

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
def drive_toward(  # type: ignore[no-untyped-def]
    c, direction, across, along, faster, more_spin, hand, aim, hitter, out
):
    """Fill the INTENT `out` of a drive; normal deviates of place, speed and topspin."""
    out.target_x_m, out.target_y_m = target(c, direction, across, along, hand, aim, hitter)
    short = direction == SHORT_ANGLE
    out.speed_m_s, out.topspin_rad_s = pace(c.wing, short, faster, more_spin, aim, hitter)
    out.sidespin_rad_s, out.kind = 0.0, DRIVE


@kernel
def aim_all(contacts, directions, deviates, hand, aims, hitters, out):  # type: ignore[no-untyped-def]
    """Fill INTENT records of drives for directions (n,) and normal deviates (n, 4)."""
    for i in range(out.shape[0]):
        d = deviates[i]
        drive_toward(
            contacts[i], directions[i], d[0], d[1], d[2], d[3], hand, aims[0], hitters[0], out[i]
        )


@kernel
def play_toward(  # type: ignore[no-untyped-def]
    c, receiver, direction, u, hand, aim, hitter, choices, legs, tables, out
):
    """Fill the INTENT `out` of a stroke toward a direction: a drive, or the kind that is chosen in
    its place; `u` are the uniform numbers of AimedShots."""
    across, along = normal(u[ACROSS]), normal(u[ALONG])
    faster, more_spin = normal(u[FASTER]), normal(u[MORE_SPIN])
    drive_toward(c, direction, across, along, faster, more_spin, hand, aim, hitter, out)
    vary(c, receiver, u[FIRST_VARIETY:], choices, hand, aim, hitter, legs, tables, out)


@kernel
def play_all(  # type: ignore[no-untyped-def]
    contacts, receivers, directions, chance, hand, aims, hitters, choices, legs, tables, out
):
    """Fill INTENT records of strokes toward directions (n,): see `play_toward`."""
    aim, hitter, own = aims[0], hitters[0], choices[0]
    for i in range(out.shape[0]):
        c, receiver, direction = contacts[i], receivers[i], directions[i]
        play_toward(c, receiver, direction, chance[i], hand, aim, hitter, own, legs, tables, out[i])


@dataclass(frozen=True)
class AimedShots:
    """Strokes toward a direction that is given; what the models that pick one share.

    Draws: 0 the direction, 1 across and 2 along the court, 3 speed, 4 topspin, then those of the
    kind of stroke (strategies.variety).
    Even a model that is blind to the receiver sees one who is at the net, and volleys away from the
    other (strategies.variety); a receiver behind the baseline changes nothing, unless drop shots or
    approaches are added for who is far back.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    speed_share: float = parameter(1.0, "1", "speed over the usual one", low=0.7, high=1.15)
    speed_spread: float = calibrated(
        0.10, "1", "standard deviation of that share", low=0, high=0.15
    )
    topspin_spread: float = parameter(
        0.10, "1", "standard deviation of the topspin, as a share", low=0.0, high=0.3
    )
    margin_share: float = parameter(
        1.0, "1", "margin to the lines over the hitter's normal one", low=0.3, high=1.5
    )
    width_spread_m: float = calibrated(
        1.0, "m", "how far inside the margin targets spread, across", low=0.0, high=1.0
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

    @cached_property
    def numbers(self) -> np.ndarray:
        """The parameters of aiming as an AIM record."""
        return record(AIM, **{name: getattr(self, name) for name in AIM.names or ()})

    def towards(
        self, seen: ShotSituation, directions: np.ndarray, chance: np.ndarray
    ) -> np.ndarray:
        """INTENT records for directions (n,), all else by uniform numbers (n, draws)."""
        out, chance = np.empty(len(seen), INTENT), np.ascontiguousarray(chance, float)
        play_all(seen.contact, seen.receiver, directions, chance, *self.player(seen), out)
        return out

    def player(self, seen: ShotSituation) -> tuple[Any, ...]:
        """Who plays, as kernels take it: the hand, the records of aiming and of the hitter, the
        shares of kinds, and the legs of the receiver."""
        h, legs = seen.me.hitter, seen.opponent.legs
        own = self.numbers, h.numbers, h.repertoire.choices
        return hand_of(seen.me), *own, legs.numbers, legs.times

    def aimed(
        self, seen: ShotSituation, directions: np.ndarray, deviates: np.ndarray
    ) -> np.ndarray:
        """INTENT records of drives for directions (n,) and normal deviates (n, 4)."""
        out = np.empty(len(seen), INTENT)
        hand, aim, hitter = self.player(seen)[:3]
        aim_all(seen.contact, directions, deviates, hand, aim, hitter, out)
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
