"""The balls of a trial in their order, drawn by lot, and the file to type the results into."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from experiments.answers.handout.answer import FEEDS_A_SET
from experiments.answers.trial.answer import Trial
from experiments.statistics.matched_pairs import allotted
from sim.chance import uniforms
from sim.errors import InputError

LOT = 107  # purpose of chance, beside those of sim.chance and of the other answers
CONE, MIDDLE = "cone", "middle"
COLUMNS = (
    *("session", "set", "ball", "pair", "place", "feed_x_m", "feed_y_m", "to", "stand"),
    *("stand_x_m", "reached", "returned_in", "counts", "false_alarm", "foretold_per_100"),
    *("planned_pairs", "seed"),
)


@dataclass(frozen=True)
class Ball:
    """One ball of the sheet: numbers of session, set, ball and pair from 1; where it is fed from
    and to, and where the player stands."""

    session: int
    set: int
    ball: int
    pair: int
    place: int
    feed_m: tuple[float, float]
    to: str
    stand: str
    stand_x_m: float


def cone_comes_first(seed: int, pairs: np.ndarray) -> np.ndarray:
    """Whether the lot of a seed has the cone before the middle in these pairs, (n,)."""
    return _lots(seed, pairs)[:, 0] < 0.5


def _lots(seed: int, pairs: np.ndarray) -> np.ndarray:
    return uniforms(seed, np.asarray(pairs), LOT, 0, 2)


def balls_of(trial: Trial) -> list[Ball]:
    """The balls of a trial in the order of the lot.

    Raises:
        InputError: at no chosen place is the cone anywhere else than the middle.
    """
    if not trial.feeds:
        raise InputError(
            "there is no sheet: the cone stands at the middle for every place that is fed from;"
            " choose other places or another policy"
        )
    return list(_balls(trial))


def _balls(trial: Trial) -> Iterator[Ball]:
    scene, practice = trial.question.scene, trial.question.practice
    kinds = [(feed, side) for feed in trial.feeds for side in feed.sides]
    counts = allotted([side.stratum() for _, side in kinds], trial.pairs)
    numbers = np.arange(1, trial.pairs + 1)
    order = np.argsort(_lots(scene.seed, numbers)[:, 1], kind="stable")
    of_pair = np.empty(trial.pairs, int)
    of_pair[order] = np.repeat(np.arange(len(kinds)), counts)
    first = cone_comes_first(scene.seed, numbers)
    for number, kind, is_first in zip(numbers.tolist(), of_pair, first, strict=True):
        feed, side = kinds[kind]
        stands = ((CONE, feed.cone_x_m), (MIDDLE, 0.0))
        for half, (stand, x_m) in enumerate(stands if is_first else reversed(stands)):
            ball = 2 * number - 1 + half
            yield Ball(
                (ball - 1) // practice.dose.balls + 1,
                (ball - 1) // FEEDS_A_SET + 1,
                *(ball, number, feed.number, (feed.place.x_m, feed.place.y_m), side.to),
                *(stand, x_m),
            )


def sheet_text(trial: Trial) -> str:
    """The sheet as a CSV whose columns `reached` and `returned_in` are still empty."""
    asked, balls = trial.question, balls_of(trial)
    about = (asked.counts, f"{asked.false_alarm:g}", _short(trial.fewer.value))
    stream = io.StringIO()
    write = csv.writer(stream, lineterminator="\n").writerow
    write(COLUMNS)
    for b in balls:
        where = (b.place, *map(_short, b.feed_m), b.to, b.stand, _short(b.stand_x_m))
        write(
            (
                b.session,
                b.set,
                b.ball,
                b.pair,
                *where,
                "",
                "",
                *about,
                trial.pairs,
                asked.scene.seed,
            )
        )
    return stream.getvalue()


def _short(number: float) -> str:
    return f"{round(number, 3) + 0.0:g}"
