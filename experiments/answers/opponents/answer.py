"""Who plays whom, what each policy loses to the best place, and the round robin.

The best place is looked for on other balls than those on which it and its neighbours are judged
beside the policies' spots; what its choice leaves open is part of each interval.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from experiments.balls.best import joined, top_of
from experiments.balls.line import looked_at
from experiments.balls.loss import Judged
from experiments.balls.places import around_x_m
from experiments.balls.spots import (
    are_on_the_line,
    on_the_line,
    placed_situation,
    spots_of,
    with_own,
)
from experiments.balls.standing import balls_of
from experiments.balls.struck import SAME_PLACE_M, Counts, counted
from experiments.scene.scene import FEWEST_BALLS, MOST_BALLS, Scene, require_count
from experiments.statistics.estimates import Estimate, mean_difference, mean_of, paired, share
from experiments.statistics.tally import Tally, replicate_table
from sim.array_engine import play
from sim.contracts import RecoveryPolicy, ShotModel
from sim.errors import InputError
from sim.exchange import Game, Place, with_policy
from strategies.catalogue import SHOT_MODELS, make_shot_model
from strategies.shots.best_reply import BestReply

PLACES = (
    Place("corner", 3.115, 11.885),
    Place("wide", 5.115, 11.885),
    Place("short wide", 4.8, 6.9),
)
OPPONENTS = tuple(name for name in SHOT_MODELS if name != "script")  # which aims at nobody


@dataclass(frozen=True)
class Field:
    """What is tried: policies against opponents from places.

    scene: the players, and the balls struck at every spot for the losses; its own place and hitter
    play no part. rallies: for each policy, opponent and place.

    Raises:
        InputError: numbers out of range, or two opponents of one name.
    """

    scene: Scene
    rallies: int = 400
    places: Sequence[Place] = PLACES
    policies: Sequence[RecoveryPolicy] = field(default_factory=with_own)
    opponents: Sequence[ShotModel] = field(
        default_factory=lambda: [make_shot_model(word) for word in OPPONENTS]
    )

    def __post_init__(self) -> None:
        require_count("rallies", self.rallies, FEWEST_BALLS, MOST_BALLS)
        names = [o.name for o in self.opponents]
        if len(set(names)) < len(names):
            raise InputError(f"two opponents have one name: {', '.join(names)}; leave one out")

    def at(self, place: Place, hitter: ShotModel) -> Scene:
        """One opponent at one place."""
        return dataclasses.replace(self.scene, place=place, hitter=hitter)

    def game(self, policy: RecoveryPolicy, hitter: ShotModel) -> Game:
        """Rallies of a policy against an opponent; a best reply is one to that very policy."""
        if isinstance(hitter, BestReply):
            hitter = BestReply(policy, hitter.look_ahead_s)
        return with_policy(dataclasses.replace(self.scene, hitter=hitter).rallies(), policy)


@dataclass(frozen=True)
class Loss:
    """One policy against one opponent at one place, in balls of 100 struck, with 95 % intervals.

    `returned`: fewer balls that are returned or do not land in than from the best place, each
    ball that is reached counting by its chance of a return as far as time goes. `reached`: the
    same, the best place too, with every ball that is reached in time counting whole.
    """

    place: str
    opponent: str
    policy: str
    x_m: float
    returned: Estimate
    reached: Estimate


@dataclass(frozen=True)
class BestSpot:
    """The best place against one opponent from one contact, by balls returned, and why it is there.

    x_m: the centre of low_m to high_m, the places within half a ball in 100 of the best. top_x_m:
    where most is kept, and kept_per_100 of 100 balls struck. far: of 100 balls that land in how
    many land on the far side of the centre from the contact, with the receiver in the middle and at
    the best place. in_per_100: balls of 100 that land in, at the best place.
    """

    place: str
    opponent: str
    x_m: float
    low_m: float
    high_m: float
    top_x_m: float
    kept_per_100: float
    far_at_middle: float
    far_at_best: float
    in_per_100: float


def losses_of(field: Field, done: Callable[[], object]) -> tuple[list[Loss], list[BestSpot]]:
    """All losses and best spots; `done` is called after every pair of place and opponent."""
    losses: list[Loss] = []
    spots: list[BestSpot] = []
    for place in field.places:
        for hitter in field.opponents:
            best, found = pair_of(field, place, hitter)
            spots.append(best)
            losses += found
            done()
    return losses, spots


def pair_of(field: Field, place: Place, hitter: ShotModel) -> tuple[BestSpot, list[Loss]]:
    """The best spot and all losses against one opponent from one place."""
    scene = field.at(place, hitter)

    def kept(found: Counts) -> np.ndarray:
        return np.asarray(1.0 - found.not_returned.sum(axis=0) / balls_of(scene))

    line = looked_at(scene, kept)
    near = around_x_m(float(line.x_m[top_of(line.x_m, kept(line.counts))]))
    middle_and_near = on_the_line(np.concatenate([[0.0], near]), scene.line_m)
    places = np.concatenate([middle_and_near, spots_of(field.policies, placed_situation(scene))])
    found = counted(scene, places, scene.balls, first=scene.balls, batch=1).require_balls()
    here = are_on_the_line(places, scene.line_m)
    struck = np.ones_like(found.landed)  # balls that are not in count, too: they are not lost
    returned, reached = (
        Judged(places, struck, lost, here) for lost in (found.not_returned, found.missed)
    )
    best = joined(line.x_m, kept(line.counts), places[here, 0], 1.0 - returned.rate[here])
    top = int(np.flatnonzero(here & (np.abs(places[:, 0] - best.top_x_m) < SAME_PLACE_M))[0])
    far = 100.0 * found.rate("far")
    spot = BestSpot(
        place.name,
        hitter.name,
        best.x_m,
        best.low_m,
        best.high_m,
        best.top_x_m,
        100.0 * best.share,
        float(far[0]),
        float(far[top]),
        100.0 * float(found.landed[:, top].mean()),
    )
    first = len(middle_and_near)
    return spot, [
        Loss(
            place.name,
            hitter.name,
            policy.name,
            float(places[k, 0]),
            returned.loss(k),
            reached.loss(k),
        )
        for k, policy in enumerate(field.policies, first)
    ]


@dataclass(frozen=True)
class Meeting:
    """One policy against one opponent over all places, with equal weights.

    in_time: of 100 balls that landed in, those reached in time. points: won of 100. points_more:
    won more than by the first policy of the field, in rallies on the same random numbers.
    """

    policy: str
    opponent: str
    in_time: Estimate
    points: Estimate
    points_more: Estimate


def robin_of(field: Field, done: Callable[[], object]) -> list[Meeting]:
    """All meetings; `done` is called after every one.

    The rallies of one opponent and place have the same random numbers whatever the policy.
    """
    out: list[Meeting] = []
    for hitter in field.opponents:
        first: list[np.ndarray] = []
        for policy in field.policies:
            game, numbers = field.game(policy, hitter), np.arange(field.rallies)
            tables = [
                replicate_table(play(game, place, numbers), numbers, points=True)
                for place in field.places
            ]
            first = first or tables
            tallies = [Tally.of(*pair) for pair in zip(tables, first, strict=True)]
            out.append(_meeting(policy.name, hitter.name, tallies))
            done()
    return out


def _meeting(policy: str, opponent: str, tallies: list[Tally]) -> Meeting:
    missed = mean_of([share(t, "missed", "balls") for t in tallies], is_share=True)
    points = mean_of([share(t, "points", "one") for t in tallies], is_share=True)
    more = mean_difference([paired(t, "points", "one") for t in tallies])
    return Meeting(policy, opponent, *(e.scaled(100) for e in (missed.complement, points, more)))


@dataclass(frozen=True)
class Answer:
    """All that was found for one field."""

    field: Field
    losses: Sequence[Loss]
    spots: Sequence[BestSpot]
    meetings: Sequence[Meeting]


def steps_of(field: Field) -> int:
    """How many parts the work has."""
    return len(field.opponents) * (len(field.places) + len(field.policies))


def answer_of(field: Field, done: Callable[[], object] = lambda: None) -> Answer:
    """Find everything; `done` is called after every part.

    Raises:
        InputError: a policy that has no spot without an own stroke.
    """
    losses, spots = losses_of(field, done)
    return Answer(field, losses, spots, robin_of(field, done))
