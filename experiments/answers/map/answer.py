"""Two policies for every place that the opponent may strike from: who misses fewer of the balls."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.balls.spots import placed_situation, spots_of
from experiments.balls.struck import side_by_side
from experiments.output.in_a_line import InALine
from experiments.scene.scene import CONTACT, Scene
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, WINS, verdict
from experiments.statistics.estimates import INDEX, Estimate, paired, ratio
from experiments.statistics.tally import Tally
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Place

FARTHEST_X_M, NEAREST_Y_M, FARTHEST_Y_M = 5.0, 4.0, 15.0
FINEST_M, COARSEST_M = 0.1, 2.0
WORDS = {WINS: "fewer missed", AS_GOOD: "as good", LOSES: "more missed", NOT_DECIDED: "not decided"}


@dataclass(frozen=True)
class Contrast:
    """A policy beside another for one contact place, of 100 balls that land in.

    fewer: balls missed fewer with the policy than with the other, on the same balls, with its 95 %
    interval. verdict: a key of WORDS.
    """

    x_m: float
    y_m: float
    spot_m: tuple[float, float]
    other_spot_m: tuple[float, float]
    missed_per_100: float
    other_missed_per_100: float
    fewer: Estimate

    @property
    def verdict(self) -> str:
        return verdict(self.fewer.low, self.fewer.high)


@dataclass(frozen=True, repr=False)
class ContactMap(InALine):
    """Contrasts over a grid of contact places, row by row; None where no ball landed in.

    `scene` has any one of the places; only its other parts hold for all.
    """

    scene: Scene
    policy: str
    other: str
    x_m: np.ndarray
    y_m: np.ndarray
    found: tuple[Contrast | None, ...]

    @property
    def known(self) -> list[Contrast]:
        """The contrasts of the places from which a ball landed in."""
        return [c for c in self.found if c is not None]

    def values(self, of: Callable[[Contrast], float]) -> np.ndarray:
        """A number of each contrast, (rows of y, columns of x); NaN where there is none."""
        flat = [np.nan if c is None else of(c) for c in self.found]
        return np.array(flat, float).reshape(len(self.y_m), len(self.x_m))

    def are(self, word: str) -> np.ndarray:
        """Which places have that verdict, (rows of y, columns of x)."""
        flat = [c is not None and c.verdict == word for c in self.found]
        return np.array(flat, bool).reshape(len(self.y_m), len(self.x_m))


def contact_grid(step_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Lateral places and distances from the net of the contacts, a step apart.

    Raises:
        InputError: a step out of range.
    """
    if not FINEST_M <= step_m <= COARSEST_M:
        raise InputError(f"step is {step_m:g} m; allowed: {FINEST_M:g} to {COARSEST_M:g}")
    slack = 1e-9
    side = int(FARTHEST_X_M / step_m + slack)
    deep = int((FARTHEST_Y_M - NEAREST_Y_M) / step_m + slack)
    return step_m * np.arange(-side, side + 1), NEAREST_Y_M + step_m * np.arange(deep + 1)


def contact_map(
    scene: Scene,
    policy: RecoveryPolicy,
    other: RecoveryPolicy,
    step_m: float,
    done: Callable[[], object] = lambda: None,
) -> ContactMap:
    """The map of a scene, whose place gives the height of the ball alone.

    All places use the same random numbers, so that neighbours differ by place and not by luck.
    `done` is called after each place.

    Raises:
        InputError: one policy twice, a step out of range, or a policy gives no usable spot.
    """
    if policy == other:
        raise InputError(f"both policies are {policy.name!r}; name two different ones")
    x_m, y_m = contact_grid(step_m)
    found = []
    for y in y_m:
        for x in x_m:
            place = Place(CONTACT, float(x), float(y), scene.place.z_m)
            found.append(contrast(scene.at(place), policy, other))
            done()
    return ContactMap(scene, policy.name, other.name, x_m, y_m, tuple(found))


def contrast(scene: Scene, policy: RecoveryPolicy, other: RecoveryPolicy) -> Contrast | None:
    """Two policies at the place of a scene; None if no ball lands in from there."""
    spots = spots_of((policy, other), placed_situation(scene))
    tally = side_by_side(scene, spots, scene.balls)
    landed = min(tally.own[0, INDEX["balls"]], tally.reference[0, INDEX["balls"]])
    if landed == 0:
        return None
    swapped = Tally(tally.reference, tally.cross.T, tally.own)
    fewer = paired(swapped, "missed", "balls").scaled(100.0)
    own, its = (100.0 * ratio(t, "missed", "balls").value for t in (tally, swapped))
    a, b = ((float(x), float(y)) for x, y in spots)
    return Contrast(scene.place.x_m, scene.place.y_m, a, b, own, its, fewer)
