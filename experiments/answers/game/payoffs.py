"""What every shot is worth against every place to stand: the game at one contact place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.balls.places import FARTHEST_X_M, line_x_m
from sim.chance import EXECUTION, checked_seed, uniforms
from sim.contracts import intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.exchange import Place, wing_at
from sim.meeting import appraisals
from sim.players import Player
from sim.records import CONTACT, IN, MISSED
from sim.stroke import ERROR_DRAWS, strike
from sim.world import World
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
    """A contact place, who plays, and how finely the game is drawn.

    `errors` strokes are struck at every target, with the same execution errors at each.

    Raises:
        InputError: a number of strokes or a seed out of range.
    """

    place: Place
    player: Player
    opponent: Player
    world: World
    depth_m: float
    seed: int
    grid: Grid = Grid()
    errors: int = 256

    def __post_init__(self) -> None:
        if not FEWEST_ERRORS <= self.errors <= MOST_ERRORS:
            raise InputError(
                f"strokes a target is {self.errors}; allowed: {FEWEST_ERRORS} to {MOST_ERRORS}"
            )
        checked_seed(self.seed)

    @cached_property
    def contact(self) -> np.ndarray:
        """The contact in the hitter's frame, a CONTACT record of length one."""
        out = np.zeros(1, CONTACT)
        out["x_m"], out["y_m"], out["z_m"] = -self.place.x_m, -self.place.y_m, self.place.z_m
        out["wing"], out["quality"] = wing_at(out["x_m"], self.opponent), 1.0
        return out


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
    shift = uniforms(question.seed, np.array([fresh]), EXECUTION, 0, ERROR_DRAWS)[0]
    errors = even_uniforms(shift, n)
    earned, lands = np.empty((len(grid.place_x_m), len(shots))), np.empty(len(shots))
    for part in _chunks(len(shots), max(CHUNK // n, 1)):
        worths, landed = _struck(question, shots[part], errors, worth)
        lands[part] = landed.mean(axis=1)
        earned[:, part] = worths.mean(axis=1).T - (1.0 - lands[part])
    return Payoffs(earned, lands)


def _chunks(count: int, size: int) -> Iterator[slice]:
    for first in range(0, count, size):
        yield slice(first, min(first + size, count))


def _struck(
    question: GameQuestion, shots: np.ndarray, errors: np.ndarray, worth: Worth
) -> tuple[np.ndarray, np.ndarray]:
    """Worth (shots, errors, places), 0 where the ball is not in, and whether it is in."""
    hitter, n, count = question.opponent.hitter, len(errors), len(shots)
    contact = np.repeat(question.contact, count * n)
    x, y, share = np.repeat(shots, n, axis=0).T
    speed = share * hitter.speed_m_s(contact["wing"])
    intents = intents_of(x, y, speed, hitter.topspin_rad_s(contact["wing"]))
    world = question.world.numbers
    balls, paths = strike(contact, intents, np.tile(errors, (count, 1)), hitter.numbers, world)
    landed, legs = balls["outcome"] == IN, question.player.legs
    place_x = question.grid.place_x_m
    place_y = np.full(len(place_x), -(HALF_LENGTH_M + question.depth_m))
    out = np.zeros((len(balls), len(place_x)))
    found = appraisals(balls[landed], paths[landed], place_x, place_y, legs.numbers, legs.times)
    out[landed] = worth(*found)
    return out.reshape(count, n, -1), landed.reshape(count, n)
