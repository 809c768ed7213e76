"""What is wanted of a learned policy: points won in whole points, against whom and in which worlds.

Half of the points open with the own serve, half with the other's. Every candidate of a round meets
the same points.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from pydantic import ValidationError

from experiments.scene.defaults import HITTER
from experiments.statistics.tally import replicate_table
from experiments.study.design import Study
from experiments.study.design_points import game_at
from experiments.study.file import load_study, refused
from experiments.study.served import whole_points
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Game, with_policy

FEWEST_POINTS = 20  # a hitter, world and opening
START = "middle"  # a policy that every game is made with until the candidate takes its place


@dataclass(frozen=True)
class Goal:
    """What is maximised: the mean over hitters of the points won, or (`worst`) the least of them.

    hitters: shot models of the opponent. worlds: how many worlds that fit the record stand in for
    the default values; 0 for these alone. points: whole points a hitter, of each candidate and
    round.
    """

    level: str
    hitters: tuple[str, ...] = (HITTER,)
    worst: bool = False
    surface: str = "hard"
    hand: str = "right"
    opponent_hand: str = "right"
    worlds: int = 0
    points: int = 2000

    def __post_init__(self) -> None:
        if not self.hitters:
            raise InputError("name a hitter to learn against, or several, divided by commas")
        least = FEWEST_POINTS * 2 * max(self.worlds, 1)
        if self.points < least:
            raise InputError(
                f"{self.points} points a hitter are too few to learn from; give {least} or more"
            )
        _ = self.study  # what cannot be played is told now

    @cached_property
    def study(self) -> Study:
        """The games of the goal, as a study has them."""
        usual = load_study().model_dump(exclude_none=True)
        given: dict[str, Any] = {
            "settings": ("serving", "returning"),
            "levels": (self.level,),
            "opponents": self.hitters,
            "policies": (START,),
            "reference": START,
            "surface": self.surface,
            "hand": self.hand,
            "opponent_hand": self.opponent_hand,
        }
        if self.worlds:
            given["worlds"] = self.worlds
        for key in ("headline", "choices", "precision", "race"):
            usual.pop(key, None)
        try:
            return Study.model_validate(usual | given)
        except ValidationError as error:
            raise refused("what is to be learned", error) from None

    @cached_property
    def points_of_worlds(self) -> tuple[int | None, ...]:
        """The points of the design that are played: None for the default values."""
        return tuple(range(self.worlds)) if self.worlds else (None,)

    def values(
        self, policy: RecoveryPolicy, seed: int, first: int = 0, of: tuple[str, ...] = ()
    ) -> np.ndarray:
        """Points won in 100 against each hitter, (hitters,), from replicate `first` on; against
        the hitters `of` alone, if any are named."""
        tables = [self.table(policy, hitter, seed, first) for hitter in of or self.hitters]
        return np.array([100.0 * float(np.mean(table[:, 6])) for table in tables])

    def table(
        self, policy: RecoveryPolicy, hitter: str, seed: int, first: int, points: int = 0
    ) -> np.ndarray:
        """A row a whole point against that hitter, columns those of `statistics.tally`."""
        worlds = self.points_of_worlds
        each = -(-(points or self.points) // (2 * len(worlds)))
        rows = []
        for k, world in enumerate(worlds):
            game = with_policy(game_of(self, hitter, world, seed), policy)
            rows += both_openings(game, first + 2 * k * each, each)
        return np.concatenate(rows)

    def of(self, values: np.ndarray) -> float:
        """What is maximised of the points won against each hitter."""
        return float(values.min() if self.worst else values.mean())


def both_openings(game: Game, first: int, each: int) -> list[np.ndarray]:
    """A row a whole point, columns those of `statistics.tally`: `each` points that open with the
    studied player's serve, from replicate `first` on, then as many with the other's."""
    tables = []
    for k, serving in enumerate((True, False)):
        replicates = np.arange(first + k * each, first + (k + 1) * each)
        strokes = whole_points(game, replicates, serving)
        tables.append(replicate_table(strokes, replicates, True))
    return tables


@lru_cache(maxsize=512)
def game_of(goal: Goal, hitter: str, world: int | None, seed: int) -> Game:
    """A game of the goal, kept: new players work their tables out anew."""
    study = goal.study
    game = study.game(study.levels[0], hitter, START, seed)
    if world is None or study.varied is None:
        return game
    return game_at(study.varied, world, game, study.places[0].place)[0]
