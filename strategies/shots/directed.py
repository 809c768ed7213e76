"""What the shot models share that pick a direction, then aim: see `choosing` for the arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.belief import DIRECTIONS
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M
from sim.players import Player
from sim.records import CONTACT, record
from strategies.aim import AimedShots
from strategies.directions import hand_of
from strategies.packed import Packed, PackedShots
from strategies.shots.choosing import (
    HABIT,
    NO_DIRECTION,
    NO_WING,
    ROOM_ROWS,
    fill_directions,
    fill_gaps,
    fill_shares,
    intend_all,
)

# A hitter of plain shares: what a model does otherwise it says in its own `habit`.
PLAIN = {
    "backhand_crosscourt_gain": 0.0,
    "never": NO_DIRECTION,
    "favourite": NO_DIRECTION,
    "favourite_share": 0.0,
    "runs_round_m": 0.0,
    "weak_wing": NO_WING,
    "weak_speed_share": 1.0,
    "looks": 0,
    "sharpness_per_m": 0.0,
    "look_ahead_s": 0.0,
    "paced": 0,
}


@dataclass(frozen=True)
class DirectedShots(PackedShots, AimedShots):
    """Strokes whose direction follows from shares; a model adds `name`, `habit` and `shares_of`."""

    @property
    def habit(self) -> np.ndarray:
        """What the hitter does with the shares, a HABIT record."""
        raise NotImplementedError

    def shares_of(self, hitter: Player) -> tuple[np.ndarray, np.ndarray]:
        """That hitter's shares by place: a BELIEF record and STROKE_SEEN records."""
        raise NotImplementedError

    def packed(self, seen: ShotSituation, chance: np.ndarray) -> Packed:
        what = seen.contact, seen.receiver, chance, HALF_LENGTH_M + seen.receiver_depth_m
        own = self.shares_of(seen.me)
        who = self.habit, *own, *self.player(seen)
        return Packed(intend_all, (*what, *who, np.empty(1, CONTACT), *_room(own)))

    def directions(self, seen: ShotSituation, draw: np.ndarray) -> np.ndarray:
        """The direction of each stroke (index in sim.belief.DIRECTIONS) from one draw each."""
        out, draws = np.empty(len(seen), np.int64), np.ascontiguousarray(draw, float)
        what = seen.contact, seen.receiver, draws, HALF_LENGTH_M + seen.receiver_depth_m
        own = self.shares_of(seen.me)
        fill_directions(*what, self.habit, *own, *self.player(seen)[:3], *_room(own), out)
        return out

    def shares(self, seen: ShotSituation) -> np.ndarray:
        """Shares of the directions for each contact before any gap is looked at, shape (n, 4)."""
        out = np.empty((len(seen), len(DIRECTIONS)))
        own = self.shares_of(seen.me)
        fill_shares(seen.contact, hand_of(seen.me), self.habit, *own, *_room(own), out)
        return out

    def gaps_m(self, seen: ShotSituation, look_ahead_s: float) -> np.ndarray:
        """Gap of each direction, (n, 4), with the receiver's velocity counted on for so long."""
        out = np.empty((len(seen), len(DIRECTIONS)))
        line = HALF_LENGTH_M + seen.receiver_depth_m
        fill_gaps(seen.contact, seen.receiver, line, look_ahead_s, *self.player(seen)[:3], out)
        return out


def habit_record(**values: Any) -> np.ndarray:
    """A HABIT record of a hitter who is plain but for these values."""
    return record(HABIT, **{**PLAIN, **values})


def _room(own: tuple[np.ndarray, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Room to work in for the kernels of `choosing` with these shares."""
    return np.empty(len(own[1])), np.empty((ROOM_ROWS, len(DIRECTIONS)))
