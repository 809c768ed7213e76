"""Misread: the question, and its answer as numbers.

Spots are chosen with a wrong idea of one thing, on balls of that idea, and then all judged in the
true scene on the same other balls: against the spot that the same way of choosing finds with the
right idea. That is a paired difference between two places that were fixed before the judging balls
were struck, so nothing is chosen on these and the plain interval holds. What the right spots lose
to the best place counts the choice of that one (`balls.loss`).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from experiments.answers.depth.rallies import PLACES, Played, played
from experiments.answers.misread.beliefs import (
    OFF_IN_DEPTH,
    OFF_SIDEWAYS,
    Misjudged,
    kinds_of,
    outward,
    with_hitter,
)
from experiments.balls.best import best_of, range_about
from experiments.balls.line import looked_at
from experiments.balls.loss import Judged
from experiments.balls.places import around_x_m
from experiments.balls.spots import are_on_the_line, on_the_line, placed_situation, spot_of
from experiments.balls.struck import SAME_PLACE_M, counted, table_of
from experiments.output.in_a_line import InALine
from experiments.scene.defaults import HITTER, OPPONENT_POLICY
from experiments.scene.scene import Scene, require_count
from experiments.statistics.comparison import MARGIN
from experiments.statistics.estimates import Difference, Estimate, paired
from experiments.statistics.tally import Tally
from sim.contracts import RecoveryPolicy, ShotModel
from sim.errors import InputError
from sim.exchange import Game, with_policy
from strategies.recovery.bisector import Bisector
from strategies.recovery.middle import Middle

BATCHES = 200  # of the judging balls: the units of pairing
FEWEST_BALLS, MOST_BALLS = 1000, 200_000
FEWEST_RALLIES, MOST_RALLIES = 100, 30_000
SPREADS_M = (0.0, 0.3, 0.6, 1.0)
BEST, MIDDLE = "best place", "middle"


@dataclass(frozen=True)
class MisreadQuestion:
    """A scene, a policy whose spots are judged beside the best place, hitters to be taken for.

    balls: the scene's, to find each best place; as many others judge all spots. rallies: for each
    spread of the recovery, over the three opening places.

    Raises:
        InputError: too few or too many balls or rallies, or a policy without a spot of its own or
            with the name of what it is held against.
    """

    scene: Scene
    policy: RecoveryPolicy = field(default_factory=Bisector)
    taken_for: Sequence[ShotModel] = ()
    rallies: int = 1500

    def __post_init__(self) -> None:
        require_count("balls", self.scene.balls, FEWEST_BALLS, MOST_BALLS)
        require_count("rallies", self.rallies, FEWEST_RALLIES, MOST_RALLIES)
        spot_of(self.policy, placed_situation(self.scene))
        if self.policy.name in (BEST, MIDDLE):
            raise InputError(
                f"policy {self.policy.name!r} is judged in any case; give another one, such as"
                " bisector"
            )

    @property
    def batch(self) -> int:
        """Balls of a unit of pairing."""
        return -(-self.scene.balls // BATCHES)

    @property
    def each(self) -> int:
        """Rallies from each of the opening places."""
        return -(-self.rallies // PLACES)

    @cached_property
    def kinds(self) -> tuple[Misjudged, ...]:
        """What is misjudged by a size."""
        return tuple(kinds_of(self.scene))

    @cached_property
    def hitters(self) -> tuple[ShotModel, ...]:
        """Whom the opponent is taken for, the true hitter first."""
        true = self.scene.hitter
        others = {h.name: h for h in self.taken_for if h.name != true.name}
        return (true, *others.values())

    @property
    def game(self) -> Game:
        """Whole rallies of the policy."""
        return with_policy(self.scene.rallies(HITTER, OPPONENT_POLICY), self.policy)


@dataclass(frozen=True, eq=False)
class Series:
    """Spots by the size of one error: by way of choosing, the column of each spot, (k,)."""

    kind: Misjudged
    spots: dict[str, np.ndarray]

    @property
    def sizes(self) -> np.ndarray:
        """The sizes of the error, ascending, (k,)."""
        return np.array(self.kind.sizes)

    @property
    def right(self) -> int:
        """The index of no error."""
        return self.kind.sizes.index(self.kind.right)


@dataclass(frozen=True)
class Bound:
    """The size of an error that costs half a ball in 100: by the estimate of what it costs, and by
    the upper and the lower end of its interval; infinite where no size tried costs so much."""

    size: float
    soonest: float
    latest: float


@dataclass(frozen=True, eq=False)
class Spread:
    """Recoveries that stray by `spread_m` about the spot meant: points won, reached balls, in 100;
    less than without straying, on the same chance."""

    spread_m: float
    points: Estimate
    costs: Difference
    reached: Estimate


@dataclass(frozen=True, repr=False, eq=False)
class Misread(InALine):
    """The answer to a MisreadQuestion.

    judged: all spots on the balls of the true scene. series: by what is misjudged, the places off
    the right best one (OFF_SIDEWAYS, OFF_IN_DEPTH) among them. hitters: the spots by whom the
    opponent is taken for, in the question's order.
    """

    question: MisreadQuestion
    judged: Judged
    series: dict[str, Series]
    hitters: dict[str, np.ndarray]
    middle: int
    spreads: tuple[Spread, ...]

    def spot_m(self, column: int) -> tuple[float, float]:
        """The place (x, y) of a column."""
        x, y = self.judged.places[column]
        return float(x), float(y)

    def right(self, chooser: str) -> int:
        """The column of the spot that is chosen with the right idea."""
        return int(self.hitters[chooser][0])

    def loses(self, column: int) -> Estimate:
        """Balls in 100 more that are missed from a spot than from the best place."""
        return self.judged.loss(column)

    def more(self, column: int, than: int) -> Difference:
        """Balls in 100 more that are missed from one spot than from another, on the same balls."""
        tables = (
            table_of(self.judged.landed[:, k], self.judged.lost[:, k], self.judged.places[k])
            for k in (column, than)
        )
        return paired(Tally.of(*tables), "missed", "balls").scaled(100.0)

    def costs(self, name: str, chooser: str = BEST) -> list[Difference]:
        """What each size of an error costs: `more` than with none."""
        columns = self.series[name].spots[chooser]
        return [self.more(int(k), self.right(chooser)) for k in columns]

    def bears(self, name: str, chooser: str = BEST) -> tuple[Bound, Bound]:
        """The sizes of the error, below and above the truth, that cost half a ball in 100."""
        series, costs = self.series[name], self.costs(name, chooser)

        def ends(values: list[float]) -> tuple[float, float]:
            return range_about(series.sizes, -np.array(values), series.right, -MARGIN)

        at = ends([e.value for e in costs])
        soonest, latest = ends([e.high for e in costs]), ends([e.low for e in costs])
        below, above = (Bound(*(float(v[k]) for v in (at, soonest, latest))) for k in (0, 1))
        return below, above

    def worse_than_middle(self, name: str) -> np.ndarray:
        """The sizes of an error that make the best place worse than the middle for sure."""
        series = self.series[name]
        worse = [self.more(int(k), self.middle).low > 0.0 for k in series.spots[BEST]]
        return np.asarray(series.sizes[worse])


class Places:
    """Places gathered one by one, each once: its column among the places to judge."""

    def __init__(self) -> None:
        self.places: list[np.ndarray] = []

    def column(self, place: np.ndarray) -> int:
        """The column of a place, a new one if it is not among them."""
        for k, known in enumerate(self.places):
            if np.abs(known - place).max() < SAME_PLACE_M:
                return k
        self.places.append(np.asarray(place, float))
        return len(self.places) - 1


def misread_of(question: MisreadQuestion, done: Callable[[], object] = lambda: None) -> Misread:
    """Answer a question; `done` is called as `steps_of` says.

    Raises:
        InputError: not one ball lands in where the opponent is believed to be, or is.
    """
    scene, places = question.scene, Places()
    ways = _ways(question)

    def chosen(believed: Scene) -> dict[str, int]:
        columns = {name: places.column(way(believed)) for name, way in ways.items()}
        done()
        return columns

    hitters = _by_way([chosen(with_hitter(scene, h)) for h in question.hitters])
    right = {name: int(columns[0]) for name, columns in hitters.items()}
    series = {
        kind.name: Series(
            kind,
            _by_way(
                right if size == kind.right else chosen(kind.believed(scene, size))
                for size in kind.sizes
            ),
        )
        for kind in question.kinds
    }
    best = places.places[right[BEST]]
    series |= {off.kind.name: off for off in _standing(scene, best, places)}
    middle = places.column(spot_of(Middle(), placed_situation(scene)))
    for x in around_x_m(float(best[0])):
        places.column(on_the_line(np.array([x]), scene.line_m)[0])
    judged = _judged(question, np.array(places.places))
    done()
    return Misread(question, judged, series, hitters, middle, tuple(_spreads(question, done)))


def steps_of(question: MisreadQuestion) -> int:
    """How often `misread_of` calls `done`."""
    wrong = sum(len(kind.sizes) - 1 for kind in question.kinds)
    return len(question.hitters) + wrong + 1 + len(SPREADS_M)


def _ways(question: MisreadQuestion) -> dict[str, Callable[[Scene], np.ndarray]]:
    """How a spot (2,) is chosen in a scene that is believed in, by name."""

    def best(believed: Scene) -> np.ndarray:
        line = looked_at(believed, lambda found: found.in_time)
        x = best_of(line.x_m, line.counts.in_time).x_m
        return on_the_line(np.array([x]), believed.line_m)[0]

    return {
        BEST: best,
        question.policy.name: lambda believed: spot_of(question.policy, placed_situation(believed)),
    }


def _by_way(rows: Iterable[dict[str, int]]) -> dict[str, np.ndarray]:
    """Columns by way of choosing, of a row for each idea."""
    rows = list(rows)
    return {name: np.array([row[name] for row in rows]) for name in rows[0]}


def _standing(scene: Scene, best: np.ndarray, places: Places) -> Iterator[Series]:
    """Places about the best one: sideways and in depth."""
    ways = (OFF_SIDEWAYS, np.array([outward(scene), 0.0])), (OFF_IN_DEPTH, np.array([0.0, -1.0]))
    for off, step in ways:
        yield Series(off, {BEST: np.array([places.column(best + s * step) for s in off.sizes])})


def _judged(question: MisreadQuestion, places: np.ndarray) -> Judged:
    """All places on balls of the true scene that no place was chosen on."""
    scene = question.scene
    balls = question.batch * BATCHES
    found = counted(scene, places, balls, scene.balls, question.batch).require_balls()
    line = are_on_the_line(places, scene.line_m)
    return Judged(places, found.landed, found.missed, line)


def _spreads(question: MisreadQuestion, done: Callable[[], object]) -> list[Spread]:
    """Whole rallies whose recoveries stray about the spot meant."""
    game, out, exact = question.game, [], None
    for spread_m in SPREADS_M:
        found = played(_straying(game, spread_m), question.scene.place, question.each)
        exact = exact or found
        out.append(_spread(spread_m, found, exact))
        done()
    return out


def _spread(spread_m: float, found: Played, exact: Played) -> Spread:
    costs = exact.less(found, "points")
    return Spread(spread_m, found.share("points"), costs, found.share("reached", "balls"))


def _straying(game: Game, spread_m: float) -> Game:
    """The game with a studied player whose recoveries stray by so much."""
    me = game.studied.player
    legs = dataclasses.replace(me.legs, spot_spread_m=spread_m)
    player = dataclasses.replace(me, legs=legs)
    return dataclasses.replace(game, studied=dataclasses.replace(game.studied, player=player))
