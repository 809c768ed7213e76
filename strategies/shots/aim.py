"""Aiming: from a direction to a target, speed and topspin, with margins from the own error."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.chance import normals
from sim.contracts import ShotSituation, intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.hitter import RPM
from sim.parameter import parameter, require_finite_parameters
from strategies.directions import DOWN_THE_LINE, MIDDLE, SHORT_ANGLE, crosscourt_side

WIDEST_MARGIN_SHARE = 0.6  # of the half width: the shakiest hitter still aims to a side
NEAREST_AIM_M = 4.5
SHORT_ANGLE_TOPSPIN_SHARE = 1.15
LANDING_DRAWS, PACE_DRAWS = slice(1, 3), slice(3, 5)


@dataclass(frozen=True)
class AimedShots:
    """What the models that pick a direction share; a model adds `name` and `directions`.

    Draws: 0 the direction, 1 across and 2 along the court, 3 speed, 4 topspin.

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
    draws: ClassVar[int] = 5
    sees_receiver: ClassVar[bool] = False

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    def directions(self, seen: ShotSituation, draw: np.ndarray) -> np.ndarray:
        """The direction of each stroke (index in sim.belief.DIRECTIONS) from one draw each."""
        raise NotImplementedError

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        direction = self.directions(seen, chance[:, 0])
        across, along = normals(chance[:, LANDING_DRAWS]).T
        x, y = self.targets(seen, direction, across, along)
        speed, topspin = self._paces(seen, direction, normals(chance[:, PACE_DRAWS]))
        return intents_of(x, y, speed, topspin)

    def targets(
        self,
        seen: ShotSituation,
        direction: np.ndarray,
        across: np.ndarray | float = 0.0,
        along: np.ndarray | float = 0.0,
    ) -> tuple[np.ndarray, np.ndarray]:
        """Targets (x, y) in m, y > 0, for directions (n,); `across` and `along` are deviates.

        Deviates move a target further inside the court, never nearer to the line than the margin;
        a ball to the middle spreads to both sides.
        """
        crosscourt = crosscourt_side(seen.contact["x_m"], seen.contact["wing"], seen.me)
        side = np.where(direction == DOWN_THE_LINE, -crosscourt, crosscourt)
        short = direction == SHORT_ANGLE
        depth = np.where(short, self.short_angle_depth_m, HALF_LENGTH_M)
        margin_x, margin_y = self._margins(seen, side, depth)
        inside = HALF_WIDTH_M - margin_x - self.width_spread_m * np.abs(across)
        wandering = np.clip(self.width_spread_m * across, -HALF_WIDTH_M / 2, HALF_WIDTH_M / 2)
        x = np.where(direction == MIDDLE, crosscourt * wandering, side * np.maximum(inside, 0.0))
        deep = HALF_LENGTH_M - margin_y - self.depth_spread_m * np.abs(along)
        y = np.where(short, depth + 0.5 * self.depth_spread_m * along, deep)
        return x, np.clip(y, NEAREST_AIM_M, HALF_LENGTH_M)

    def _margins(
        self, seen: ShotSituation, side: np.ndarray, depth: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Margins to the sideline and to the baseline, m: so many of the own errors out there.

        A stretched hitter knows that the direction errs more; the stroke itself is then aimed
        shorter (`sim.stroke`), so the depth margin does not grow.
        """
        h, c = seen.me.hitter, seen.contact
        to_corner_x, to_corner_y = side * HALF_WIDTH_M - c["x_m"], depth - c["y_m"]
        distance = np.sqrt(to_corner_x * to_corner_x + to_corner_y * to_corner_y)
        errors = h.aim_margin_sds * self.margin_share
        gain = 1.0 + h.stretched_error_gain * (1.0 - c["quality"])
        across = errors * gain * math.tan(math.radians(h.direction_sd_deg)) * distance
        along = errors * seen.me.hitter.numbers["depth_sd_share"] * distance
        return (
            np.minimum(across, WIDEST_MARGIN_SHARE * HALF_WIDTH_M),
            np.minimum(along, HALF_LENGTH_M - SERVICE_LINE_M),
        )

    def _paces(
        self, seen: ShotSituation, direction: np.ndarray, deviates: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Speed (m/s) and topspin (rad/s) around the usual ones, kept in the hitter's range."""
        h, short = seen.me.hitter, direction == SHORT_ANGLE
        share = self.speed_share * (1.0 + self.speed_spread * deviates[:, 0])
        share = np.where(short, self.short_angle_speed_share * share, share)
        fastest = max(h.fastest_share, self.speed_share)
        speed = seen.speed_m_s * np.clip(share, h.slowest_share, fastest)
        topspin = seen.topspin_rad_s * (1.0 + self.topspin_spread * deviates[:, 1])
        topspin = np.where(short, SHORT_ANGLE_TOPSPIN_SHARE * topspin, topspin)
        return speed, np.clip(topspin, h.least_topspin_rpm * RPM, h.most_topspin_rpm * RPM)
