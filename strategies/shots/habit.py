"""A hitter of habit."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from sim.belief import DIRECTIONS, Belief
from sim.compiled import kernel
from sim.contracts import ShotSituation
from sim.errors import InputError, unknown_name
from sim.parameter import parameter
from sim.records import BACKHAND, FOREHAND
from strategies.aim import AimedShots
from strategies.directions import CROSSCOURT, DOWN_THE_LINE, hand_of
from strategies.naming import described

NONE = "none"
WINGS = {"forehand": FOREHAND, "backhand": BACKHAND}
UNHURRIED_QUALITY = 0.7  # below this quality at the ball nobody has the time to run round it


@kernel
def pick_by_share(shares, draw, out):  # type: ignore[no-untyped-def]
    """Fill the direction that draw[i], uniform, picks from the four shares of row i."""
    for i in range(out.size):
        first = shares[i, 0]
        second = first + shares[i, 1]
        third = second + shares[i, 2]
        u = draw[i]
        out[i] = int(u >= first) + int(u >= second) + int(u >= third)


@kernel
def move_shares(shares, direction, share):  # type: ignore[no-untyped-def]
    """Give `direction` that share of all other balls; below 0, give the others all of its own.

    The others keep their proportions; balls that nobody else can take go to crosscourt, or, from
    crosscourt itself, to the middle.
    """
    for i in range(shares.shape[0]):
        own = shares[i, direction]
        goal = own + (1.0 - own) * share if share >= 0.0 else 0.0
        if own < 1.0:
            for k in range(shares.shape[1]):
                shares[i, k] *= (1.0 - goal) / (1.0 - own)
        elif goal < own:
            shares[i, 1 if direction == 0 else 0] = 1.0
        shares[i, direction] = goal


@dataclass(frozen=True)
class Habit(AimedShots):
    """Hits by habit: fixed shares of crosscourt, middle, down the line and short angle.

    The shares change with the place of the contact (`belief`) and with the wing
    (`backhand_crosscourt_gain`, moved from down the line to crosscourt); speed, topspin and depth
    lie around the level's own, and the margin to the lines follows from the hitter's own error.
    Blind to the receiver.

    Habits that one can name: `never` plays one direction, the others take its balls in proportion;
    `favourite` goes to one direction with `favourite_share` of the balls that would go elsewhere;
    `runs_round_m` plays balls up to so many metres to the backhand side of the centre as
    forehands, if unhurried (what that costs in court position is not modelled);
    `weak_wing` hits with `weak_speed_share` of the speed.

    Source: default shares assumed, near a coaching article's 69 % crosscourt or short angle, 19 %
    down the line and 12 % middle from the wide backhand corner (few players, second hand).
    Parameters: `belief` (shares, in the order of sim.belief.DIRECTIONS), those of the habits and
    those of aiming; each carries its unit.
    It should lose to a receiver who knows the habit and shades toward its favourite.

    Raises:
        InputError: a parameter that is negative or not finite, a direction or wing that is none,
            or one direction as favourite that is never played.
    """

    belief: Belief = dataclasses.field(
        default_factory=Belief,
        metadata={"allowed": "a table of from_middle and from_corner, four shares each"},
    )
    backhand_crosscourt_gain: float = parameter(
        0.05, "1", "share moved from down the line to crosscourt on the backhand", low=0.0, high=0.2
    )
    never: str = dataclasses.field(
        default=NONE, metadata={"allowed": " or ".join([NONE, *DIRECTIONS])}
    )
    favourite: str = dataclasses.field(
        default=NONE, metadata={"allowed": " or ".join([NONE, *DIRECTIONS])}
    )
    favourite_share: float = parameter(
        0.3, "1", "share of the other balls that go to the favourite", low=0.0, high=1.0
    )
    runs_round_m: float = parameter(
        0.0, "m", "how far on the backhand side balls are played as forehands", low=0.0, high=3.0
    )
    weak_wing: str = dataclasses.field(
        default=NONE, metadata={"allowed": " or ".join([NONE, *WINGS])}
    )
    weak_speed_share: float = parameter(
        0.85, "1", "speed of the weak wing over its usual one", low=0.6, high=1.0
    )

    def __post_init__(self) -> None:
        super().__post_init__()
        for key, valid in (("never", DIRECTIONS), ("favourite", DIRECTIONS), ("weak_wing", WINGS)):
            if getattr(self, key) not in (NONE, *valid):
                raise unknown_name(f"habit for {key}", str(getattr(self, key)), [NONE, *valid])
        for key in ("favourite_share", "weak_speed_share"):
            if getattr(self, key) > 1:
                raise InputError(f"{key} is {getattr(self, key):g}; allowed: 0 to 1")
        if self.never == self.favourite != NONE:
            raise InputError(f"{self.never} cannot be the favourite and never be played")

    @property
    def name(self) -> str:
        return described("habit", self)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        if self.runs_round_m > 0.0:
            seen = dataclasses.replace(seen, contact=self._run_round(seen))
        out = super().intents(seen, chance)
        if self.weak_wing != NONE:
            weak = seen.contact["wing"] == WINGS[self.weak_wing]
            out["speed_m_s"] *= np.where(weak, self.weak_speed_share, 1.0)
        return out

    def directions(self, seen: ShotSituation, draw: np.ndarray) -> np.ndarray:
        directions = np.empty(len(seen), np.int64)
        pick_by_share(self.shares(seen), draw, directions)
        return directions

    def shares(self, seen: ShotSituation) -> np.ndarray:
        """Shares of the directions for each contact, shape (n, 4)."""
        shares = self.believed(seen)
        gain = np.minimum(self.backhand_crosscourt_gain, shares[:, DOWN_THE_LINE])
        moved = np.where(seen.contact["wing"] == BACKHAND, gain, 0.0)
        shares[:, CROSSCOURT] += moved
        shares[:, DOWN_THE_LINE] -= moved
        if self.favourite != NONE:
            move_shares(shares, DIRECTIONS.index(self.favourite), self.favourite_share)
        if self.never != NONE:
            move_shares(shares, DIRECTIONS.index(self.never), -1.0)
        return shares

    def believed(self, seen: ShotSituation) -> np.ndarray:
        """The shares by the place of the contact alone, shape (n, 4)."""
        return self.belief.shares_at(seen.contact, hand_of(seen.me))

    def _run_round(self, seen: ShotSituation) -> np.ndarray:
        """The contacts with the forehand where the backhand is run round."""
        contact = seen.contact.copy()
        to_backhand_m = -hand_of(seen.me) * contact["x_m"]
        runs = (to_backhand_m <= self.runs_round_m) & (contact["quality"] >= UNHURRIED_QUALITY)
        contact["wing"] = np.where(runs, FOREHAND, contact["wing"])
        return contact
