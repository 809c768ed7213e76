"""What a handout rests on: best places, cones, and what the cones gain, each on balls of its own.

The cone is chosen from one set of balls and measured on another, so that a lucky choice does not
flatter itself; the rallies are a third. Cone and middle meet the same chance.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce
from operator import add

import numpy as np

from experiments.answers.handout.cones import ByCones, cone_at, feeding_places, number_of
from experiments.answers.spot.above import MissedBalls, missed_from
from experiments.answers.spot.answer import SpotResult, find_spot
from experiments.balls.spots import on_the_line
from experiments.balls.struck import chunks, side_by_side
from experiments.scene.defaults import HITTER, OPPONENT_POLICY
from experiments.scene.own_code import policy_of, shot_model_of
from experiments.scene.scene import Scene, require_count
from experiments.statistics.comparison import level_together, verdict
from experiments.statistics.estimates import Difference, Estimate, paired, share
from experiments.statistics.tally import Tally, replicate_table
from experiments.statistics.words import printed
from sim.array_engine import play
from sim.contracts import RecoveryPolicy
from sim.exchange import Game, Place, with_policy
from strategies.recovery.middle import Middle

FEWEST_RALLIES, MOST_RALLIES = 100, 1_000_000
PER_100 = 100.0
PARTS = 6  # five places and the rallies: as many comparisons, whose intervals hold together
SAME = "same"


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

    `points` are those won in 100 rallies by going to the cones, more than by going to the middle.
    `missed` are the balls from the asked place that are missed from the middle, for the picture.
    """

    question: HandoutQuestion
    stations: tuple[Station, ...]
    asked: int
    points: Difference
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
    points = points_more(question, cones)
    done()
    asked = number_of(scene.place, places)
    return Handout(question, tuple(stations), asked, points, missed_from(scene, 0.0))


def station_at(scene: Scene) -> Station:
    """The cone of one place, chosen from the first balls and measured on as many new ones."""
    spot = find_spot(scene, [Middle()])
    cone = cone_at(spot.best.x_m)
    places = on_the_line(np.array([cone, 0.0]), scene.line_m)
    total = side_by_side(scene, places, scene.balls, first=scene.balls)
    middle = dataclasses.replace(total, own=total.reference)
    at_cone, in_middle = (
        share(tally, "missed", "balls").scaled(PER_100) for tally in (total, middle)
    )
    fewer = paired(total, "missed", "balls", level_together(PARTS)).scaled(-PER_100)
    return Station(spot, cone, at_cone, in_middle, fewer)


def points_more(question: HandoutQuestion, cones: RecoveryPolicy) -> Difference:
    """Points won in 100 rallies that begin at the asked place, the cones less the middle.

    The rallies are numbered after the balls, so they share no chance with them.
    """
    game, scene = rally_game(question.scene), question.scene

    def table(policy: RecoveryPolicy, replicates: np.ndarray) -> np.ndarray:
        strokes = play(with_policy(game, policy), scene.place, replicates)
        return replicate_table(strokes, replicates, points=True)

    parts = chunks(2 * scene.balls, question.rallies)
    total = reduce(add, (Tally.of(table(cones, part), table(Middle(), part)) for part in parts))
    return paired(total, "points", "one", level_together(PARTS)).scaled(PER_100)


def rally_game(scene: Scene) -> Game:
    """The game of the rallies; the player hits by habit, the opponent recovers by a mild shade."""
    game = scene.game
    studied = dataclasses.replace(game.studied, shots=shot_model_of(HITTER))
    opponent = dataclasses.replace(game.opponent, policy=policy_of(OPPONENT_POLICY))
    return dataclasses.replace(game, studied=studied, opponent=opponent)
