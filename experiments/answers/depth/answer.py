"""Depth: the question, and its answer as numbers.

Whole rallies from the same chance at every depth. How many short balls pay against a depth is found
on other rallies than those that judge it.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from experiments.answers.depth.best import BestDepth, best_depth
from experiments.answers.depth.rallies import (
    PLACES,
    STOPPED,
    WAYS,
    Played,
    opening_places,
    played,
    points_of,
)
from experiments.answers.depth.short_balls import (
    NO_SHORT,
    PAYS,
    USUAL,
    ShortBalls,
    cases_of,
    meant,
    paying,
    plain,
)
from experiments.balls.loss import Judged
from experiments.balls.spots import placed_situation, spot_of
from experiments.output.in_a_line import InALine
from experiments.scene.defaults import DEPTH_RALLIES, DEPTHS_M, HITTER, OPPONENT_POLICY
from experiments.scene.scene import Scene, require_count
from experiments.statistics.estimates import Difference, Estimate
from sim.contracts import RecoveryPolicy
from sim.court import RUN_OFF_BACK_M
from sim.errors import InputError
from sim.exchange import Game, with_policy
from strategies.recovery.bisector import Bisector

FEWEST_RALLIES, MOST_RALLIES = 300, 30_000
TRAINING_SHARE = 0.4  # of as many rallies: those that show how many short balls pay
SHALLOWEST_M = -3.0
FEWEST_DEPTHS, MOST_DEPTHS = 3, 60
LEAST_STEP_M, SAME_DEPTH_M = 0.05, 1e-6


def depths_of(from_m: float, to_m: float, step_m: float) -> np.ndarray:
    """Depths behind the baseline, ascending, metres; negative ones are inside the court.

    Raises:
        InputError: not within the run-off and the court's last metres, or too few or too many.
    """
    numbers = (from_m, to_m, step_m)
    if not all(math.isfinite(v) for v in numbers):
        raise InputError(f"--depths has a number that is not finite: {numbers}")
    if not SHALLOWEST_M <= from_m < to_m <= RUN_OFF_BACK_M:
        raise InputError(
            f"--depths goes from {from_m:g} to {to_m:g} m behind the baseline; allowed: rising,"
            f" {SHALLOWEST_M:g} (inside the court) to {RUN_OFF_BACK_M:g} (the end of the run-off)"
        )
    if step_m < LEAST_STEP_M:
        raise InputError(f"--depths has a step of {step_m:g} m; the least is {LEAST_STEP_M:g}")
    count = int((to_m - from_m) / step_m + 1e-9) + 1
    if not FEWEST_DEPTHS <= count <= MOST_DEPTHS:
        raise InputError(
            f"--depths asks for {count} depths; allowed: {FEWEST_DEPTHS} to {MOST_DEPTHS}"
        )
    return np.round(from_m + step_m * np.arange(count), 9) + 0.0


@dataclass(frozen=True, eq=False)
class DepthQuestion:
    """Who plays whom, by which lateral policy, and the depths that are tried.

    scene: its place opens the rallies, its depth is the usual one. rallies: at each depth, over the
    three opening places.

    Raises:
        InputError: too few or too many rallies, or a policy that chooses its own depth.
    """

    scene: Scene
    policy: RecoveryPolicy = dataclasses.field(default_factory=Bisector)
    depths_m: np.ndarray = dataclasses.field(default_factory=lambda: depths_of(*DEPTHS_M))
    rallies: int = DEPTH_RALLIES
    own_shots: str = HITTER
    opponent_policy: str = OPPONENT_POLICY

    def __post_init__(self) -> None:
        require_count("rallies", self.rallies, FEWEST_RALLIES, MOST_RALLIES)
        spot_of(self.policy, placed_situation(self.scene))
        if getattr(self.policy, "chooses_depth", False):
            raise InputError(
                f"policy {self.policy.name!r} chooses its own depth; give it as --adaptive"
            )
        for place in opening_places(self.scene.place):
            placed_situation(self.scene.at(place))

    @property
    def each(self) -> int:
        """Rallies from each of the opening places."""
        return -(-self.rallies // PLACES)

    @property
    def training(self) -> int:
        """Rallies from each place that show what pays; their numbers follow the judged ones."""
        return math.ceil(TRAINING_SHARE * self.each)

    @property
    def all_depths_m(self) -> np.ndarray:
        """The depths tried, the usual one among them."""
        near = np.abs(self.depths_m - self.scene.depth_m) < SAME_DEPTH_M
        more = [] if near.any() else [self.scene.depth_m]
        return np.sort(np.append(self.depths_m, more))

    @property
    def cases(self) -> tuple[str, ...]:
        """What the opponent may do, the case that answers the question last."""
        return cases_of(self.scene.hitter)

    @cached_property
    def game(self) -> Game:
        """Whole rallies at the usual depth."""
        game = self.scene.rallies(self.own_shots, self.opponent_policy)
        return meant(with_policy(game, self.policy))

    def at(self, depth_m: float, policy: RecoveryPolicy | None = None) -> Game:
        """The game with another waiting depth, and perhaps another policy."""
        game = self.game if policy is None else meant(with_policy(self.game, policy))
        studied = dataclasses.replace(game.studied, depth_m=float(depth_m))
        return dataclasses.replace(game, studied=studied)

    def judge(self, game: Game) -> Played:
        """The rallies that count."""
        return played(game, self.scene.place, self.each)

    def train(self, game: Game) -> float:
        """Points won of 100 on the other rallies."""
        return points_of(game, self.scene.place, self.training, PLACES * self.each)


@dataclass(frozen=True, eq=False)
class AtDepth:
    """One depth in one case; shares in 100 with 95 % intervals.

    short: the short balls that the opponent adds. more: points more than at the usual depth, on the
    same chance. reached, returned: of balls that landed in. ways: how rallies end. quality: of the
    opponent's contact after your ball, 0 to 1. drops: drop shots of the opponent's strokes.
    """

    depth_m: float
    short: ShortBalls
    points: Estimate
    more: Difference
    reached: Estimate
    returned: Estimate
    ways: dict[str, Estimate]
    quality: Estimate
    drops: Estimate


@dataclass(frozen=True, eq=False)
class Case:
    """All depths in one case. usual_loses: points that the usual depth loses to the best of them.

    most_reached: the row with most balls reached; it loses most_reached_loses. instead: by how much
    more of 100 rallies end each way there than at the row `best_row`, on the same chance.
    """

    name: str
    rows: tuple[AtDepth, ...]
    usual_m: float
    best: BestDepth
    best_row: int
    most_reached: int
    usual_loses: Estimate
    most_reached_loses: Estimate
    instead: dict[str, Difference]


@dataclass(frozen=True, eq=False, repr=False)
class Depth(InALine):
    """The answer to a DepthQuestion, by case."""

    question: DepthQuestion
    cases: dict[str, Case]

    @property
    def answer(self) -> Case:
        """The case that answers the question."""
        return self.cases[self.question.cases[-1]]


def depth_of(question: DepthQuestion, done: Callable[[], object] = lambda: None) -> Depth:
    """Answer a question; `done` is called after each depth of each case, see `steps_of`.

    Raises:
        InputError: from some depth there is nothing to reach.
    """
    found = {}
    for name in question.cases:
        rows = []
        for depth_m in question.all_depths_m:
            short, game = _opponent(question, name, question.at(depth_m))
            rows.append((float(depth_m), short, question.judge(game)))
            done()
        found[name] = _case(question, name, rows)
    return Depth(question, found)


def _opponent(question: DepthQuestion, name: str, game: Game) -> tuple[ShortBalls, Game]:
    if name == NO_SHORT:
        return ShortBalls(), plain(game)
    if name == USUAL:
        return ShortBalls(), game
    assert name == PAYS
    short, game, _ = paying(game, question.train)
    return short, game


def _case(
    question: DepthQuestion, name: str, rows: Sequence[tuple[float, ShortBalls, Played]]
) -> Case:
    depths_m = np.array([depth_m for depth_m, _, _ in rows])
    usual = int(np.abs(depths_m - question.scene.depth_m).argmin())
    won = np.stack([one.points for _, _, one in rows], axis=1) / PLACES
    best = best_depth(depths_m, won, question.scene.seed)
    at = tuple(_at(*row, rows[usual][2]) for row in rows)
    if any(row.reached.n == 0 or row.quality.n == 0 for row in at):
        raise InputError(
            "from some depth there is nothing to reach or no ball comes back to the opponent;"
            " move --opponent or play more --rallies"
        )
    places = np.stack([depths_m, np.zeros(len(depths_m))], axis=1)
    struck = np.full_like(won, PLACES)
    judged = Judged(places, struck, PLACES * (1.0 - won), np.ones(len(depths_m), bool))
    reached = int(np.argmax([row.reached.value for row in at]))
    near = int(np.abs(depths_m - best.top_m).argmin())
    instead = {way: rows[reached][2].less(rows[near][2], way) for way in WAYS}
    losses = judged.loss(usual), judged.loss(reached)
    return Case(name, at, question.scene.depth_m, best, near, reached, *losses, instead)


def _at(depth_m: float, short: ShortBalls, one: Played, usual: Played) -> AtDepth:
    return AtDepth(
        depth_m,
        short,
        one.share("points"),
        one.less(usual, "points"),
        one.share("reached", "balls"),
        one.share("returned", "balls"),
        {way: one.share(way) for way in (*WAYS, STOPPED)},
        one.ratio("opponent_quality", "opponent_replies"),
        one.share("opponent_drop_shots", "opponent_strokes"),
    )


def steps_of(questions: Sequence[DepthQuestion]) -> int:
    """How often `done` is called for these questions."""
    return sum(len(q.cases) * len(q.all_depths_m) for q in questions)
