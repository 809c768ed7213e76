"""What each policy's spot loses to the best lateral place, against each opponent.

The best place is looked for on other balls than those on which it and its neighbours are judged
beside the policies' spots; what its choice leaves open is part of each interval.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from experiments.answers.opponents.field import Field
from experiments.balls.best import joined, top_of
from experiments.balls.line import looked_at
from experiments.balls.loss import Judged
from experiments.balls.places import around_x_m
from experiments.balls.spots import are_on_the_line, on_the_line, placed_situation, spots_of
from experiments.balls.standing import balls_of
from experiments.balls.struck import SAME_PLACE_M, Counts, counted
from experiments.statistics.estimates import Estimate
from sim.contracts import ShotModel
from sim.exchange import Place


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
