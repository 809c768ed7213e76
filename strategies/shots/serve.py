"""The serve that opens a rally."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.chance import normals
from sim.contracts import ShotSituation, intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.exchange import Place
from sim.hitter import RPM
from sim.parameter import parameter, require_finite_parameters
from strategies.naming import described

INSIDE_M = 0.15
NEAREST_M = 3.5
CONTACT_HEIGHT_M, FROM_CENTRE_M = 2.8, 0.6
SECOND, LANE, DEVIATES = 0, 1, slice(2, 5)
WIDE, BODY, CENTRE = 0.84, 0.5, 0.16  # shares of the width of the box


@dataclass(frozen=True)
class Serve:
    """Serves that landed in, into the box across from the server's place.

    Faults are no strokes of a rally, as charts count them, and are not played: target and speed
    spread as serves do that landed in, and nothing is added to them (see `sim.exchange.Place`).
    Wide, to the body or along the centre line; first or second serve by its share.

    Source: second serves among landed ones and speeds from memory, the rest assumed.
    Parameters: each carries its unit; the speeds are the hitter's own.
    It should lose its point to a returner who stands far back as pace and angle are lost.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    second_share: float = parameter(
        0.36,
        "1",
        "second serves among those that land in",
        low=0.25,
        high=0.5,
        source="first serves in about 62 of 100, from memory",
        status="memory",
    )
    body_share: float = parameter(0.15, "1", "serves at the body", low=0.05, high=0.4)
    speed_spread: float = parameter(
        0.06, "1", "standard deviation of the speed, as a share", low=0.03, high=0.1
    )
    width_spread_m: float = parameter(0.4, "m", "spread of the landing, across", low=0.2, high=0.8)
    depth_spread_m: float = parameter(0.6, "m", "spread of the landing, along", low=0.3, high=1.0)
    depth_margin_m: float = parameter(
        0.7, "m", "mean landing before the service line", low=0.5, high=1.5
    )
    first_topspin_rpm: float = parameter(1500.0, "rpm", "topspin, first", low=500.0, high=2500.0)
    second_topspin_rpm: float = parameter(3200.0, "rpm", "topspin, second", low=2000.0, high=4500.0)
    draws: ClassVar[int] = 5
    sees_receiver: ClassVar[bool] = False

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @property
    def name(self) -> str:
        return described("serve", self)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        second = chance[:, SECOND] < self.second_share
        across, along, faster = normals(chance[:, DEVIATES]).T
        lane = chance[:, LANE]
        centre = lane < 0.5 * (1.0 - self.body_share)
        wide = lane >= 0.5 * (1.0 + self.body_share)
        share = np.where(centre, CENTRE, np.where(wide, WIDE, BODY))
        x = share * HALF_WIDTH_M + self.width_spread_m * across
        y = SERVICE_LINE_M - self.depth_margin_m + self.depth_spread_m * along
        hitter = seen.me.hitter
        speed = np.where(second, hitter.second_serve_m_s, hitter.first_serve_m_s)
        topspin = np.where(second, self.second_topspin_rpm, self.first_topspin_rpm) * RPM
        return intents_of(
            -np.sign(seen.contact["x_m"]) * np.clip(x, INSIDE_M, HALF_WIDTH_M - INSIDE_M),
            np.clip(y, NEAREST_M, SERVICE_LINE_M - INSIDE_M),
            speed * (1.0 + self.speed_spread * faster),
            topspin,
        )


def serve_places(serve: Serve = Serve()) -> tuple[Place, Place]:
    """The two places from which the opponent serves: to the right and to the left court."""
    return (
        Place("serve, right court", -FROM_CENTRE_M, HALF_LENGTH_M, CONTACT_HEIGHT_M, serve),
        Place("serve, left court", FROM_CENTRE_M, HALF_LENGTH_M, CONTACT_HEIGHT_M, serve),
    )
