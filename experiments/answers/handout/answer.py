"""What a handout rests on: best places, cones, and what the cones gain, each on balls of its own.

The cone is chosen from one set of balls and measured on another, so that a lucky choice does not
flatter itself; the rallies are a third. Cone and middle meet the same chance. Cones stand at half
steps from the centre mark.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add
from typing import ClassVar

import numpy as np

from experiments.answers.spot.answer import MissedBalls, SpotResult, find_spot, missed_from
from experiments.balls.spots import on_the_line
from experiments.balls.struck import chunks, side_by_side
from experiments.scene.scene import Scene, require_count
from experiments.scene.sides import STEP_M
from experiments.statistics.comparison import level_together, verdict
from experiments.statistics.estimates import Difference, Estimate, paired, share
from experiments.statistics.tally import Tally, replicate_table
from experiments.statistics.words import printed
from sim.array_engine import play
from sim.contracts import RecoveryPolicy, Situation
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.exchange import Place, with_policy
from sim.over_arrays import interpolated
from strategies.recovery.middle import Middle
from strategies.recovery.standing import standing

CONE_EVERY_M = STEP_M / 2  # finer than half steps nobody paces out
CENTRAL_M = 0.5
CORNER_X_M, WIDE_X_M = 3.115, 5.115  # a metre inside and outside the singles sideline

# The drill: common practice, no source.
SETS, FEEDS_A_SET, REST_S = 4, 8, 60
FEWEST_RALLIES, MOST_RALLIES = 100, 1_000_000
PER_100 = 100.0
PARTS = 6  # five places and the rallies: as many comparisons, whose intervals hold together
SAME = "same"


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
        x = interpolated(seen.contact["x_m"], self.contacts_x_m, self.cones_x_m)
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


@dataclass(frozen=True)
class HandoutQuestion:
    """A scene, and how many rallies are played twice.

    The balls of the scene choose the cone of a place, and as many measure it.

    Raises:
        InputError: a number of rallies out of range.
    """

    scene: Scene
    rallies: int

    def __post_init__(self) -> None:
        require_count("rallies", self.rallies, FEWEST_RALLIES, MOST_RALLIES)


@dataclass(frozen=True)
class Station:
    """One contact place with its cone: balls missed of 100 from the cone and from the middle.

    `fewer` is missed from the middle less missed from the cone, on the same balls; its interval
    holds together with those of all PARTS comparisons.
    """

    spot: SpotResult
    cone_x_m: float
    missed_cone: Estimate
    missed_middle: Estimate
    fewer: Difference

    @property
    def place(self) -> Place:
        return self.spot.scene.place

    @property
    def verdict(self) -> str:
        """Wins, as good, not decided or loses, seen from the cone; same where it is the middle."""
        return said(self.fewer) if self.cone_x_m else SAME


@dataclass(frozen=True)
class Handout:
    """All that the page says in numbers; the asked place is `stations[asked]`.

    `points` are those won in 100 rallies by going to the cones, more than by going to the middle;
    `in_time` the balls of 100 reached in time in these rallies, from the cones and from the middle.
    `missed` are the balls from the asked place that are missed from the middle, for the picture.
    """

    question: HandoutQuestion
    stations: tuple[Station, ...]
    asked: int
    points: Difference
    in_time: tuple[Estimate, Estimate]
    missed: MissedBalls

    @property
    def station(self) -> Station:
        return self.stations[self.asked]

    @property
    def points_verdict(self) -> str:
        return said(self.points) if any(s.cone_x_m for s in self.stations) else SAME


def said(difference: Difference) -> str:
    """The verdict of a difference in 100, by the ends of its interval as the page prints them."""
    return verdict(*printed(difference)[1:])


def measure_handout(
    question: HandoutQuestion, done: Callable[[], object] = lambda: None
) -> Handout:
    """Find and measure the cones of all places, and play the rallies; `done` is called PARTS times.

    Raises:
        InputError: no ball landed in from one of the places.
    """
    scene = question.scene
    places = feeding_places(scene.place)
    stations = []
    for place in places:
        stations.append(station_at(scene.at(place)))
        done()
    cones = ByCones(tuple(p.x_m for p in places), tuple(s.cone_x_m for s in stations))
    rallies = rallies_by(question, cones)
    points = points_more(rallies)
    cone, middle = (m.complement.scaled(PER_100) for m in missed_by_both(rallies))
    done()
    asked = number_of(scene.place, places)
    missed = missed_from(scene, 0.0)
    return Handout(question, tuple(stations), asked, points, (cone, middle), missed)


def points_more(rallies: Tally) -> Difference:
    """Points won in 100 rallies more than by going to the middle; one of PARTS comparisons."""
    return paired(rallies, "points", "one", level_together(PARTS)).scaled(PER_100)


def station_at(scene: Scene) -> Station:
    """The cone of one place, chosen from the first balls and measured on as many new ones."""
    spot = find_spot(scene, [Middle()])
    cone = cone_at(spot.best.x_m)
    places = on_the_line(np.array([cone, 0.0]), scene.line_m)
    total = side_by_side(scene, places, scene.balls, first=scene.balls)
    at_cone, in_middle = (m.scaled(PER_100) for m in missed_by_both(total))
    fewer = paired(total, "missed", "balls", level_together(PARTS)).scaled(-PER_100)
    return Station(spot, cone, at_cone, in_middle, fewer)


def missed_by_both(total: Tally) -> tuple[Estimate, Estimate]:
    """The share of the balls that are missed from the cone and from the middle."""
    middle = dataclasses.replace(total, own=total.reference)
    return share(total, "missed", "balls"), share(middle, "missed", "balls")


def rallies_by(question: HandoutQuestion, cones: RecoveryPolicy) -> Tally:
    """Rallies that begin at the asked place, by going to the cones and, for reference, the middle.

    The rallies are numbered after the balls, so they share no chance with them.
    """
    game, scene = question.scene.rallies(), question.scene

    def table(policy: RecoveryPolicy, replicates: np.ndarray) -> np.ndarray:
        strokes = play(with_policy(game, policy), scene.place, replicates)
        return replicate_table(strokes, replicates, points=True)

    parts = chunks(2 * scene.balls, question.rallies)
    return reduce(add, (Tally.of(table(cones, part), table(Middle(), part)) for part in parts))
