"""Where to stand while the opponent strikes from one place: every policy and every lateral place.

The balls are made once; all places along the waiting depth meet the very same ones. Only a hitter
who looks at the receiver plays other balls to other places: then each place gets balls of its own,
on the same random numbers, over a coarser grid.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from experiments.angle import Extreme, bisector_line, extremes_of, leaves_court_m
from experiments.statistics import binomial_share
from experiments.tally import SETTLED_OFF_S
from sim.chance import checked_seed
from sim.contracts import RecoveryPolicy, ShotModel, Situation, bodies_at
from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M
from sim.envelope import DriveLimits
from sim.errors import InputError
from sim.exchange import Game, Place, Side, opening_contact, situation, strike_balls
from sim.meeting import appraisals
from sim.players import PROFESSIONAL_CLAY_WAIT_M, Player
from sim.records import IN, MISSED, OPPONENT, SET, STUDIED
from sim.world import World
from strategies.catalogue import POLICIES
from strategies.recovery.middle import Middle

FARTHEST_X_M, STEP_X_M, COARSE_STEP_X_M = 5.0, 0.1, 0.25
COARSE_SHARE = 0.2  # balls of each place of the curve against a hitter who sees the receiver
FEWEST_BALLS, MOST_BALLS = 100, 1_000_000
CHUNK = 4000
PLATEAU = 0.005  # half a ball in 100


@dataclass(frozen=True)
class SpotQuestion:
    """One opponent contact place and who plays; `depth_m` is metres behind the baseline.

    Raises:
        InputError: a depth that is not behind the baseline and inside the run-off, or a number of
            balls or a seed out of range.
    """

    place: Place
    player: Player
    opponent: Player
    world: World
    hitter: ShotModel
    policies: Sequence[RecoveryPolicy]
    depth_m: float
    balls: int
    seed: int
    limits: DriveLimits = field(default_factory=DriveLimits)

    def __post_init__(self) -> None:
        if not (math.isfinite(self.depth_m) and 0 <= self.depth_m <= RUN_OFF_BACK_M):
            raise InputError(
                f"depth is {self.depth_m:g} m; it is metres behind the baseline,"
                f" from 0 to {RUN_OFF_BACK_M:g}"
            )
        if not FEWEST_BALLS <= self.balls <= MOST_BALLS:
            raise InputError(f"balls is {self.balls}; allowed: {FEWEST_BALLS} to {MOST_BALLS}")
        checked_seed(self.seed)

    @property
    def game(self) -> Game:
        studied = Side(self.player, Middle(), self.hitter, self.depth_m, limits=self.limits)
        other = Side(self.opponent, Middle(), self.hitter, limits=self.limits)
        return Game(studied, other, self.world, self.seed)


@dataclass(frozen=True)
class PolicySpot:
    """Where one policy stands and what it reaches from there, of the balls that landed in.

    `low` and `high` are the 95 % interval of `share_in_time`; `shade_m_per_m` is metres away from
    the opponent per metre that the opponent is off centre (None with the opponent on the line).
    """

    name: str
    x_m: float
    y_m: float
    share_in_time: float
    low: float
    high: float
    share_set: float
    time_to_spare_s: float
    landed_in: int
    shade_m_per_m: float | None


@dataclass(frozen=True)
class Best:
    """The best lateral place: centre of the range within half a ball in 100 of the maximum."""

    x_m: float
    low_m: float
    high_m: float
    share_in_time: float


@dataclass(frozen=True)
class SpotResult:
    """The answer to a SpotQuestion, in the studied player's frame.

    `extremes` are the left and the right extreme drive, `bisector` the line (x, y) to (x, y) from
    the contact to the waiting depth. The curve has arrays of equal length over all lateral places;
    `curve_balls` balls were struck at each of them. `leaves_court_m` is the bounce depth from the
    net below which a crosscourt drive leaves the singles court before the waiting depth, or None.
    """

    question: SpotQuestion
    extremes: tuple[Extreme, Extreme]
    bisector: tuple[tuple[float, float], tuple[float, float]]
    policies: tuple[PolicySpot, ...]
    curve_x_m: np.ndarray
    curve_share_in_time: np.ndarray
    curve_share_set: np.ndarray
    curve_balls: int
    best: Best
    landed_in: int
    leaves_court_m: float | None

    @property
    def place(self) -> Place:
        return self.question.place

    @property
    def player(self) -> str:
        return self.question.player.name

    @property
    def opponent(self) -> str:
        return self.question.opponent.name

    @property
    def depth_m(self) -> float:
        return self.question.depth_m

    @property
    def surface(self) -> str:
        return self.question.world.surface.name

    @property
    def hitter(self) -> str:
        return self.question.hitter.name

    @property
    def limits(self) -> DriveLimits:
        return self.question.limits

    @property
    def balls(self) -> int:
        return self.question.balls

    @property
    def seed(self) -> int:
        return self.question.seed


@dataclass(frozen=True)
class Shares:
    """Of the balls that landed in, by place: shares in time and set, mean time to spare."""

    in_time: np.ndarray
    set: np.ndarray
    time_to_spare_s: np.ndarray
    landed_in: np.ndarray

    def part(self, where: slice) -> Shares:
        """The shares of some of the places."""
        return Shares(*(getattr(self, f.name)[where] for f in dataclasses.fields(self)))


def waiting_depth_m(player: Player, surface: str) -> float:
    """Where that player waits on that surface, metres behind the baseline."""
    measured = any(name == "waits_behind_m" for name, _, _ in player.ranges)
    if surface == "clay" and player.base_level == "professional-man" and not measured:
        return PROFESSIONAL_CLAY_WAIT_M
    return player.waits_behind_m


def with_own(own: Sequence[RecoveryPolicy]) -> list[RecoveryPolicy]:
    """The catalogue's policies that have a spot without an own stroke, and the user's own.

    Raises:
        InputError: two different policies of one name.
    """
    out = [kind() for kind in POLICIES.values() if getattr(kind, "placeable", True)]
    for policy in own:
        same = next((p for p in out if p.name == policy.name), None)
        if same is None:
            out.append(policy)
        elif same != policy:
            raise InputError(
                f"two policies are named {policy.name!r}; give your own one another name"
            )
    return out


def find_spot(question: SpotQuestion) -> SpotResult:
    """Answer a question: spots of all policies, the curve over lateral places and its best range.

    Raises:
        InputError: a policy gives no usable spot, or no ball landed in.
    """
    seen = placed_situation(question)
    spots = np.array([spot_of(policy, seen) for policy in question.policies]).reshape(-1, 2)
    step = COARSE_STEP_X_M if question.hitter.sees_receiver else STEP_X_M
    count = round(FARTHEST_X_M / step)
    x = step * np.arange(-count, count + 1)
    line = np.stack([x, np.full(len(x), -seen.line_m)], axis=1)
    of_line, of_spots, line_balls = shares_of(question, line, spots)
    return SpotResult(
        question=question,
        extremes=extremes_of(seen),
        bisector=bisector_line(seen),
        policies=tuple(policy_spots(question, spots, of_spots)),
        curve_x_m=x,
        curve_share_in_time=of_line.in_time,
        curve_share_set=of_line.set,
        curve_balls=line_balls,
        best=best_of(x, of_line.in_time),
        landed_in=round(float((of_spots if len(spots) else of_line).landed_in.mean())),
        leaves_court_m=leaves_court_m(seen),
    )


def placed_situation(question: SpotQuestion) -> Situation:
    """What the player sees, at rest in the middle with all the time it wants; length one."""
    game = question.game
    contact = opening_contact(question.place, game.opponent, 1)
    body = bodies_at(np.zeros(1), np.array([-HALF_LENGTH_M - question.depth_m]))
    return situation(game, STUDIED, body, contact, np.full(1, np.inf))


def spot_of(policy: RecoveryPolicy, seen: Situation) -> np.ndarray:
    """The spot (2,) of one policy.

    Raises:
        InputError: the policy needs an own stroke.
    """
    if not getattr(policy, "placeable", True):
        raise InputError(
            f"policy {policy.name!r} has no spot here: it depends on where the own stroke was"
            " played; try it with `rally-recovery replay` or in a study"
        )
    # A Situation of its own: what it keeps once worked out is not shared with the others.
    return np.asarray(policy.spots(dataclasses.replace(seen))[0])


def shares_of(
    question: SpotQuestion, line: np.ndarray, spots: np.ndarray
) -> tuple[Shares, Shares, int]:
    """Shares at the places of the curve and at the spots, and the balls at each of the first.

    A hitter who does not look plays the same balls to all of them.
    """
    if question.hitter.sees_receiver:
        fewer = max(FEWEST_BALLS, round(COARSE_SHARE * question.balls))
        of_spots = shares_at(question, spots, question.balls)
        return shares_at(question, line, fewer), of_spots, fewer
    both = shares_at(question, np.concatenate([line, spots]), question.balls)
    return both.part(slice(len(line))), both.part(slice(len(line), None)), question.balls


def shares_at(question: SpotQuestion, places: np.ndarray, balls: int) -> Shares:
    """Shares of `balls` balls from each of the places (n, 2).

    Balls are made in chunks, so that memory does not grow with their number.

    Raises:
        InputError: not one ball landed in.
    """
    sums = np.zeros((4, len(places)))
    for first in range(0, balls, CHUNK):
        replicates = np.arange(first, min(first + CHUNK, balls))
        if question.hitter.sees_receiver:
            for j, place in enumerate(places):
                sums[:, j] += chunk_sums(question, place[None, :], replicates)[:, 0]
        else:
            sums += chunk_sums(question, places, replicates)
    landed = sums[0]
    if not (landed > 0).all():
        raise InputError(
            f"of {balls} balls from this place not one landed in, so there is nothing to reach;"
            " choose another contact place, hitter or more balls"
        )
    return Shares(sums[1] / landed, sums[2] / landed, sums[3] / landed, landed)


def chunk_sums(question: SpotQuestion, places: np.ndarray, replicates: np.ndarray) -> np.ndarray:
    """Balls in, in time, set and seconds to spare, summed over replicates; shape (4, places).

    The balls are those played to a receiver who stands at the first place.
    """
    game, n = question.game, len(replicates)
    contact = opening_contact(question.place, game.opponent, n)
    receiver = bodies_at(np.full(n, places[0, 0]), np.full(n, places[0, 1]))
    balls, paths = strike_balls(game, OPPONENT, contact, receiver, replicates, 0)
    landed = balls["outcome"] == IN
    legs = question.player.legs
    x, y = np.ascontiguousarray(places.T)  # one memory layout, so that one kernel serves
    spare, grade = appraisals(balls[landed], paths[landed], x, y, legs.numbers, legs.times)
    return np.stack(
        [
            np.full(len(places), float(landed.sum())),
            (grade != MISSED).sum(axis=0),
            (grade == SET).sum(axis=0),
            np.maximum(spare, -SETTLED_OFF_S).sum(axis=0),
        ]
    )


def policy_spots(question: SpotQuestion, spots: np.ndarray, found: Shares) -> Iterator[PolicySpot]:
    """One PolicySpot for each policy, in their order."""
    off_centre = question.place.x_m
    for i, policy in enumerate(question.policies):
        share, landed = float(found.in_time[i]), round(float(found.landed_in[i]))
        interval = binomial_share(share, landed)
        yield PolicySpot(
            name=policy.name,
            x_m=float(spots[i, 0]),
            y_m=float(spots[i, 1]),
            share_in_time=share,
            low=interval.low,
            high=interval.high,
            share_set=float(found.set[i]),
            time_to_spare_s=float(found.time_to_spare_s[i]),
            landed_in=landed,
            shade_m_per_m=float(-spots[i, 0] / off_centre) if off_centre else None,
        )


def best_of(x_m: np.ndarray, share_in_time: np.ndarray) -> Best:
    """The plateau of the curve: all places within half a ball in 100 of the maximum."""
    good = x_m[share_in_time >= share_in_time.max() - PLATEAU]
    centre = 0.5 * (good.min() + good.max())
    share = float(np.interp(centre, x_m, share_in_time))
    return Best(float(centre), float(good.min()), float(good.max()), share)
