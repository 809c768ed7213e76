"""What a handout rests on: best places, cones, and what the cones gain, each on balls of its own.

The cone is chosen from one set of balls and measured on another, so that a lucky choice does not
flatter itself; the rallies are a third. Cone and middle meet the same chance.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.answers.handout.cones import ByCones, cone_at, feeding_places, number_of
from experiments.answers.spot.above import MissedBalls, missed_from
from experiments.answers.spot.question import CHUNK, SpotQuestion, SpotResult, find_spot
from experiments.balls.struck import struck_at, table_of
from experiments.scene.defaults import HITTER, OPPONENT_POLICY
from experiments.scene.own_code import policy_of, shot_model_of
from experiments.statistics.comparison import level_together, verdict
from experiments.statistics.estimates import Difference, Estimate, paired, share
from experiments.statistics.tally import Tally, replicate_table
from experiments.statistics.words import printed
from sim.array_engine import play
from sim.contracts import RecoveryPolicy, ShotModel
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.exchange import Game, Place, Side, with_policy
from sim.players import Player
from sim.records import MISSED
from sim.world import World
from strategies.recovery.middle import Middle

FEWEST_RALLIES, MOST_RALLIES = 100, 1_000_000
PER_100 = 100.0
PRINTED_DIGITS = 1
PARTS = 6  # five places and the rallies: as many comparisons, whose intervals hold together
SAME = "same"


@dataclass(frozen=True)
class HandoutQuestion:
    """Who plays from where; `depth_m` is metres behind the baseline.

    `balls` choose the cone of a place and as many measure it; `rallies` are played twice.

    Raises:
        InputError: what SpotQuestion refuses, or a number of rallies out of range.
    """

    place: Place
    player: Player
    opponent: Player
    world: World
    hitter: ShotModel
    depth_m: float
    balls: int
    rallies: int
    seed: int

    def __post_init__(self) -> None:
        self.spot_at(self.place)
        if not FEWEST_RALLIES <= self.rallies <= MOST_RALLIES:
            raise InputError(
                f"rallies is {self.rallies}; allowed: {FEWEST_RALLIES} to {MOST_RALLIES}"
            )

    def spot_at(self, place: Place) -> SpotQuestion:
        """The question where to stand for a ball from that place."""
        return SpotQuestion(
            place,
            self.player,
            self.opponent,
            self.world,
            self.hitter,
            [Middle()],
            self.depth_m,
            self.balls,
            self.seed,
        )


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
        return self.spot.place

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
    return verdict(*printed(difference, PRINTED_DIGITS)[1:])


def measure_handout(
    question: HandoutQuestion, done: Callable[[], object] = lambda: None
) -> Handout:
    """Find and measure the cones of all places, and play the rallies; `done` is called PARTS times.

    Raises:
        InputError: no ball landed in from one of the places.
    """
    places = feeding_places(question.place)
    stations = []
    for place in places:
        stations.append(station_at(question.spot_at(place)))
        done()
    cones = ByCones(tuple(p.x_m for p in places), tuple(s.cone_x_m for s in stations))
    points = points_more(question, cones)
    done()
    asked = number_of(question.place, places)
    missed = missed_from(question.spot_at(places[asked]), 0.0)
    return Handout(question, tuple(stations), asked, points, missed)


def station_at(question: SpotQuestion) -> Station:
    """The cone of one place, chosen from the first balls and measured on as many new ones."""
    spot = find_spot(question)
    cone = cone_at(spot.best.x_m)
    total: Tally | None = None
    for replicates in chunks(question.balls, question.balls):
        tables = [table_at(question, x, replicates) for x in (cone, 0.0)]
        part = Tally.of(*tables)
        total = part if total is None else total + part
    assert total is not None
    middle = dataclasses.replace(total, own=total.reference)
    return Station(
        spot,
        cone,
        share(total, "missed", "balls").scaled(PER_100),
        share(middle, "missed", "balls").scaled(PER_100),
        paired(total, "missed", "balls", level_together(PARTS)).scaled(-PER_100),
    )


def chunks(first: int, count: int) -> list[np.ndarray]:
    """Replicates in parts, so that memory does not grow with their number."""
    return [
        np.arange(start, min(start + CHUNK, first + count))
        for start in range(first, first + count, CHUNK)
    ]


def table_at(question: SpotQuestion, x_m: float, replicates: np.ndarray) -> np.ndarray:
    """One row a ball (columns of the tallies): whether it landed in, and was missed from there."""
    place = np.array([x_m, -(HALF_LENGTH_M + question.depth_m)])
    struck = struck_at(question.game, question.place, place, replicates)
    missed = np.zeros(len(replicates))
    grade = struck.appraised(place[None, :], question.player.legs)[1]
    missed[struck.landed] = grade[:, 0] == MISSED
    return table_of(struck.landed, missed, place)


def points_more(question: HandoutQuestion, cones: RecoveryPolicy) -> Difference:
    """Points won in 100 rallies that begin at the asked place, the cones less the middle.

    The rallies are numbered after the balls, so they share no chance with them.
    """
    game = rally_game(question)
    total: Tally | None = None
    for replicates in chunks(2 * question.balls, question.rallies):
        tables = []
        for policy in (cones, Middle()):
            strokes = play(with_policy(game, policy), question.place, replicates)
            tables.append(replicate_table(strokes, replicates, points=True))
        part = Tally.of(*tables)
        total = part if total is None else total + part
    assert total is not None
    return paired(total, "points", "one", level_together(PARTS)).scaled(PER_100)


def rally_game(question: HandoutQuestion) -> Game:
    """The game of the rallies; the player hits by habit, the opponent recovers by a mild shade."""
    studied = Side(question.player, Middle(), shot_model_of(HITTER), question.depth_m)
    other = Side(question.opponent, policy_of(OPPONENT_POLICY), question.hitter)
    return Game(studied, other, question.world, question.seed)
