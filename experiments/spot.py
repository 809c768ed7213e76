"""Where to stand while the opponent strikes from one place: every policy and every lateral place.

The balls are made once; all places along the waiting depth meet the very same ones. Only a hitter
who looks at the receiver plays other balls to other places: then each place gets balls of its own,
on the same random numbers; the line is looked at with fewer balls, coarse and then fine, and the
best place is judged among its neighbours and the policies on all of them.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from experiments.angle import Extreme, bisector_line, extremes_of, leaves_court_m
from experiments.balls.best import Best, best_of, joined
from experiments.balls.places import LOOK_BALLS, around_x_m, line_x_m, refined
from experiments.balls.struck import SAME_PLACE_M, groups_of, struck_at
from experiments.statistics import binomial_share
from experiments.tally import SETTLED_OFF_S
from sim.chance import checked_seed
from sim.contracts import RecoveryPolicy, ShotModel, Situation, bodies_at
from sim.court import HALF_LENGTH_M, RUN_OFF_BACK_M
from sim.envelope import DriveLimits
from sim.errors import InputError
from sim.exchange import Game, Place, Side, opening_contact, situation
from sim.players import Player, level_of
from sim.records import MISSED, SET, STUDIED
from sim.surface import surface as surface_named
from sim.world import World
from strategies.catalogue import POLICIES
from strategies.recovery.middle import Middle

FEWEST_BALLS, MOST_BALLS = 100, 1_000_000
CHUNK = 4000


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
class SpotResult:
    """The answer to a SpotQuestion, in the studied player's frame.

    `extremes` are the left and the right extreme drive, `bisector` the line (x, y) to (x, y) from
    the contact to the waiting depth. The curve has arrays of equal length over the lateral places,
    ascending; `curve_balls` balls were struck at each of them. `leaves_court_m` is the bounce depth
    from the net below which a crosscourt drive leaves the singles court before the waiting depth,
    or None.
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

    def part(self, where: slice | np.ndarray) -> Shares:
        """The shares of some of the places."""
        return Shares(*(getattr(self, f.name)[where] for f in dataclasses.fields(self)))

    @classmethod
    def together(cls, parts: Sequence[Shares]) -> Shares:
        """The shares of the places of all parts, in their order."""
        names = [f.name for f in dataclasses.fields(cls)]
        return cls(*(np.concatenate([getattr(p, name) for p in parts]) for name in names))


def waiting_depth_m(player: Player, surface: str) -> float:
    """Where that player waits on that surface, metres behind the baseline."""
    measured = any(name == "waits_behind_m" for name, _, _ in player.ranges)
    level = level_of(player)
    there = level and level.waits_on.get(surface_named(surface).name)
    return player.waits_behind_m if measured or not there else there.value


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
    line, of_spots, best = line_and_spots(question, seen.line_m, spots)
    return SpotResult(
        question=question,
        extremes=extremes_of(seen),
        bisector=bisector_line(seen),
        policies=tuple(policy_spots(question, spots, of_spots)),
        curve_x_m=line.x_m,
        curve_share_in_time=line.shares.in_time,
        curve_share_set=line.shares.set,
        curve_balls=line.balls,
        best=best,
        landed_in=round(float((of_spots if len(spots) else line.shares).landed_in.mean())),
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


@dataclass(frozen=True)
class Line:
    """Ascending lateral places at the waiting depth, their shares, and the balls at each."""

    x_m: np.ndarray
    shares: Shares
    balls: int


def line_and_spots(
    question: SpotQuestion, line_m: float, spots: np.ndarray
) -> tuple[Line, Shares, Best]:
    """The curve along the waiting line, the shares at the spots (n, 2), and the best place.

    A spot on the line is one of the places among which the best is found, so none is better.
    """
    on_line = np.abs(spots[:, 1] + line_m) < SAME_PLACE_M
    if not question.hitter.sees_receiver:
        x = line_x_m(coarse=False)
        both = shares_at(question, np.concatenate([on_the_line(x, line_m), spots]), question.balls)
        line = Line(x, both.part(slice(len(x))), question.balls)
        of_spots = both.part(slice(len(x), None))
        all_x, first = np.unique(np.concatenate([x, spots[on_line, 0]]), return_index=True)
        kept = np.concatenate([line.shares.in_time, of_spots.in_time[on_line]])[first]
        return line, of_spots, best_of(all_x, kept)
    line = looked_at(question, line_m)
    near = around_x_m(best_of(line.x_m, line.shares.in_time).top_x_m)
    places = np.concatenate([on_the_line(near, line_m), spots])
    judged = shares_at(question, places, question.balls)
    of_spots = judged.part(slice(len(near), None))
    here = np.concatenate([np.ones(len(near), bool), on_line])
    best = joined(line.x_m, line.shares.in_time, places[here, 0], judged.in_time[here])
    return line, of_spots, best


def looked_at(question: SpotQuestion, line_m: float) -> Line:
    """The line as seen with few balls, finer near its best place."""
    balls, x, parts = min(LOOK_BALLS, question.balls), [], []

    def kept_at(x_m: np.ndarray) -> np.ndarray:
        parts.append(shares_at(question, on_the_line(x_m, line_m), balls))
        x.append(x_m)
        return parts[-1].in_time

    refined(kept_at)
    all_x = np.concatenate(x)
    order = np.argsort(all_x)
    return Line(all_x[order], Shares.together(parts).part(order), balls)


def on_the_line(x_m: np.ndarray, line_m: float) -> np.ndarray:
    """Places (k, 2) at those lateral places, `line_m` from the net on the own side."""
    return np.stack([x_m, np.full(len(x_m), -line_m)], axis=1)


def shares_at(question: SpotQuestion, places: np.ndarray, balls: int) -> Shares:
    """Shares of `balls` balls from each of the places (n, 2).

    Balls are made in chunks, so that memory does not grow with their number.

    Raises:
        InputError: not one ball landed in.
    """
    sums = np.zeros((4, len(places)))
    for first in range(0, balls, CHUNK):
        replicates = np.arange(first, min(first + CHUNK, balls))
        groups = groups_of(places, question.hitter.sees_receiver)
        sums += np.concatenate([chunk_sums(question, g, replicates) for g in groups], axis=1)
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
    struck = struck_at(question.game, question.place, places[0], replicates)
    spare, grade = struck.appraised(places, question.player.legs)
    return np.stack(
        [
            np.full(len(places), float(struck.landed.sum())),
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
