"""The game at one contact place: what each shot is worth against each place, solved in both orders.

What a ball that the receiver reaches is worth to its hitter comes from rallies played out.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.answers.game.zero_sum import (
    Seen,
    Solution,
    bounds_of,
    solve_hidden,
    solve_seen,
    unequal,
)
from experiments.balls.places import FARTHEST_X_M, line_x_m
from experiments.balls.spots import on_the_line
from experiments.balls.struck import Struck
from experiments.scene.scene import Scene, require_count
from experiments.statistics.tally import points_won
from sim.array_engine import play
from sim.chance import EXECUTION, uniforms
from sim.contracts import intents_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.exchange import Game, Side, opening_contact
from sim.over_arrays import interpolated
from sim.records import IN, MISSED, STUDIED
from sim.stroke import ERROR_DRAWS, strike
from strategies.even_draws import even_uniforms
from strategies.recovery.bisector import Bisector
from strategies.shots.habit import Habit

# From time to spare (s) and grade, (balls, places), to what a ball that landed in is worth to the
# hitter, from -1 to 1.
Worth = Callable[[np.ndarray, np.ndarray], np.ndarray]
CHUNK = 8000
NEAREST_TARGET_M = 4.5
FEWEST_ERRORS, MOST_ERRORS = 20, 100_000
RALLIES, FEWEST_STROKES = 4000, 400
# Ends of the bins as shares of the balls, narrow where little time is left and worth falls fast.
BINS = (0.0, 1 / 24, 1 / 12, 1 / 8, 1 / 4, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 7 / 8, 1.0)


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


@dataclass(frozen=True)
class NextBall:
    """Worth of a ball by the receiver's time to spare: points won less points lost by the hitter.

    `worth` at the times `spare_s`, straight between them and level beyond; a ball that is missed is
    worth 1, and so is one that is just touched.
    """

    spare_s: np.ndarray
    worth: np.ndarray

    def __call__(self, spare_s: np.ndarray, grade: np.ndarray) -> np.ndarray:
        returned = interpolated(spare_s, self.spare_s, self.worth)
        return np.where(grade == MISSED, 1.0, returned)


def worth_of_rallies(scene: Scene, rallies: int = RALLIES) -> NextBall:
    """The worth of balls got back, from rallies of the two players opened from the same place.

    Both hit by habit and recover to the bisector.
    """
    studied = Side(scene.player, Bisector(), Habit(), scene.depth_m)
    other = Side(scene.opponent, Bisector(), Habit())
    played = Game(studied, other, scene.world, scene.seed)
    return next_ball_of(play(played, scene.place, np.arange(rallies)))


def next_ball_of(strokes: np.ndarray, bins: Sequence[float] = BINS) -> NextBall:
    """The worth of the balls in STROKE records that landed in and were reached.

    The worth is the mean over balls of +1 where the hitter won the point in the end, -1 where the
    other did (0 at the stroke limit), in bins of balls by time to spare. A ball that is reached and
    does not come back is won by the hitter.

    Raises:
        InputError: too few balls for that.
    """
    back = (strokes["outcome"] == IN) & (strokes["grade"] != MISSED)
    if back.sum() < FEWEST_STROKES:
        raise InputError(f"{back.sum()} balls were reached; play at least {FEWEST_STROKES}")
    won = earned_by_hitter(strokes)[back]
    spare = strokes["time_to_spare_s"][back]
    order = np.argsort(spare, kind="stable")
    parts = np.split(order, np.round(np.array(bins[1:-1]) * len(order)).astype(int))
    means = [(float(spare[p].mean()), float(won[p].mean())) for p in parts]
    return NextBall(*np.array([(0.0, 1.0), *means]).T)


def earned_by_hitter(strokes: np.ndarray) -> np.ndarray:
    """+1 where the stroke's hitter won the rally, -1 where the other did, 0 where nobody, (n,)."""
    rallies, row = np.unique(strokes["replicate"], return_inverse=True)
    studied = 2.0 * points_won(strokes, row, len(rallies))[row] - 1.0
    return np.where(strokes["side"] == STUDIED, studied, -studied)


@dataclass(frozen=True)
class GameAnswer:
    """Both orders of one game. Values are what the hitter earns a ball, from -1 to 1.

    fresh_low, fresh_high: what the two mixes are sure of when all is struck anew; the place hidden
    is worth something between them. fresh_seen: the best reply to the place of `seen`, anew.
    coarse_value: the hidden value on a grid half as fine. breach: of the equal-value condition.
    """

    question: GameQuestion
    payoffs: Payoffs
    hidden: Solution
    seen: Seen
    fresh_low: float
    fresh_high: float
    fresh_seen: float
    coarse_value: float
    breach: float

    @property
    def disguise(self) -> float:
        """What the receiver gains a ball by hiding the place until the stroke."""
        return max(self.seen.value - self.hidden.value, 0.0)

    @property
    def safest_x_m(self) -> float:
        """The place to stand when it is seen."""
        return float(self.question.grid.place_x_m[self.seen.row])


def solve_game(question: GameQuestion, worth: Worth = not_returned) -> GameAnswer:
    """Solve the game at a contact place, and check it on fresh strokes and on a coarser grid."""
    payoffs = payoffs_of(question, worth)
    hidden, seen = solve_hidden(payoffs.payoff), solve_seen(payoffs.payoff)
    fresh = payoffs_of(question, worth, fresh=1).payoff
    low, high = bounds_of(fresh, hidden)
    coarse = dataclasses.replace(question, grid=question.grid.halved())
    return GameAnswer(
        question=question,
        payoffs=payoffs,
        hidden=hidden,
        seen=seen,
        fresh_low=low,
        fresh_high=high,
        fresh_seen=float(fresh[seen.row].max()),
        coarse_value=solve_hidden(payoffs_of(coarse, worth).payoff).value,
        breach=unequal(payoffs.payoff, hidden),
    )
