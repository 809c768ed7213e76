"""The search for sets that fit: differential evolution that does not ask how well, only whether.

A population of points of the unit cube moves by differences of its members (ter Braak 2006, Stat.
Comput. 16, 239), accepted by their distance to the record alone, as in likelihood-free sampling
(Turner and Sederberg 2012, J. Math. Psychol. 56, 375). A point that does not fit yet gives way to
one that is no farther off; one that fits to any other that fits. So the population first comes
down to where sets fit and then spreads over all of that region, evenly, whatever leads there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

FITS = 1.0  # a distance up to this is a fit
STEP_LOW, STEP_HIGH = 0.4, 1.0  # shares of the difference of two members by which a third moves
JITTER = 0.01
# Coordinates that move together: a few at a time find their way past many that already fit.
MOVED_LOW, MOVED_HIGH = 0.1, 0.6
TOWARD_BEST = 0.5  # share of those that do not fit yet which are drawn toward one of the nearest
BEST_SHARE = 0.15

# Points (n, d) of the unit cube to distances (n,); infinite where nothing can be played.
Distances = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Population:
    """Points (n, d) of the unit cube and their distances (n,); a fit is at most FITS away."""

    points: np.ndarray
    distances: np.ndarray

    @property
    def fitting(self) -> int:
        """How many fit."""
        return int((self.distances <= FITS).sum())

    def best(self, count: int) -> Population:
        """`count` that fit, as they come; the nearest ones, where fewer fit."""
        fit = np.flatnonzero(self.distances <= FITS)
        if len(fit) < count:
            fit = np.argsort(self.distances, kind="stable")
        return Population(self.points[fit[:count]], self.distances[fit[:count]])


def first_population(distances: Distances, size: int, dimensions: int, seed: int) -> Population:
    """A Latin hypercube over the cube: every range is covered evenly."""
    from scipy.stats import qmc  # slow to import

    cube = qmc.LatinHypercube(dimensions, rng=np.random.default_rng([seed, 0]))
    points = cube.random(size)
    return Population(points, distances(points))


def next_population(distances: Distances, now: Population, seed: int, number: int) -> Population:
    """One generation on; `number` counts them from 1, so that each has chance of its own."""
    rng = np.random.default_rng([seed, number])
    tried = _proposed(now, rng)
    found = distances(tried)
    taken = found <= np.maximum(now.distances, FITS)
    return Population(
        np.where(taken[:, None], tried, now.points), np.where(taken, found, now.distances)
    )


def generations(
    distances: Distances, size: int, dimensions: int, count: int, seed: int
) -> Iterator[Population]:
    """The first population and `count` that follow it."""
    now = first_population(distances, size, dimensions, seed)
    yield now
    for number in range(1, count + 1):
        now = next_population(distances, now, seed, number)
        yield now


def _proposed(now: Population, rng: np.random.Generator) -> np.ndarray:
    """A new point for every member: moved by the difference of two others, kept in the cube."""
    size, dimensions = now.points.shape
    own = np.arange(size)
    one = (own + rng.integers(1, size, size)) % size
    other = (own + rng.integers(1, size, size)) % size
    step = rng.uniform(STEP_LOW, STEP_HIGH, (size, 1))
    move = step * (now.points[one] - now.points[other])
    nearest = np.argsort(now.distances, kind="stable")[: max(2, round(BEST_SHARE * size))]
    goal = now.points[rng.choice(nearest, size)]
    drawn = (now.distances > FITS) & (rng.random(size) < TOWARD_BEST)
    move += np.where(drawn[:, None], rng.random((size, 1)) * (goal - now.points), 0.0)
    moved = rng.random((size, dimensions)) < rng.uniform(MOVED_LOW, MOVED_HIGH, (size, 1))
    moved[own, rng.integers(0, dimensions, size)] = True
    jitter = rng.normal(0.0, JITTER, (size, dimensions))
    return _folded(now.points + np.where(moved, move + jitter, 0.0))


def _folded(points: np.ndarray) -> np.ndarray:
    """Points that leave the cube, turned back at its faces."""
    turned = np.abs(points) % 2.0
    return np.where(turned > 1.0, 2.0 - turned, turned)

