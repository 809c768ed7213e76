"""What the shot models share that pick a direction, then aim: see `choosing` for the arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

import numpy as np

from sim.belief import DIRECTIONS
from sim.contracts import ShotSituation
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.parameter import parameter
from sim.players import Player
from sim.records import CONTACT, record
from strategies.aim import AIM, AimedShots
from strategies.directions import hand_of
from strategies.packed import Packed, PackedShots
from strategies.shots.choosing import (
    ATTACKS,
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
    "line_gain": 1.0,
    "short_gain": 1.0,
    "middle_gain": 1.0,
    "backhand_middle_gain": 0.0,
    "attack_share": 0.0,
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
    "weaker_side": 0,
    "weaker_side_gain": 1.0,
}


@dataclass(frozen=True)
class DirectedShots(PackedShots, AimedShots):
    """Strokes whose direction follows from shares; a model adds `name`, `habit` and `shares_of`.

    Of the strokes that are not hurried the share `attack_share` is played to win at once: harder
    and nearer to the lines. What that costs is the hitter's (`speed_error_gain` of sim.hitter), or
    nothing but the margin. Draws: those of AimedShots, and one for that.
    """

    attack_share: float = parameter(
        0.0, "1", "share of unhurried strokes that are played to win", low=0.0, high=0.4
    )
    attack_speed_share: float = parameter(
        1.12, "1", "speed of those over that of the others", low=1.0, high=1.3
    )
    attack_margin_share: float = parameter(
        0.7, "1", "margin to the lines of those over that of the others", low=0.3, high=1.0
    )
    draws: ClassVar[int] = ATTACKS + 1

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.attack_share > 1:
            raise InputError(f"attack_share is {self.attack_share:g}; allowed: 0 to 1")

    @cached_property
    def numbers(self) -> np.ndarray:
        """How it aims, two AIM records: usually, and where a stroke is played to win."""
        usual = record(AIM, **{name: getattr(self, name) for name in AIM.names or ()})
        out = np.concatenate([usual, usual])
        out[1]["speed_share"] *= self.attack_speed_share
        out[1]["margin_share"] *= self.attack_margin_share
        out.setflags(write=False)
        return out

    @property
    def habit(self) -> np.ndarray:
        """What the hitter does with the shares, a HABIT record."""
        raise NotImplementedError

    def habit_against(self, receiver: Player) -> np.ndarray:
        """The same against that receiver; a model that looks at who it is says how."""
        return self.habit

    def shares_of(self, hitter: Player) -> tuple[np.ndarray, np.ndarray]:
        """That hitter's shares by place: a BELIEF record and STROKE_SEEN records."""
        raise NotImplementedError

    def packed(self, seen: ShotSituation, chance: np.ndarray) -> Packed:
        what = seen.contact, seen.receiver, chance, HALF_LENGTH_M + seen.receiver_depth_m
        own = self.shares_of(seen.me)
        who = self.habit_against(seen.opponent), *own, *self.player(seen)
        return Packed(intend_all, (*what, *who, np.empty(1, CONTACT), *_room(own)))

    def directions(self, seen: ShotSituation, draw: np.ndarray) -> np.ndarray:
        """The direction of each stroke (index in sim.belief.DIRECTIONS) from one draw each."""
        out, draws = np.empty(len(seen), np.int64), np.ascontiguousarray(draw, float)
        what = seen.contact, seen.receiver, draws, HALF_LENGTH_M + seen.receiver_depth_m
        own = self.shares_of(seen.me)
        habit = self.habit_against(seen.opponent)
        fill_directions(*what, habit, *own, *self.player(seen)[:3], *_room(own), out)
        return out

    def shares(self, seen: ShotSituation) -> np.ndarray:
        """Shares of the directions for each contact before any gap is looked at, shape (n, 4)."""
        out = np.empty((len(seen), len(DIRECTIONS)))
        own, habit = self.shares_of(seen.me), self.habit_against(seen.opponent)
        fill_shares(seen.contact, hand_of(seen.me), habit, *own, *_room(own), out)
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
