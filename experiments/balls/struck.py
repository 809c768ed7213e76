"""The one core of every answer about places: strike balls from a contact, count them from places.

A hitter who does not look plays the same balls whoever stands where; one who sees the receiver
plays to the place that the receiver is given here, on the same random numbers.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.scene.scene import Scene
from experiments.statistics.tally import COLUMNS, SETTLED_OFF_S, Tally
from sim.contracts import bodies_at
from sim.errors import InputError
from sim.exchange import opening_contact, strike_balls
from sim.legs import Legs
from sim.meeting import appraisals
from sim.over_arrays import expm1_of, interpolated
from sim.records import IN, MISSED, OPPONENT, SET, T, X, Y

SAME_PLACE_M = 1e-6
CHUNK = 4000  # balls at once, so that memory does not grow with their number
NOTHING_TO_REACH = (
    "not one ball landed in, so there is nothing to reach; choose another contact place, hitter or"
    " more balls"
)


@dataclass(frozen=True, eq=False)
class Struck:
    """Balls of one contact place: BALL records (n,), which landed in (n,), their own paths."""

    balls: np.ndarray
    landed: np.ndarray
    paths: np.ndarray

    @classmethod
    def of(cls, balls: np.ndarray, paths: np.ndarray) -> Struck:
        """The balls and paths (n, points, 5) of any strokes."""
        landed = balls["outcome"] == IN
        return cls(balls, landed, paths[landed])

    def appraised(self, places: np.ndarray, legs: Legs) -> tuple[np.ndarray, np.ndarray]:
        """Time to spare in s and grade from places (k, 2), of the balls that landed in: (m, k)."""
        x, y = np.ascontiguousarray(np.asarray(places, float).T)  # one layout, so one kernel serves
        return appraisals(self.balls[self.landed], self.paths, x, y, legs.numbers, legs.times)

    def spread(self, values: np.ndarray) -> np.ndarray:
        """Values of the balls that landed in, (m, k), with 0 for the others: (n, k)."""
        out = np.zeros((len(self.landed), values.shape[1]))
        out[self.landed] = values
        return out


def struck_at(scene: Scene, place: np.ndarray, replicates: np.ndarray) -> Struck:
    """The opponent's balls `replicates` of a scene, at a receiver at rest at a place (2,)."""
    n, game = len(replicates), scene.game
    receiver = bodies_at(np.full(n, place[0]), np.full(n, place[1]))
    at = opening_contact(scene.place, game.opponent, n)
    return Struck.of(*strike_balls(game, OPPONENT, at, receiver, replicates, 0))


def groups_of(places: np.ndarray, looks: bool) -> Sequence[np.ndarray]:
    """The places (k, 2) that meet the same balls: all, or each one alone for a hitter who looks."""
    return [places[j : j + 1] for j in range(len(places))] if looks else [places]


def chunks(first: int, count: int, size: int = CHUNK) -> list[np.ndarray]:
    """Replicates `first` to `first + count` in parts of `size`."""
    end = first + count
    return [np.arange(at, min(at + size, end)) for at in range(first, end, size)]


@dataclass(frozen=True, eq=False)
class Counts:
    """The balls of one contact met from k places, added up by unit, a ball or a batch: (units, k).

    landed: in the court. Of these: missed; set; spare_s, seconds to spare, cut at -3 s; far, landed
    on the far side of the centre from the contact. not_returned: missed, or reached with too little
    time to come back, each by its chance (as far as time goes).
    """

    landed: np.ndarray
    missed: np.ndarray
    set: np.ndarray
    spare_s: np.ndarray
    not_returned: np.ndarray
    far: np.ndarray

    @classmethod
    def joined(cls, parts: Sequence[Counts], axis: int) -> Counts:
        """Parts of units (axis 0) or of places (axis 1) put together in their order."""
        names = [f.name for f in dataclasses.fields(cls)]
        return cls(*(np.concatenate([getattr(p, n) for p in parts], axis=axis) for n in names))

    def at(self, places: slice | np.ndarray | list[int]) -> Counts:
        """The counts of some of the places."""
        return Counts(*(getattr(self, f.name)[:, places] for f in dataclasses.fields(self)))

    @property
    def balls_in(self) -> np.ndarray:
        """Balls that landed in, by place (k,)."""
        return np.asarray(self.landed.sum(axis=0))

    def rate(self, measure: str = "missed") -> np.ndarray:
        """Of the balls that landed in, by place (k,): a share, or mean seconds to spare."""
        return np.asarray(getattr(self, measure).sum(axis=0) / self.balls_in)

    @property
    def in_time(self) -> np.ndarray:
        """Of the balls that landed in, the share reached in time, by place (k,)."""
        return np.asarray((self.landed - self.missed).sum(axis=0) / self.balls_in)

    def require_balls(self) -> Counts:
        """These counts, if a ball landed in at every place.

        Raises:
            InputError: from some place there is nothing to reach.
        """
        if not (self.balls_in > 0).all():
            raise InputError(NOTHING_TO_REACH)
        return self


def counted(
    scene: Scene,
    places: np.ndarray,
    balls: int,
    first: int = 0,
    batch: int | None = None,
    done: Callable[[], object] = lambda: None,
) -> Counts:
    """The balls `first` to `first + balls` of a scene, met from each of the places (k, 2).

    `batch` balls are one unit, `balls` being a multiple of it; a chunk of CHUNK where none is
    given. `done` is called after each chunk of the balls of a place, see `chunks_of`.
    """
    if len(places) == 0:
        return Counts(*np.zeros((len(dataclasses.fields(Counts)), 1, 0)))
    size = CHUNK if batch is None else batch * max(CHUNK // batch, 1)
    columns = []
    for group in groups_of(places, scene.looks):
        parts = []
        for replicates in chunks(first, balls, size):
            parts.append(_counts(scene, group, replicates, batch or len(replicates)))
            done()
        columns.append(Counts.joined(parts, axis=0))
    return Counts.joined(columns, axis=1)


def chunks_of(scene: Scene, places: int, balls: int) -> int:
    """How often `counted` calls `done` where no batch is given."""
    return -(-balls // CHUNK) * (places if scene.looks else 1)


def _counts(scene: Scene, places: np.ndarray, replicates: np.ndarray, batch: int) -> Counts:
    """Counts of balls played to a receiver who stands at the first place."""
    struck, legs = struck_at(scene, places[0], replicates), scene.player.legs
    spare, grade = struck.appraised(places, legs)
    every = np.ones_like(spare)
    far = (struck.balls["landing_x_m"] * scene.place.x_m < 0)[struck.landed, None]
    missed = grade == MISSED

    def added(values: np.ndarray) -> np.ndarray:
        return np.asarray(struck.spread(values).reshape(-1, batch, len(places)).sum(axis=1))

    return Counts(
        added(every),
        added(missed),
        added(grade == SET),
        added(np.maximum(spare, -SETTLED_OFF_S)),
        added(1.0 - return_chance(spare, legs.control_time_s) * ~missed),
        added(far * every),
    )


def return_chance(spare_s: np.ndarray, control_time_s: float) -> np.ndarray:
    """Chance of a return as far as time goes (sim.reply.in_control), for balls that are reached."""
    if control_time_s <= 0.0:
        return np.ones_like(spare_s)
    return -expm1_of(-np.maximum(spare_s, 0.0) / control_time_s)


def table_of(
    landed: np.ndarray, lost: np.ndarray, place: np.ndarray, of: float = 0.0
) -> np.ndarray:
    """Rows (units,) in the columns of a tally, the lost balls as `missed`, for one place (x, y).

    Two places that lose the very same balls are still two, and so are two players (`of` tells them
    apart): the tally is to see that, for only a difference from the same place is exactly 0.
    """
    out = np.zeros((len(landed), len(COLUMNS)))
    x, y = np.round(place, 6)
    names = ("one", "reached_x_m", "spot_x_m", "spare_s", "balls", "missed")
    for name, values in zip(names, (1.0, x, y, of, landed, lost), strict=True):
        out[:, COLUMNS.index(name)] = values
    return out


def side_by_side(scene: Scene, places: np.ndarray, balls: int, first: int = 0) -> Tally:
    """The tally of balls missed from the first of two places (2, 2) beside the second."""
    total: Tally | None = None
    for replicates in chunks(first, balls):
        found = counted(scene, places, len(replicates), int(replicates[0]), batch=1)
        tables = [table_of(found.landed[:, k], found.missed[:, k], places[k]) for k in (0, 1)]
        part = Tally.of(*tables)
        total = part if total is None else total + part
    assert total is not None
    return total


def arrivals(balls: np.ndarray, paths: np.ndarray, line_m: float) -> tuple[np.ndarray, np.ndarray]:
    """When (n,) and where (n, 2) balls cross the line, or bounce the second time before it."""
    time, end = np.empty(len(balls)), np.empty((len(balls), 2))
    for i, (ball, path) in enumerate(zip(balls, paths, strict=True)):
        whole = path[: ball["points"]][:, [T, X, Y]]
        last = [ball[f"second_bounce_{name}"] for name in ("time_s", "x_m", "y_m")]
        whole = np.vstack([whole, last])
        depth = -whole[:, 2]
        at = np.minimum(line_m, depth[-1])
        time[i] = interpolated(at, depth, whole[:, 0])
        end[i] = interpolated(at, depth, whole[:, 1]), -at
    return time, end
