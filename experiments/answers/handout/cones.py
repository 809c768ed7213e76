"""Where the cones of a drill stand: opponent's contact places, and half steps from the mark."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from experiments.scene.sides import STEP_M
from sim.contracts import Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.exchange import Place
from strategies.recovery.standing import standing

CONE_EVERY_M = STEP_M / 2  # finer than half steps nobody paces out
CENTRAL_M = 0.5
CORNER_X_M, WIDE_X_M = 3.115, 5.115  # a metre inside and outside the singles sideline

# The drill: common practice, no source.
SETS, FEEDS_A_SET, REST_S = 4, 8, 60


@dataclass(frozen=True)
class ByCones:
    """Stand at the cone of the place from which the opponent strikes, between cones in proportion.

    Source: this project; it is what a player does who has practised with the cones. Beyond the
    outermost places it keeps to their cones. Parameters: `contacts_x_m`, the opponent's contact
    places from left to right, and `cones_x_m`, the cone of each, both in metres from the centre
    line as the player faces the net.
    It should lose where the right spot depends on the depth or height of the contact, since it
    looks at the lateral place alone.
    """

    contacts_x_m: tuple[float, ...]
    cones_x_m: tuple[float, ...]
    placeable: ClassVar[bool] = True

    @property
    def name(self) -> str:
        return "cones"

    def spots(self, seen: Situation) -> np.ndarray:
        x = np.interp(seen.contact["x_m"], self.contacts_x_m, self.cones_x_m)
        return standing(seen, x)


def cone_at(x_m: float) -> float:
    """The half step that is nearest to a lateral place, in metres."""
    return round(x_m / CONE_EVERY_M) * CONE_EVERY_M + 0.0


def feeding_places(asked: Place) -> list[Place]:
    """Five contact places from left to right, the asked one among them.

    The middle, both corners and both places wide of the sidelines, all at the far baseline; the
    asked place and its mirror image stand in for the ones that they are nearest to.
    """
    return [Place(f"{i + 1}", x, y, z) for i, (x, y, z) in enumerate(sorted(_points(asked)))]


def _points(asked: Place) -> Iterator[tuple[float, float, float]]:
    at = abs(asked.x_m)
    mine = "middle" if at < CENTRAL_M else "corner" if at <= HALF_WIDTH_M else "wide"
    z = asked.z_m
    yield (asked.x_m, asked.y_m, z) if mine == "middle" else (0.0, HALF_LENGTH_M, z)
    for kind, x, y in (("corner", CORNER_X_M, HALF_LENGTH_M), ("wide", WIDE_X_M, HALF_LENGTH_M)):
        if kind == mine:
            x, y = at, asked.y_m
        yield from ((x, y, z), (-x, y, z))


def number_of(asked: Place, places: Sequence[Place]) -> int:
    """Which of the places is the asked one, counted from 0."""
    return next(
        i
        for i, p in enumerate(places)
        if (p.x_m, p.y_m, p.z_m) == (asked.x_m, asked.y_m, asked.z_m)
    )
