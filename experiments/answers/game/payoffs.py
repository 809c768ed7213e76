"""What every shot is worth against every place to stand: the game at one contact place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.balls.places import FARTHEST_X_M, line_x_m
from experiments.balls.spots import on_the_line
from experiments.balls.struck import Struck
from experiments.scene.scene import Scene, require_count
from sim.chance import EXECUTION, uniforms
from sim.contracts import intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.exchange import opening_contact
from sim.records import MISSED
from sim.stroke import ERROR_DRAWS, strike
from strategies.even_draws import even_uniforms

# From time to spare (s) and grade, (balls, places), to what a ball that landed in is worth to the
# hitter, from -1 to 1.
Worth = Callable[[np.ndarray, np.ndarray], np.ndarray]
CHUNK = 8000
NEAREST_TARGET_M = 4.5
FEWEST_ERRORS, MOST_ERRORS = 20, 100_000


def not_returned(spare_s: np.ndarray, grade: np.ndarray) -> np.ndarray:
    """A ball is worth 1 where it is not reached in time, and nothing where it is."""
    return (grade == MISSED).astype(float)


@dataclass(frozen=True)
class Grid:
    """Places to stand, targets and speeds.

    `places` lateral places over FARTHEST_X_M to either side; `across` and `along` targets over
    the court from line to line and from NEAREST_TARGET_M to the baseline; speeds over the usual
    one.
    """

    places: int = len(line_x_m(coarse=True))
    across: int = 25
    along: int = 9
    speed_shares: tuple[float, ...] = (0.75, 0.85, 0.95, 1.05, 1.15)

    def halved(self) -> Grid:
        """Every second place, target and speed of this grid, the ends kept."""
        return Grid(
            (self.places + 1) // 2,
            (self.across + 1) // 2,
            (self.along + 1) // 2,
            self.speed_shares[::2],
        )

    @cached_property
    def place_x_m(self) -> np.ndarray:
        """Lateral places in the receiver's frame, (places,)."""
        return np.linspace(-FARTHEST_X_M, FARTHEST_X_M, self.places)

    @cached_property
    def shots(self) -> np.ndarray:
        """Target x, target y (hitter's frame) and speed share of every shot, (shots, 3)."""
        x = np.linspace(-HALF_WIDTH_M, HALF_WIDTH_M, self.across)
        y = np.linspace(NEAREST_TARGET_M, HALF_LENGTH_M, self.along)
        grid = np.meshgrid(x, y, np.array(self.speed_shares), indexing="ij")
        return np.stack([g.ravel() for g in grid], axis=1)


@dataclass(frozen=True)
class GameQuestion:
    """A scene, whose hitter plays no part, and how finely the game is drawn.

    `errors` strokes are struck at every target, with the same execution errors at each.

    Raises:
        InputError: a number of strokes out of range.
    """

    scene: Scene
    grid: Grid = Grid()
    errors: int = 256

    def __post_init__(self) -> None:
        require_count("strokes a target", self.errors, FEWEST_ERRORS, MOST_ERRORS)

    @cached_property
    def contact(self) -> np.ndarray:
        """The contact in the hitter's frame, a CONTACT record of length one."""
        return opening_contact(self.scene.place, self.scene.game.opponent, 1)


@dataclass(frozen=True)
class Payoffs:
    """What each shot earns the hitter against each place, and how often it lands in.

    payoff: (places, shots), chance that the ball lands in times what it is worth there, less the
    chance that it does not land in. lands: (shots,).
    """

    payoff: np.ndarray
    lands: np.ndarray


def payoffs_of(question: GameQuestion, worth: Worth = not_returned, fresh: int = 0) -> Payoffs:
    """The game at a contact place; another `fresh` strikes it with other execution errors."""
    grid = question.grid
    shots, n = grid.shots, question.errors
    shift = uniforms(question.scene.seed, np.array([fresh]), EXECUTION, 0, ERROR_DRAWS)[0]
    errors = even_uniforms(shift, n)
    earned, lands = np.empty((len(grid.place_x_m), len(shots))), np.empty(len(shots))
    size = max(CHUNK // n, 1)
    for first in range(0, len(shots), size):
        part = slice(first, first + size)
        worths, landed = _struck(question, shots[part], errors, worth)
        lands[part] = landed.mean(axis=1)
        earned[:, part] = worths.mean(axis=1).T - (1.0 - lands[part])
    return Payoffs(earned, lands)


def _struck(
    question: GameQuestion, shots: np.ndarray, errors: np.ndarray, worth: Worth
) -> tuple[np.ndarray, np.ndarray]:
    """Worth (shots, errors, places), 0 where the ball is not in, and whether it is in."""
    scene, n, count = question.scene, len(errors), len(shots)
    hitter = scene.opponent.hitter
    contact = np.repeat(question.contact, count * n)
    x, y, share = np.repeat(shots, n, axis=0).T
    speed = share * hitter.speed_m_s(contact["wing"])
    intents = intents_of(x, y, speed, hitter.topspin_rad_s(contact["wing"]))
    drawn, world = np.tile(errors, (count, 1)), scene.world.numbers
    struck = Struck.of(*strike(contact, intents, drawn, hitter.numbers, world))
    places = on_the_line(question.grid.place_x_m, scene.line_m)
    out = struck.spread(worth(*struck.appraised(places, scene.player.legs)))
    return out.reshape(count, n, -1), struck.landed.reshape(count, n)
