"""The own stroke without error: a contact, and the drive that lands on a target."""

from __future__ import annotations

import numpy as np

from sim.contracts import contacts_at, turned
from sim.court import HALF_WIDTH_M
from sim.envelope import EXTREME
from sim.exchange import Game, wing_at
from sim.hitter import usable_topspins
from sim.over_arrays import powers
from sim.records import IN, OPPONENT
from sim.stroke import fly_drives

INSIDE_X_M = HALF_WIDTH_M - 0.5
OWN_NET_GAP_M = 0.25
OWN_SPEED_SHARES = powers(0.95, 20)


def own_contact(game: Game, x_m: float, y_m: float, z_m: float) -> np.ndarray:
    """The studied player's unhurried contact with the ball there, own frame: a CONTACT record."""
    x, y, z = (np.array([value]) for value in (x_m, y_m, z_m))
    own = contacts_at(x, y, z, np.array([1]))
    own["wing"] = wing_at(own["x_m"], game.studied.player)
    return own


def own_drive(
    game: Game,
    own: np.ndarray,
    landing_x_m: float,
    landing_y_m: float,
    net_gap_m: float = OWN_NET_GAP_M,
    speed_shares: np.ndarray = OWN_SPEED_SHARES,
) -> tuple[np.ndarray, np.ndarray]:
    """The own ball without error that lands there (own frame): a BALL record and its path.

    It has the usual topspin, as far as the height allows, and the first of the shares of the usual
    speed with which it clears the net by the gap; the last one, if none does. Ball and path are in
    the opponent's frame.
    """
    hitter, world = game.studied.player.hitter, game.world_of(OPPONENT)
    drive = np.zeros(1, EXTREME)
    drive["target_x_m"], drive["target_y_m"] = -landing_x_m, -landing_y_m
    usual = hitter.topspin_rad_s(own["wing"])
    drive["topspin_rad_s"] = usable_topspins(usual, own["z_m"], hitter.numbers)
    for share in speed_shares:
        drive["speed_m_s"] = hitter.speed_m_s(own["wing"]) * share
        balls, paths = fly_drives(turned(own), drive, world)
        if balls["outcome"][0] == IN and balls["net_clearance_m"][0] >= net_gap_m:
            break
    return balls, paths
