"""What each policy's spot loses to the best lateral place, against each opponent.

The best place is looked for on other balls than those on which it and its neighbours are judged
beside the policies' spots; what its choice leaves open is part of each interval.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from experiments.answers.opponents.field import Field
from experiments.answers.spot.question import SpotQuestion, on_the_line, placed_situation, spot_of
from experiments.balls.best import joined, top_of
from experiments.balls.loss import Judged
from experiments.balls.places import LOOK_BALLS, around_x_m, line_x_m, refined
from experiments.balls.struck import SAME_PLACE_M, groups_of, return_chance, struck_at
from experiments.statistics.estimates import Estimate
from sim.contracts import ShotModel
from sim.exchange import Place
from sim.records import MISSED

CHUNK = 2000


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


@dataclass(frozen=True)
class Outcome:
    """By ball and place: not lost, by the chance of a return and by arrival; in; far. (n, k)."""

    returned: np.ndarray
    reached: np.ndarray
    landed: np.ndarray
    far: np.ndarray


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
    asked = field.asked(place, hitter)
    seen = placed_situation(asked)
    x, kept = _line(asked, seen.line_m)
    near = around_x_m(float(x[top_of(x, kept)]))
    spots = np.array([spot_of(policy, seen) for policy in field.policies]).reshape(-1, 2)
    places = np.concatenate([[[0.0, -seen.line_m]], on_the_line(near, seen.line_m), spots])
    found = outcomes(asked, places, asked.balls + np.arange(asked.balls))
    on_line = np.abs(places[:, 1] + seen.line_m) < SAME_PLACE_M
    best = joined(x, kept, places[on_line, 0], found.returned.mean(axis=0)[on_line])
    top = int(np.flatnonzero(on_line & (np.abs(places[:, 0] - best.top_x_m) < SAME_PLACE_M))[0])
    far = 100.0 * found.far.sum(axis=0) / np.maximum(found.landed.sum(axis=0), 1)
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
    judged = [
        Judged(places, np.ones_like(kept), 1.0 - kept, on_line)
        for kept in (found.returned, found.reached)
    ]
    return spot, list(_losses(field, spot, len(places) - len(spots), judged))


def _losses(field: Field, best: BestSpot, first: int, judged: list[Judged]) -> Iterator[Loss]:
    """The loss of each policy; its spot is one of the places from the number `first` on."""
    for i, policy in enumerate(field.policies, first):
        x = float(judged[0].places[i, 0])
        yield Loss(best.place, best.opponent, policy.name, x, *(j.loss(i) for j in judged))


def _line(asked: SpotQuestion, line_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Lateral places, ascending, and the share not lost at each: of few balls if each is dear."""

    def kept_at(x_m: np.ndarray, balls: int) -> np.ndarray:
        found = outcomes(asked, on_the_line(x_m, line_m), np.arange(balls))
        return np.asarray(found.returned.mean(axis=0))

    if asked.hitter.sees_receiver:
        return refined(lambda x_m: kept_at(x_m, min(LOOK_BALLS, asked.balls)))
    x = line_x_m(coarse=False)
    return x, kept_at(x, asked.balls)


def outcomes(asked: SpotQuestion, places: np.ndarray, replicates: np.ndarray) -> Outcome:
    """What becomes of the same balls from each of the places (k, 2).

    A hitter who sees the receiver plays to each place anew, with the same random numbers.
    """
    columns = []
    for group in groups_of(places, asked.hitter.sees_receiver):
        chunks = [
            np.stack(_struck(asked, group, replicates[first : first + CHUNK]))
            for first in range(0, len(replicates), CHUNK)
        ]
        columns.append(np.concatenate(chunks, axis=1))
    return Outcome(*np.concatenate(columns, axis=2))


def _struck(
    asked: SpotQuestion, places: np.ndarray, replicates: np.ndarray
) -> tuple[np.ndarray, ...]:
    """The four arrays (n, k) of an Outcome; the hitter sees a receiver at the first place."""
    n, k = len(replicates), len(places)
    struck, legs = struck_at(asked.game, asked.place, places[0], replicates), asked.player.legs
    spare, grade = struck.appraised(places, legs)
    landed = struck.landed
    returned, reached = np.ones((n, k)), np.ones((n, k))
    reached[landed] = grade != MISSED
    returned[landed] = return_chance(spare, legs.control_time_s) * reached[landed]
    far = landed & (struck.balls["landing_x_m"] * asked.place.x_m < 0)
    wide = np.ones(k)
    return returned, reached, landed[:, None] * wide, far[:, None] * wide
