"""The same balls met with many legs, from every place on the waiting line: sums by batch of balls.

A hitter who does not look strikes each ball once, and all legs meet it from all places. One who
looks at the receiver strikes anew for each place, with the same random numbers. Every ball belongs
to one of BATCHES batches; the batch is the unit of resampling and of pairing, so that memory does
not grow with the balls.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.answers.spot.question import SpotQuestion, on_the_line
from experiments.balls.places import line_x_m
from experiments.balls.struck import return_chance, struck_at
from sim.court import HALF_LENGTH_M
from sim.errors import InputError
from sim.legs import Legs
from sim.records import MISSED

BATCHES = 200
BATCHES_AT_ONCE = 50
MOST_BALLS = 200_000


@dataclass(frozen=True)
class Sums:
    """Balls that landed in; of them missed; of them expected not to come back: (BATCHES, places).

    A ball that is reached comes back with a chance that grows with the time to spare.
    """

    landed: np.ndarray
    missed: np.ndarray
    not_returned: np.ndarray

    def at(self, place: int) -> Sums:
        """The sums at one of the places, (BATCHES, 1)."""
        return Sums(*(getattr(self, f.name)[:, [place]] for f in dataclasses.fields(self)))


def line_of(question: SpotQuestion) -> np.ndarray:
    """The lateral places that are searched; fewer against a hitter who looks at the receiver."""
    return line_x_m(coarse=question.hitter.sees_receiver)


def balls_of(balls: int) -> int:
    """The number of balls rounded up to whole batches."""
    return BATCHES * -(-balls // BATCHES)


def sweep(
    question: SpotQuestion,
    legs: Sequence[Legs],
    places_x_m: Sequence[np.ndarray],
    first: int,
    done: Callable[[], object],
) -> list[Sums]:
    """The sums of each legs at its places on the waiting line, over balls `first` and on.

    `places_x_m` holds one array (k,) for each legs. `done` is called after every chunk of balls
    (see `chunks_of`).

    Raises:
        InputError: not one ball landed in.
    """
    size = balls_of(question.balls) // BATCHES
    parts: list[list[np.ndarray]] = [[] for _ in legs]
    for begin in range(0, BATCHES, BATCHES_AT_ONCE):
        replicates = first + begin * size + np.arange(BATCHES_AT_ONCE * size)
        if question.hitter.sees_receiver:
            met = [_met_anew(question, *pair, replicates) for pair in _pairs(legs, places_x_m)]
        else:
            met = _met(question, legs, places_x_m, replicates)
        for own, balls in zip(parts, met, strict=True):
            own.append(balls.reshape(3, BATCHES_AT_ONCE, size, -1).sum(axis=2))
        done()
    out = [Sums(*np.concatenate(own, axis=1)) for own in parts]
    if not all((sums.landed.sum(axis=0) > 0).all() for sums in out):
        raise InputError(
            f"of {question.balls} balls from this place not one landed in, so there is nothing to"
            " reach; choose another contact place, hitter or more balls"
        )
    return out


def chunks_of() -> int:
    """How often `sweep` calls `done`."""
    return BATCHES // BATCHES_AT_ONCE


def _pairs(legs: Sequence[Legs], places_x_m: Sequence[np.ndarray]) -> list[tuple[Legs, np.ndarray]]:
    return list(zip(legs, places_x_m, strict=True))


def _met_anew(
    question: SpotQuestion, legs: Legs, x_m: np.ndarray, replicates: np.ndarray
) -> np.ndarray:
    """Balls struck for one receiver at each of the places: see `_met`."""
    player = dataclasses.replace(question.player, legs=legs)
    own = dataclasses.replace(question, player=player)
    columns = [_met(own, [legs], [x_m[j : j + 1]], replicates)[0] for j in range(len(x_m))]
    return np.concatenate(columns, axis=2)


def _met(
    question: SpotQuestion,
    legs: Sequence[Legs],
    places_x_m: Sequence[np.ndarray],
    replicates: np.ndarray,
) -> list[np.ndarray]:
    """Landed, missed and not returned, (3, balls, places), of each legs on the same balls.

    The hitter sees a receiver at the first place of the first legs.
    """
    n, line_m = len(replicates), HALF_LENGTH_M + question.depth_m
    at = on_the_line(places_x_m[0], line_m)[0]
    struck = struck_at(question.game, question.place, at, replicates)
    landed, out = struck.landed, []
    for own, x_m in _pairs(legs, places_x_m):
        spare, grade = struck.appraised(on_the_line(x_m, line_m), own)
        found = np.zeros((3, n, len(x_m)))
        missed = grade == MISSED
        found[0, landed], found[1, landed] = 1.0, missed
        found[2, landed] = 1.0 - return_chance(spare, own.control_time_s) * ~missed
        out.append(found)
    return out
