"""The search for sets that fit a record: come down by smoothing, then spread over all that fit.

An ensemble of sets, even over all ranges at first, is brought to the record in a few steps by an
iterated ensemble smoother (Emerick and Reynolds 2013, Comput. Geosci. 55, 3): each step is a linear
regression of the parameters on the figures. That ends in a heap. From there the sets move by
differences of one another (differential evolution, ter Braak 2006, Stat. Comput. 16, 239) and are
asked only whether they fit, as in likelihood-free sampling (Turner and Sederberg 2012, J. Math.
Psychol. 56, 375): one that does not yet gives way to one beside a set that does and is no farther
off, one that fits to any other that fits. So they spread over what the record leaves open; a few
rounds reach a part of it, from where they came down.

Sets are points of the unit cube, a coordinate a parameter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

FITS = 1.0  # a distance up to this is a fit
SOUGHT = 0.94  # until so near the search goes on: on other chance sets are a little farther off
NEAREST_FACE = 0.005  # how near smoothing comes to the ends of a range
WORST_GAP = 15.0  # figures farther off, in tolerances, pull no harder
COPY_JITTER = 0.05
STEP_LOW, STEP_HIGH = 0.4, 1.0  # shares of the difference of two sets by which a third moves
JITTER = 0.01
# Coordinates that move together: a few at a time find their way past many that already fit.
MOVED_LOW, MOVED_HIGH = 0.1, 0.6


@dataclass(frozen=True)
class Judged:
    """What sets came to: gaps (n, figures) in tolerances, NaN where a set cannot be played, and
    distances (n,), infinite there; a fit is at most FITS away."""

    gaps: np.ndarray
    distances: np.ndarray


@dataclass(frozen=True)
class Population:
    """Points (n, d) of the unit cube and what they came to."""

    points: np.ndarray
    judged: Judged

    @property
    def distances(self) -> np.ndarray:
        """How far each is from the record (n,)."""
        return self.judged.distances

    @property
    def fitting(self) -> int:
        """How many fit."""
        return int((self.distances <= FITS).sum())

    def best(self, count: int) -> Population:
        """`count` that fit, as they come; the nearest ones, where fewer fit."""
        fit = np.flatnonzero(self.distances <= FITS)
        if len(fit) < count:
            fit = np.argsort(self.distances, kind="stable")
        return self._of(fit[:count])

    def _of(self, few: np.ndarray) -> Population:
        judged = Judged(self.judged.gaps[few], self.distances[few])
        return Population(self.points[few], judged)

    def replaced(self, taken: np.ndarray, by: Population) -> Population:
        """With the members of another one where `taken` (n,) says so."""
        return Population(
            np.where(taken[:, None], by.points, self.points),
            Judged(
                np.where(taken[:, None], by.judged.gaps, self.judged.gaps),
                np.where(taken, by.distances, self.distances),
            ),
        )


Judge = Callable[[np.ndarray], Judged]  # of points (n, d)


def search(
    judge: Judge, size: int, dimensions: int, smoothings: int, moves: int, seed: int
) -> Iterator[Population]:
    """The first population, the one after each smoothing, and after each round of moves.

    `size` sets from Latin hypercube sampling; the same populations from the same seed.
    """
    from scipy.stats import qmc  # slow to import

    cube = qmc.LatinHypercube(dimensions, rng=np.random.default_rng([seed, 0]))
    now = _judged(judge, cube.random(size))
    yield now
    for number in range(1, smoothings + 1):
        rng = np.random.default_rng([seed, number])
        now = _judged(judge, smoothed(now, smoothings, rng))
        yield now
    for number in range(smoothings + 1, smoothings + moves + 1):
        rng = np.random.default_rng([seed, number])
        tried = _judged(judge, moved(now.points, now.distances <= SOUGHT, rng))
        now = now.replaced(tried.distances <= np.maximum(now.distances, SOUGHT), tried)
        yield now


def _judged(judge: Judge, points: np.ndarray) -> Population:
    return Population(points, judge(points))


def between(points: np.ndarray, known: np.ndarray, seed: int) -> np.ndarray:
    """Points (n, d), each somewhere on the way from a set that is known to fit (d,) to it.

    The figures are nearly linear in the parameters, and the gap is convex in the figures: what lies
    between two sets that fit mostly fits, too, and a search that came down elsewhere misses it.
    """
    share = np.random.default_rng([seed, len(points)]).random((len(points), 1))
    return known + share * (points - known)


def smoothed(now: Population, steps: int, rng: np.random.Generator) -> np.ndarray:
    """Points after one of `steps` steps toward the record; sets that cannot be played begin anew
    beside others."""
    from scipy.stats import norm  # slow to import

    z = norm.ppf(np.clip(now.points, NEAREST_FACE, 1.0 - NEAREST_FACE))
    gaps, size = now.judged.gaps.copy(), len(z)
    playable = np.isfinite(gaps).all(axis=1)
    bad = np.flatnonzero(~playable)
    like = rng.choice(np.flatnonzero(playable), len(bad))
    z[bad] = z[like] + rng.normal(0.0, COPY_JITTER, (len(bad), z.shape[1]))
    gaps[bad] = gaps[like]
    gaps = np.clip(gaps, -WORST_GAP, WORST_GAP)
    from_mean, about = z - z.mean(axis=0), gaps - gaps.mean(axis=0)
    # The record's errors, one tolerance each, are counted `steps` times, once a step.
    spread = about.T @ about / (size - 1) + steps * np.eye(gaps.shape[1])
    gain = np.linalg.solve(spread, about.T @ from_mean / (size - 1))
    wished = rng.normal(0.0, np.sqrt(steps), gaps.shape)
    most = norm.ppf(1.0 - NEAREST_FACE)
    return np.asarray(norm.cdf(np.clip(z + (wished - gaps) @ gain, -most, most)))


def moved(points: np.ndarray, near: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A new point for every one: itself, or in place of one that is not `near` (n,) another one
    that is, moved by the difference of two others and kept in the cube."""
    size, dimensions = points.shape
    own = np.arange(size)
    start = own
    if near.any() and not near.all():
        start = np.where(near, own, rng.choice(np.flatnonzero(near), size))
    one = (own + rng.integers(1, size, size)) % size
    other = (own + rng.integers(1, size, size)) % size
    step = rng.uniform(STEP_LOW, STEP_HIGH, (size, 1))
    move = step * (points[one] - points[other]) + rng.normal(0.0, JITTER, points.shape)
    some = rng.random(points.shape) < rng.uniform(MOVED_LOW, MOVED_HIGH, (size, 1))
    some[own, rng.integers(0, dimensions, size)] = True
    return _folded(points[start] + np.where(some, move, 0.0))


def _folded(points: np.ndarray) -> np.ndarray:
    """Points that leave the cube, turned back at its faces."""
    turned = np.abs(points) % 2.0
    return np.where(turned > 1.0, 2.0 - turned, turned)
