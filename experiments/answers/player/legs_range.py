"""How far an answer moves over what a measured player's legs may be."""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from experiments.answers.spot.answer import SpotResult
from experiments.balls.best import best_of
from experiments.balls.places import line_x_m
from experiments.balls.spots import on_the_line
from experiments.balls.struck import groups_of, struck_at
from experiments.scene.scene import Scene
from experiments.scene.sides import side
from experiments.study.parameter_draws import draw_sets
from sim.legs import Legs
from sim.over_arrays import interpolated
from sim.parameter import parameter_rows
from sim.players import Player
from sim.records import MISSED

SETS, WIDTH = 32, 100
ENDS, RANGES = ("low", "high"), ("best_x_m", "share_in_time")
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
        ends = {name: dict(zip(ENDS, getattr(self, name), strict=True)) for name in RANGES}
        return {**dataclasses.asdict(self), **ends}


def legs_range(result: SpotResult) -> LegsRange | None:
    """How the best place of a result moves over the measured ranges of its player's legs.

    Each set draws all measured parameters of the legs, each by itself over its range, which is a
    little wider than what was measured: top speed and time constant go together. None for a player
    whose legs were not measured.
    """
    scene = result.scene
    names = measured_legs(scene.player)
    if not names:
        return None
    sets = draw_sets((scene.player,), scene.world, SETS, scene.seed, only=names)
    many = [s.players[0].legs for s in sets]
    x = line_x_m(coarse=scene.looks)
    shares, balls = shares_of_legs(scene, x, many)
    best = [best_of(x, share) for share in shares]
    stated = [float(interpolated(result.best.x_m, x, share)) for share in shares]
    places = [b.x_m for b in best]
    reached = [b.share for b in best]
    lost = max(b - s for b, s in zip(reached, stated, strict=True))
    ends = (min(places), max(places)), (min(reached), max(reached))
    return LegsRange(names, len(many), balls, *ends, max(0.0, lost))


def measured_legs(player: Player) -> tuple[str, ...]:
    """The parameters of the legs that were measured."""
    own = {row.name for row in parameter_rows("legs", player.legs)}
    return tuple(name for name, _, _ in player.ranges if name in own)


def shares_of_legs(scene: Scene, x_m: np.ndarray, many: Sequence[Legs]) -> tuple[np.ndarray, int]:
    """Share in time by legs and lateral place, (legs, places), and the balls at each place.

    All legs meet the same balls: a hitter who looks sees the scene's own player.
    """
    balls = min(BALLS_A_PLACE if scene.looks else BALLS, scene.balls)
    parts = []
    for group in groups_of(on_the_line(x_m, scene.line_m), scene.looks):
        struck = struck_at(scene, group[0], np.arange(balls))
        grades = (struck.appraised(group, legs)[1] for legs in many)
        parts.append([(grade != MISSED).mean(axis=0) for grade in grades])
    return np.concatenate(parts, axis=1), balls


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
