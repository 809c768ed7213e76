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
from sim.kinds import FIRST_SERVE, SECOND_SERVE
from sim.parameter import parameter, require_finite_parameters
from strategies.naming import described

INSIDE_M = 0.15
NEAREST_M = 3.5
FROM_CENTRE_M = 0.6
KIND, LANE, DEVIATES, LANDS, FAULT = 0, 1, slice(2, 5), 5, 6
WIDE, BODY, CENTRE = 0.84, 0.5, 0.16  # shares of the width of the box
# Faults are drawn as unforced errors of professionals end: in the net, long, else wide.
INTO_NET, PAST_LINE = 0.40, 0.35
# Where they would land: so long after the net and at most so far behind it, so that they pass below
# its tape; or this far out at the least.
AFTER_NET_S, AFTER_NET_SPREAD, AFTER_NET_M, OUT_M = 0.055, 0.08, 2.8, 0.1


@dataclass(frozen=True)
class Serve:
    """First and second serves, into the box across from the server's place.

    A first serve that is a fault is no stroke of a rally, as charts count them, and is not played:
    it makes the next one a second serve. A second serve may be a fault, which ends the point.
    Target and speed spread as serves do that landed in, and nothing is added to them (see
    `sim.exchange.Place`). Wide, to the body or along the centre line; a fault along the centre
    line that is wide lands in the other box.

    Source: the shares of faults from ends of professionals' points, the rest assumed.
    Parameters: each carries its unit; shares in, speeds, spins and spreads are the hitter's own.
    It should lose its point to a returner who stands far back as pace and angle are lost.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    speed_spread: float = parameter(
        0.06, "1", "standard deviation of the speed, as a share", low=0.03, high=0.1
    )
    depth_margin_m: float = parameter(
        0.7, "m", "mean landing before the service line", low=0.5, high=1.5
    )
    draws: ClassVar[int] = 7
    sees_receiver: ClassVar[bool] = False

    def __post_init__(self) -> None:
        require_finite_parameters(self)

    @property
    def name(self) -> str:
        return described("serve", self)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        hitter = seen.me.hitter
        second = chance[:, KIND] < 1.0 - hitter.first_serve_in
        across, along, faster = normals(chance[:, DEVIATES]).T
        lane = chance[:, LANE]
        centre = lane < 0.5 * (1.0 - hitter.serve_body_share)
        wide = lane >= 0.5 * (1.0 + hitter.serve_body_share)
        share = np.where(centre, CENTRE, np.where(wide, WIDE, BODY))
        x = share * HALF_WIDTH_M + hitter.serve_width_spread_m * across
        y = SERVICE_LINE_M - self.depth_margin_m + hitter.serve_depth_spread_m * along
        x = np.clip(x, INSIDE_M, HALF_WIDTH_M - INSIDE_M)
        y = np.clip(y, NEAREST_M, SERVICE_LINE_M - INSIDE_M)
        speed = np.where(second, hitter.second_serve_m_s, hitter.first_serve_m_s)
        speed = speed * (1.0 + self.speed_spread * faster)
        fault = second & (chance[:, LANDS] >= hitter.second_serve_in)
        out_x = OUT_M + hitter.serve_width_spread_m * np.abs(across)
        out_y = OUT_M + hitter.serve_depth_spread_m * np.abs(along)
        net = fault & (chance[:, FAULT] < INTO_NET)
        long = fault & ~net & (chance[:, FAULT] < INTO_NET + PAST_LINE)
        beside = fault & ~net & ~long
        below = speed * AFTER_NET_S * (1.0 + AFTER_NET_SPREAD * np.clip(along, -3.0, 3.0))
        y = np.where(net, np.minimum(below, AFTER_NET_M), y)
        y = np.where(long, SERVICE_LINE_M + out_y, y)
        x = np.where(beside, np.where(centre, -out_x, HALF_WIDTH_M + out_x), x)
        spin = np.where(second, hitter.second_serve_topspin_rpm, hitter.first_serve_topspin_rpm)
        return intents_of(
            -np.sign(seen.contact["x_m"]) * x,
            y,
            speed,
            spin * RPM,
            kind=np.where(second, SECOND_SERVE, FIRST_SERVE),
        )


def serve_places(serve: Serve = Serve()) -> tuple[Place, Place]:
    """The two places from which the opponent serves: to the right and to the left court."""
    return (
        Place("serve, right court", -FROM_CENTRE_M, HALF_LENGTH_M, serve=serve),
        Place("serve, left court", FROM_CENTRE_M, HALF_LENGTH_M, serve=serve),
    )
