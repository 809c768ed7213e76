"""A hitter of habit."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from sim.belief import Belief
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.parameter import parameter
from sim.records import BACKHAND
from strategies.directions import CROSSCOURT, DOWN_THE_LINE
from strategies.naming import described
from strategies.shots.aim import AimedShots


@kernel
def pick_by_share(shares, draw, out):  # type: ignore[no-untyped-def]
    """Fill the direction that draw[i], uniform, picks from the four shares of row i."""
    for i in range(out.size):
        first = shares[i, 0]
        second = first + shares[i, 1]
        third = second + shares[i, 2]
        u = draw[i]
        out[i] = int(u >= first) + int(u >= second) + int(u >= third)


@dataclass(frozen=True)
class Habit(AimedShots):
    """Hits by habit: fixed shares of crosscourt, middle, down the line and short angle.

    The shares change with the place of the contact (`belief`) and with the wing
    (`backhand_crosscourt_gain`, moved from down the line to crosscourt); speed, topspin and depth
    lie around the level's own, and the margin to the lines follows from the hitter's own error.
    Blind to the receiver.

    Source: default shares assumed, near a coaching article's 69 % crosscourt or short angle, 19 %
    down the line and 12 % middle from the wide backhand corner (few players, second hand).
    Parameters: `belief` (shares, in the order of sim.belief.DIRECTIONS) and those of aiming; each
    carries its unit.
    It should lose to a receiver who knows the habit and shades toward its favourite.

    Raises:
        InputError: a parameter that is negative or not finite.
    """

    belief: Belief = dataclasses.field(
        default_factory=Belief,
        metadata={"allowed": "a table of from_middle and from_corner, four shares each"},
    )
    backhand_crosscourt_gain: float = parameter(
        0.05, "1", "share moved from down the line to crosscourt on the backhand", low=0.0, high=0.2
    )

    @property
    def name(self) -> str:
        return described("habit", self)

    def directions(self, seen: ShotSituation, draw: np.ndarray) -> np.ndarray:
        directions = np.empty(len(seen), np.int64)
        pick_by_share(self.shares(seen), draw, directions)
        return directions

    def shares(self, seen: ShotSituation) -> np.ndarray:
        """Shares of the directions for each contact, shape (n, 4)."""
        shares = self.belief.shares(seen.contact["x_m"])
        gain = np.minimum(self.backhand_crosscourt_gain, shares[:, DOWN_THE_LINE])
        moved = np.where(seen.contact["wing"] == BACKHAND, gain, 0.0)
        shares[:, CROSSCOURT] += moved
        shares[:, DOWN_THE_LINE] -= moved
        return shares
