"""What each policy's spot loses to the best lateral place, against each opponent.

The best place is found on other balls than those that it is compared on; otherwise its luck would
count as the policies' loss.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from experiments.opponents.field import Field
from experiments.spot import PLATEAU, SpotQuestion, placed_situation, spot_of
from experiments.statistics import Estimate, Z
from sim.contracts import ShotModel, bodies_at
from sim.exchange import Place, opening_contact, strike_balls
from sim.meeting import appraisals
from sim.records import IN, MISSED, OPPONENT

FARTHEST_X_M, STEP_X_M, COARSE_STEP_X_M = 4.5, 0.1, 0.25
COARSE_SHARE = 0.5  # of the balls, at each place of the line, where a hitter sees the place
CHUNK = 2000


@dataclass(frozen=True)
class Loss:
    """One policy against one opponent at one place, in balls of 100 struck, with 95 % intervals.

    `returned`: fewer balls that are returned or do not land in than from the best place, each
    ball that is reached counting by its chance of a return as far as time goes. `reached`: the
    same with every ball that is reached in time counting whole.
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

    low_m, high_m: the places within half a ball in 100 of the best. far: of 100 balls that land in
    how many land on the far side of the centre from the contact, with the receiver in the middle
    and at the best place. in_per_100: balls of 100 that land in, at the best place.
    """

    place: str
    opponent: str
    x_m: float
    low_m: float
    high_m: float
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
    x, kept, count = _line(asked)
    good = x[kept >= kept.max() - PLATEAU]
    best_x = float(0.5 * (good[0] + good[-1]))
    seen = placed_situation(asked)
    spots = np.array([spot_of(policy, seen) for policy in field.policies])
    extra = np.array([[best_x, -seen.line_m], [0.0, -seen.line_m]])
    found = outcomes(asked, np.concatenate([extra, spots]), np.arange(count, count + asked.balls))
    far = 100.0 * found.far.sum(axis=0) / np.maximum(found.landed.sum(axis=0), 1)
    best = BestSpot(
        place.name,
        hitter.name,
        best_x,
        float(good[0]),
        float(good[-1]),
        100.0 * float(found.returned[:, 0].mean()),
        float(far[1]),
        float(far[0]),
        100.0 * float(found.landed[:, 0].mean()),
    )
    return best, list(_losses(field, best, spots[:, 0], found))


def _losses(field: Field, best: BestSpot, x_m: np.ndarray, found: Outcome) -> Iterator[Loss]:
    for i, policy in enumerate(field.policies):
        parts = (paired_mean(v[:, 0] - v[:, i + 2]) for v in (found.returned, found.reached))
        yield Loss(best.place, best.opponent, policy.name, float(x_m[i]), *parts)


def paired_mean(difference: np.ndarray) -> Estimate:
    """The mean of differences on the same balls, in 100 balls, with a normal interval."""
    n, value = len(difference), 100.0 * float(difference.mean())
    se = 100.0 * float(difference.std(ddof=1)) / math.sqrt(n)
    return Estimate(value, value - Z * se, value + Z * se, se, n)


def _line(asked: SpotQuestion) -> tuple[np.ndarray, np.ndarray, int]:
    """Lateral places, the share not lost at each, and the balls struck."""
    sees = asked.hitter.sees_receiver
    step = COARSE_STEP_X_M if sees else STEP_X_M
    half = round(FARTHEST_X_M / step)
    x = step * np.arange(-half, half + 1)
    count = max(round(COARSE_SHARE * asked.balls), 50) if sees else asked.balls
    places = np.stack([x, np.full(len(x), -placed_situation(asked).line_m)], axis=1)
    return x, outcomes(asked, places, np.arange(count)).returned.mean(axis=0), count


def outcomes(asked: SpotQuestion, places: np.ndarray, replicates: np.ndarray) -> Outcome:
    """What becomes of the same balls from each of the places (k, 2).

    A hitter who sees the receiver plays to each place anew, with the same random numbers.
    """
    groups = [places[j : j + 1] for j in range(len(places))]
    if not asked.hitter.sees_receiver:
        groups = [places]
    columns = []
    for group in groups:
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
    game, n, k = asked.game, len(replicates), len(places)
    contact = opening_contact(asked.place, game.opponent, n)
    receiver = bodies_at(np.full(n, places[0, 0]), np.full(n, places[0, 1]))
    balls, paths = strike_balls(game, OPPONENT, contact, receiver, replicates, 0)
    landed, legs = balls["outcome"] == IN, asked.player.legs
    x, y = np.ascontiguousarray(places.T)
    spare, grade = appraisals(balls[landed], paths[landed], x, y, legs.numbers, legs.times)
    returned, reached = np.ones((n, k)), np.ones((n, k))
    reached[landed] = grade != MISSED
    returned[landed] = chance_of(spare, legs.control_time_s) * reached[landed]
    far = landed & (balls["landing_x_m"] * asked.place.x_m < 0)
    wide = np.ones(k)
    return returned, reached, landed[:, None] * wide, far[:, None] * wide


def chance_of(spare_s: np.ndarray, control_time_s: float) -> np.ndarray:
    """Chance of a return as far as time goes (sim.reply.in_control), for balls that are reached."""
    if control_time_s <= 0.0:
        return np.ones_like(spare_s)
    return np.asarray(-np.expm1(-np.maximum(spare_s, 0.0) / control_time_s))
