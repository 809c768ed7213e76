"""The typical game that stands for matches in the table: the one place that says what it is."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from experiments.spot import waiting_depth_m
from sim.array_engine import play
from sim.contracts import ShotModel, ShotSituation
from sim.exchange import Game, Place, Side
from sim.players import player
from sim.surface import surface as surface_named
from sim.world import TABULATED, World
from strategies.catalogue import make_policy
from strategies.shots.habit import Habit
from strategies.shots.open_court import OpenCourt

SHADE = "linear-shade,shade_m_per_m=0.15"  # the opponent's policy in the studies
HABIT_SHARE = 0.5  # of the strokes; the others seek the open court (assumed)
OPENING = Place("opening ball", 0.0, 11.885, 1.0)
# Each cell has rallies of its own, so that differences of cells are between independent samples.
CELLS = (
    ("professional-man", "hard"),
    ("professional-man", "clay"),
    ("professional-man", "grass"),
    ("professional-woman", "hard"),
)
RALLIES_APART = 10**9


@dataclass(frozen=True)
class Mixed:
    """Hits one stroke by habit and another to the open court, by the toss of a coin each time.

    Source: this project's, the share assumed. It should be told from either alone by a receiver
    who waits for habits.
    """

    habit: ShotModel = field(default_factory=Habit)
    open_court: ShotModel = field(default_factory=OpenCourt)
    name: ClassVar[str] = "mixed"
    sees_receiver: ClassVar[bool] = True

    @property
    def draws(self) -> int:
        return 1 + max(self.habit.draws, self.open_court.draws)

    def intents(self, seen: ShotSituation, chance: np.ndarray) -> np.ndarray:
        rest = np.ascontiguousarray(chance[:, 1:])
        out = self.open_court.intents(seen, rest[:, : self.open_court.draws])
        by_habit = chance[:, 0] < HABIT_SHARE
        out[by_habit] = self.habit.intents(seen, rest[:, : self.habit.draws])[by_habit]
        return out


def typical(level: str, surface: str, seed: int) -> tuple[Game, Place]:
    """Two players of that level on that surface, and the place of the first ball.

    Both wait at the level's own depth, recover by a shade of 0.15 m per metre and mix habit with
    the open court. A first ball from the middle of the baseline stands in for the serve.
    """
    who = player(level)
    side = Side(who, make_policy(SHADE), Mixed(), waiting_depth_m(who, surface))
    world = World(surface=surface_named(surface), flight=TABULATED)
    return Game(side, side, world, seed), OPENING


def typical_rallies(level: str, surface: str, seed: int, count: int) -> np.ndarray:
    """STROKE records of `count` typical rallies, sorted by rally and stroke."""
    game, place = typical(level, surface, seed)
    first = RALLIES_APART * CELLS.index((level, surface))
    return play(game, place, first + np.arange(count))
