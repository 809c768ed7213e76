"""The serve that opens a rally."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

import numpy as np

from sim.chance import normal
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, SERVICE_LINE_M
from sim.exchange import Place
from sim.hitter import RPM, Hitter
from sim.kinds import FIRST_SERVE, SECOND_SERVE
from sim.parameter import parameter, require_finite_parameters
from sim.records import record, record_type
from strategies.naming import described
from strategies.packed import Packed, PackedShots

INSIDE_M = 0.15
NEAREST_M = 3.5
FROM_CENTRE_M = 0.6
KIND, LANE, ACROSS, ALONG, FASTER, LANDS, FAULT = range(7)
WIDE, BODY, CENTRE = 0.84, 0.5, 0.16  # shares of the width of the box
# Faults are drawn as unforced errors of professionals end: in the net, long, else wide.
INTO_NET, PAST_LINE = 0.40, 0.35
# Where they would land: so long after the net and at most so far behind it, so that they pass below
# its tape; or this far out at the least.
AFTER_NET_S, AFTER_NET_SPREAD, AFTER_NET_M, OUT_M = 0.055, 0.08, 2.8, 0.1


# How a server serves: the model's own values and the hitter's.
SERVING = record_type(
    "speed_spread",
    "depth_margin_m",
    "first_serve_in",
    "second_serve_in",
    "first_serve_m_s",
    "second_serve_m_s",
    "first_serve_topspin_rad_s",
    "second_serve_topspin_rad_s",
    "serve_body_share",
    "serve_width_spread_m",
    "serve_depth_spread_m",
)


@kernel
def within(value, low, high):  # type: ignore[no-untyped-def]
    return min(max(value, low), high)


@kernel
def miss(x, y, across, along, centre, speed, draw, s):  # type: ignore[no-untyped-def]
    """Where a fault goes that was meant for (x, y): into the net, past the service line or wide."""
    if draw < INTO_NET:
        below = 1.0 + AFTER_NET_SPREAD * within(along, -3.0, 3.0)
        return x, min(speed * AFTER_NET_S * below, AFTER_NET_M)
    if draw < INTO_NET + PAST_LINE:
        return x, SERVICE_LINE_M + (OUT_M + s.serve_depth_spread_m * abs(along))
    out = OUT_M + s.serve_width_spread_m * abs(across)
    return (-out if centre else HALF_WIDTH_M + out), y


@kernel
def intend_serve(contacts, chance, serving, out):  # type: ignore[no-untyped-def]
    """Fill INTENT records of serves, x to the other side than the server's, by Serve's draws."""
    s = serving[0]
    for i in range(out.shape[0]):
        u, wish = chance[i], out[i]
        across, along, faster = normal(u[ACROSS]), normal(u[ALONG]), normal(u[FASTER])
        second = u[KIND] < 1.0 - s.first_serve_in
        centre = u[LANE] < 0.5 * (1.0 - s.serve_body_share)
        wide = u[LANE] >= 0.5 * (1.0 + s.serve_body_share)
        share = CENTRE if centre else (WIDE if wide else BODY)
        x = within(
            share * HALF_WIDTH_M + s.serve_width_spread_m * across,
            INSIDE_M,
            HALF_WIDTH_M - INSIDE_M,
        )
        y = within(
            SERVICE_LINE_M - s.depth_margin_m + s.serve_depth_spread_m * along,
            NEAREST_M,
            SERVICE_LINE_M - INSIDE_M,
        )
        speed = s.second_serve_m_s if second else s.first_serve_m_s
        speed *= 1.0 + s.speed_spread * faster
        if second and u[LANDS] >= s.second_serve_in:
            x, y = miss(x, y, across, along, centre, speed, u[FAULT], s)
        right = contacts[i].x_m
        side = (-1.0 if right > 0.0 else 1.0) if right != 0.0 else 0.0
        spin = s.second_serve_topspin_rad_s if second else s.first_serve_topspin_rad_s
        wish.target_x_m, wish.target_y_m, wish.speed_m_s = side * x, y, speed
        wish.topspin_rad_s, wish.sidespin_rad_s = spin, 0.0
        wish.kind = SECOND_SERVE if second else FIRST_SERVE


@dataclass(frozen=True)
class Serve(PackedShots):
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

    def packed(self, seen: ShotSituation, chance: np.ndarray) -> Packed:
        return Packed(intend_serve, (seen.contact, chance, serving_of(self, seen.me.hitter)))


@lru_cache(maxsize=64)
def serving_of(serve: Serve, hitter: Hitter) -> np.ndarray:
    """How that hitter serves, a SERVING record."""
    own = {f.name: getattr(serve, f.name) for f in dataclasses.fields(serve)}
    spins = {
        f"{which}_topspin_rad_s": getattr(hitter, f"{which}_topspin_rpm") * RPM
        for which in ("first_serve", "second_serve")
    }
    known = {**own, **spins}
    names = [name for name in SERVING.names or () if name not in known]
    return record(SERVING, **known, **{name: getattr(hitter, name) for name in names})


def serve_places(serve: Serve = Serve()) -> tuple[Place, Place]:
    """The two places from which the opponent serves: to the right and to the left court."""
    return (
        Place("serve, right court", -FROM_CENTRE_M, HALF_LENGTH_M, serve=serve),
        Place("serve, left court", FROM_CENTRE_M, HALF_LENGTH_M, serve=serve),
    )
