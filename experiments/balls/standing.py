"""Every place to stand, across and in depth: the share of the same balls that is missed from it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.balls.places import FARTHEST_X_M, LOOK_BALLS
from experiments.balls.spots import placed_situation, spots_of
from experiments.balls.struck import chunks_of, counted
from experiments.output.in_a_line import InALine
from experiments.scene.scene import Scene
from experiments.statistics.estimates import Estimate, binomial_share
from sim.contracts import RecoveryPolicy
from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M

STEP_X_M, STEP_DEPTH_M, COARSE_STEP_M = 0.2, 0.25, 0.5
MOST_INSIDE_M, MOST_BEHIND_M = 1.0, 5.0
BAND_M = 1.0
ALLOWED = 1.0  # balls in 100


@dataclass(frozen=True)
class Grid:
    """Places to stand: `x_m` to the right of the centre mark, `depth_m` behind the baseline."""

    x_m: np.ndarray
    depth_m: np.ndarray

    @property
    def places(self) -> np.ndarray:
        """All places (rows * columns, 2) as x and y, row by row."""
        x, depth = np.meshgrid(self.x_m, self.depth_m)
        return np.stack([x.ravel(), -HALF_LENGTH_M - depth.ravel()], axis=1)


@dataclass(frozen=True)
class Stand:
    """Where a policy stands, and what it misses from there of 100 balls that land in."""

    name: str
    x_m: float
    depth_m: float
    missed_per_100: float


@dataclass(frozen=True, repr=False)
class StandingMap(InALine):
    """Balls missed of 100 that land in, by place to stand; the waiting depth is one of the rows.

    missed_per_100: (depths, lateral places). balls: struck at each place; landed: of those the ones
    that landed in, (depths, lateral places).
    """

    scene: Scene
    grid: Grid
    missed_per_100: np.ndarray
    landed: np.ndarray
    balls: int
    policies: tuple[Stand, ...]

    @property
    def waiting_row(self) -> int:
        """The row of the waiting depth."""
        return int(np.abs(self.grid.depth_m - self.scene.depth_m).argmin())

    @property
    def best_per_100(self) -> float:
        """The least that is missed from any place at the waiting depth."""
        return float(self.missed_per_100[self.waiting_row].min())

    @property
    def edge_per_100(self) -> float:
        """What is missed at the edge of the best area: one ball in 100 more than the least.

        The least is that at the waiting depth, and the area is only looked at near it. The share in
        time must not choose the depth: deeper places reach more balls, at a price in time given
        away and wider angles that this share does not count. So depth stays the level's choice.
        """
        return self.best_per_100 + ALLOWED

    @property
    def band(self) -> StandingMap:
        """The same map near the waiting depth alone, where the best area is looked at."""
        near = np.abs(self.grid.depth_m - self.scene.depth_m) <= BAND_M + 1e-9
        grid = Grid(self.grid.x_m, self.grid.depth_m[near])
        cut = self.missed_per_100[near], self.landed[near]
        return StandingMap(self.scene, grid, *cut, self.balls, self.policies)

    @property
    def estimates(self) -> list[Estimate]:
        """Balls missed of 100 with their 95 % interval, place by place."""
        each = zip(self.missed_per_100.ravel(), self.landed.ravel(), strict=True)
        return [binomial_share(m / 100, round(n)).scaled(100.0) for m, n in each]

    @property
    def widest_per_100(self) -> float:
        """Half the widest 95 % interval of any place."""
        return 0.5 * max(e.high - e.low for e in self.estimates)


def whole_grid(scene: Scene) -> Grid:
    """From a metre inside the baseline to five behind it; coarse where a hitter sees the place."""
    return _grid(scene, -MOST_INSIDE_M, MOST_BEHIND_M)


def band_grid(scene: Scene) -> Grid:
    """The places near the waiting depth."""
    return _grid(scene, scene.depth_m - BAND_M, scene.depth_m + BAND_M)


def _grid(scene: Scene, low_m: float, high_m: float) -> Grid:
    across, step = (COARSE_STEP_M,) * 2 if scene.looks else (STEP_X_M, STEP_DEPTH_M)
    count = round(FARTHEST_X_M / across)
    waiting, slack = scene.depth_m, 1e-9
    low, high = min(low_m, waiting), min(max(high_m, waiting), RUN_OFF_BACK_M)
    first = -int((waiting - low) / step + slack)
    last = int((high - waiting) / step + slack)
    depth = waiting + step * np.arange(first, last + 1)
    return Grid(across * np.arange(-count, count + 1), depth)


def balls_of(scene: Scene) -> int:
    """How many balls each place meets: few where each needs balls of its own."""
    return min(LOOK_BALLS, scene.balls) if scene.looks else scene.balls


def steps_of(scene: Scene, policies: Sequence[RecoveryPolicy], grid: Grid) -> int:
    """How often `standing_map` calls `done`."""
    return chunks_of(scene, len(grid.places) + len(policies), balls_of(scene))


def standing_map(
    scene: Scene,
    policies: Sequence[RecoveryPolicy],
    grid: Grid,
    done: Callable[[], object] = lambda: None,
) -> StandingMap:
    """The map of a scene over a grid; all places meet the same balls.

    A hitter who sees the receiver plays to each place anew, fewer balls, on the same random
    numbers. `done` is called as the work goes on.

    Raises:
        InputError: a policy gives no usable spot, or from some place no ball landed in.
    """
    spots = spots_of(policies, placed_situation(scene))
    places, balls = np.concatenate([grid.places, spots]), balls_of(scene)
    found = counted(scene, places, balls, done=done).require_balls()
    missed = 100.0 * (1.0 - found.in_time)
    n, shape = len(grid.places), (len(grid.depth_m), len(grid.x_m))
    stands = [
        Stand(p.name, float(x), float(-y - HALF_LENGTH_M), float(m))
        for p, (x, y), m in zip(policies, spots, missed[n:], strict=True)
    ]
    by_place = missed[:n].reshape(shape), found.balls_in[:n].reshape(shape)
    return StandingMap(scene, grid, *by_place, balls, tuple(stands))
