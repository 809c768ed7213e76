"""How far an answer moves over what a measured player's legs may be."""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from experiments.answers.spot.question import (
    SpotQuestion,
    SpotResult,
    on_the_line,
    placed_situation,
)
from experiments.answers.spot.words import side
from experiments.balls.best import best_of
from experiments.balls.places import line_x_m
from experiments.balls.struck import groups_of, struck_at
from experiments.study.parameter_draws import draw_sets
from sim.legs import Legs
from sim.parameter import parameter_rows
from sim.players import Player
from sim.records import MISSED

SETS, WIDTH = 32, 100
BALLS, BALLS_A_PLACE = 2000, 400  # the second against a hitter who looks at the receiver


@dataclass(frozen=True)
class LegsRange:
    """The best place and what is reached, over `sets` draws of the measured parameters.

    `best_x_m` and `share_in_time` are the smallest and the largest over the draws, the share at
    each draw's own best place; `lost` is the most that the stated best place loses to a draw's own
    best one, as a share. All draws meet the same `balls`.
    """

    parameters: tuple[str, ...]
    sets: int
    balls: int
    best_x_m: tuple[float, float]
    share_in_time: tuple[float, float]
    lost: float

    def as_json(self) -> dict[str, Any]:
        """All of it as plain numbers."""
        ends = {
            name: {"low": round(low, 6), "high": round(high, 6)}
            for name, (low, high) in (
                ("best_x_m", self.best_x_m),
                ("share_in_time", self.share_in_time),
            )
        }
        return {**dataclasses.asdict(self), **ends, "lost": round(self.lost, 6)}


def legs_range(result: SpotResult) -> LegsRange | None:
    """How the best place of a result moves over the measured ranges of its player's legs.

    Each set draws all measured parameters of the legs, each by itself over its range, which is a
    little wider than what was measured: top speed and time constant go together. None for a player
    whose legs were not measured.
    """
    question = result.question
    names = measured_legs(question.player)
    if not names:
        return None
    sets = draw_sets((question.player,), question.world, SETS, question.seed, only=names)
    many = [s.players[0].legs for s in sets]
    x = line_x_m(coarse=question.hitter.sees_receiver)
    shares, balls = shares_of_legs(question, x, many)
    best = [best_of(x, share) for share in shares]
    stated = [float(np.interp(result.best.x_m, x, share)) for share in shares]
    places = [b.x_m for b in best]
    reached = [b.share for b in best]
    lost = max(b - s for b, s in zip(reached, stated, strict=True))
    ends = (min(places), max(places)), (min(reached), max(reached))
    return LegsRange(names, len(many), balls, *ends, max(0.0, lost))


def measured_legs(player: Player) -> tuple[str, ...]:
    """The parameters of the legs that were measured."""
    own = {row.name for row in parameter_rows("legs", player.legs)}
    return tuple(name for name, _, _ in player.ranges if name in own)


def shares_of_legs(
    question: SpotQuestion, x_m: np.ndarray, many: Sequence[Legs]
) -> tuple[np.ndarray, int]:
    """Share in time by legs and lateral place, (legs, places), and the balls at each place."""
    places, sees = (
        on_the_line(x_m, placed_situation(question).line_m),
        question.hitter.sees_receiver,
    )
    balls = min(BALLS_A_PLACE if sees else BALLS, question.balls)
    parts = [reached_by(question, group, many, balls) for group in groups_of(places, sees)]
    return np.concatenate(parts, axis=1), balls


def reached_by(
    question: SpotQuestion, places: np.ndarray, many: Sequence[Legs], balls: int
) -> np.ndarray:
    """Share in time of the same balls, struck with the receiver at the first of the places."""
    struck = struck_at(question.game, question.place, places[0], np.arange(balls))
    grades = (struck.appraised(places, legs)[1] for legs in many)
    return np.array([(grade != MISSED).mean(axis=0) for grade in grades])


def legs_text(found: LegsRange) -> str:
    """The range in words."""
    low, high = found.best_x_m
    less, more = (100 * (1 - v) for v in reversed(found.share_in_time))
    place = f"moves from {side(low)} to {side(high)}"
    if side(low) == side(high):
        place = f"stays {side(low)}"
    text = (
        f"Over what your measured legs may be ({found.sets} draws from the 90 % ranges, the same"
        f" {found.balls} balls), the best place {place}, and {less:.1f} to {more:.1f} balls in 100"
        f" are missed from it; the place stated above loses at most {100 * found.lost:.1f} in 100"
        " to the best one."
    )
    return textwrap.fill(text, WIDTH)
