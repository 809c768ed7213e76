"""The place from which both extreme drives leave the same time."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from sim.contracts import Situation
from sim.envelope import crossing_x_m
from sim.errors import unknown_name
from strategies.naming import described
from strategies.recovery.standing import SIDE_LIMIT_M, standing

PLACES, FINE_PLACES = 33, 9
HOPELESS_S = -1e8  # less time to spare than this: the ball cannot be played from anywhere
SPEEDS = ("slowest", "fastest")


Flown = tuple[np.ndarray, np.ndarray]


def surpluses(seen: Situation, left: Flown, right: Flown, x_m: np.ndarray) -> np.ndarray:
    """Time to spare against the right extreme less that against the left, from places (n, k).

    `left` and `right` are balls and paths of the two drives. NaN where either ball is not in or
    cannot be played at all.
    """
    spare_left, spare_right = seen.time_to_spare_s(left, x_m), seen.time_to_spare_s(right, x_m)
    playable = (spare_left > HOPELESS_S) & (spare_right > HOPELESS_S)
    return np.where(playable, spare_right - spare_left, np.nan)


def change_of_sign(x_m: np.ndarray, surplus: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Index of the interval of places (n, k) where the surplus turns positive; (n,), -1 for none.

    Of several the one nearest to `near` counts, so that the answer mirrors with the question.
    """
    turns = (surplus[:, :-1] <= 0.0) & (surplus[:, 1:] >= 0.0)
    centres = 0.5 * (x_m[:, :-1] + x_m[:, 1:])
    distance = np.where(turns, np.abs(centres - near[:, None]), np.inf)
    return np.where(turns.any(axis=1), distance.argmin(axis=1), -1)


def evenly(edges: np.ndarray, count: int) -> np.ndarray:
    """`count` places from edges[:, 0] to edges[:, 1], shape (n, count)."""
    shares = np.linspace(0.0, 1.0, count)
    return edges[:, :1] * (1.0 - shares) + edges[:, 1:] * shares


@dataclass(frozen=True)
class TimeBalanced:
    """Stand where the drives to both extremes leave the same time to spare.

    Source: this project's; it asks of time what the bisector asks of angles, with the real flight
    of both balls and the own legs, reach and hand. Parameter: `drives`, which drives to the
    extremes count: the slowest or the fastest that the limits allow. The slowest are of one speed
    and exist from every contact. The fastest differ in speed from side to side (a straight ball
    that lands short has to be slower, one from outside the sideline may be deep and hard), which
    moves the spot farther over from a corner and less far from outside the sideline.
    It looks along the waiting depth between the two crossings, and falls back to the bisector
    where one of the balls cannot be played from anywhere or no place between is in balance.
    It should lose where the extreme ball is not the one that hurts, and against an opponent who
    plays one side far more.

    Raises:
        InputError: `drives` is neither fastest nor slowest.
    """

    drives: str = dataclasses.field(default="slowest", metadata={"allowed": " or ".join(SPEEDS)})
    placeable: ClassVar[bool] = True

    def __post_init__(self) -> None:
        if self.drives not in SPEEDS:
            raise unknown_name("choice for TimeBalanced.drives", str(self.drives), SPEEDS)

    @property
    def name(self) -> str:
        return described("time-balanced", self)

    def spots(self, seen: Situation) -> np.ndarray:
        c, near = seen.contact, seen.bisector_x_m
        drives = seen.fastest_extremes if self.drives == "fastest" else seen.extremes
        left, right = seen.drive_paths(drives[:, 0]), seen.drive_paths(drives[:, 1])
        crossings = crossing_x_m(c["x_m"], c["y_m"], drives, seen.line_m)
        places = evenly(np.clip(crossings, -SIDE_LIMIT_M, SIDE_LIMIT_M), PLACES)
        coarse = change_of_sign(places, surpluses(seen, left, right, places), near)
        places = evenly(_interval(places, coarse), FINE_PLACES)
        surplus = surpluses(seen, left, right, places)
        fine = change_of_sign(places, surplus, near)
        found = (coarse >= 0) & (fine >= 0)
        balanced = _root(_interval(places, fine), _interval(surplus, fine))
        return standing(seen, np.where(found, balanced, near))


def _interval(values: np.ndarray, index: np.ndarray) -> np.ndarray:
    """Both ends of interval index[i] of row i, shape (n, 2); some interval where it is -1."""
    rows, first = np.arange(len(values)), np.maximum(index, 0)
    return np.stack([values[rows, first], values[rows, first + 1]], axis=1)


def _root(x: np.ndarray, f: np.ndarray) -> np.ndarray:
    """Where the straight line through two points (n, 2) is zero; their middle if it is flat."""
    rise = f[:, 1] - f[:, 0]
    share = np.where(rise > 0.0, -f[:, 0] / np.where(rise > 0.0, rise, 1.0), 0.5)
    return x[:, 0] + (x[:, 1] - x[:, 0]) * share
