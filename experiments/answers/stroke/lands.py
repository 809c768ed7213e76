"""One own drive at several depths: what the shorter ball gives the opponent, and what it costs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.answers.stroke.answer import AfterStroke, after, recovery_to
from experiments.answers.stroke.strokes import DRIVES, OwnStroke, StrokeQuestion, own_stroke
from experiments.balls.angle import Angle, opening_deg
from experiments.balls.struck import chunks
from experiments.scene.scene import require_count
from experiments.statistics.estimates import Estimate, paired, share
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.settings import repeated
from sim.array_engine import play_from
from sim.errors import InputError, unknown_name
from sim.exchange import body_beside, situation, with_policy
from sim.records import STUDIED
from strategies.recovery.bisector import Bisector

NEAREST_M, DEEPEST_M = 4.5, 11.5
FEWEST_DEPTHS, MOST_DEPTHS = 2, 8
FEWEST_RALLIES, MOST_RALLIES = 100, 100_000


@dataclass(frozen=True)
class LandsQuestion:
    """Which drive of a question, and how far from the net it lands, in m, by falling depth.

    Raises:
        InputError: an unknown drive, a depth that is not allowed or stands twice, too many or few.
    """

    asked: StrokeQuestion
    lands_m: tuple[float, ...]
    drive: str = DRIVES[0]
    rallies: int = 4000

    def __post_init__(self) -> None:
        if self.drive not in DRIVES:
            raise unknown_name("drive", self.drive, DRIVES)
        if not FEWEST_DEPTHS <= len(self.lands_m) <= MOST_DEPTHS:
            raise InputError(
                f"{len(self.lands_m)} landing depths were given; allowed:"
                f" {FEWEST_DEPTHS} to {MOST_DEPTHS}, such as 10.5,9,7.5,6"
            )
        for depth in self.lands_m:
            if not (math.isfinite(depth) and NEAREST_M <= depth <= DEEPEST_M):
                raise InputError(
                    f"a landing depth is {depth:g} m from the net; allowed:"
                    f" {NEAREST_M:g} to {DEEPEST_M:g}"
                )
            if self.lands_m.count(depth) > 1:
                raise InputError(f"the landing depth {depth:g} m stands twice; give each once")
        require_count("rallies", self.rallies, FEWEST_RALLIES, MOST_RALLIES)
        object.__setattr__(self, "lands_m", tuple(sorted(self.lands_m, reverse=True)))


@dataclass(frozen=True, eq=False)
class LandsAt:
    """What follows a ball of one depth.

    angle, angle_deg: the opponent's, from where the ball is met; None of a winner. table: replicate
    rows of whole rallies in the columns of a tally, from the opponent's strike on, the bisector
    throughout; empty of a winner.
    """

    lands_m: float
    after: AfterStroke
    angle: Angle | None
    angle_deg: float
    table: np.ndarray

    @property
    def points(self) -> Estimate:
        """Points won of 100."""
        return share(Tally.of(self.table, self.table), "points", "one").scaled(100.0)

    def fewer_points(self, deeper: LandsAt) -> Estimate:
        """Points in 100 that this depth costs against a deeper one, on the same chance."""
        return paired(Tally.of(deeper.table, self.table), "points", "one").scaled(100.0)


def lands_at(question: LandsQuestion, done: Callable[[], object] = lambda: None) -> list[LandsAt]:
    """All depths, the deepest first; `done` is called after each.

    Raises:
        InputError: a depth that cannot be played from there, or no ball of the opponent lands in.
    """
    asked = question.asked
    strokes = [own_stroke(asked, question.drive, depth) for depth in question.lands_m]
    out = []
    for depth, stroke in zip(question.lands_m, strokes, strict=True):
        out.append(_lands(question, stroke, depth))
        done()
    return out


def met(found: Sequence[LandsAt]) -> list[LandsAt]:
    """Those that the opponent reaches, the deepest first."""
    return [one for one in found if one.angle is not None]


def _lands(question: LandsQuestion, stroke: OwnStroke, depth: float) -> LandsAt:
    asked = question.asked
    follows = after(asked, stroke)
    if stroke.meets is None:
        return LandsAt(depth, follows, None, math.nan, np.zeros((0, 0)))
    body, time_s = body_beside(stroke.contact, asked.scene.player), np.array([stroke.time_s])
    seen = situation(asked.game, STUDIED, body, stroke.meets, time_s, stroke.ball)
    table = rallies_after(question, stroke)
    return LandsAt(depth, follows, Angle.of(seen), float(opening_deg(seen)[0]), table)


def rallies_after(question: LandsQuestion, stroke: OwnStroke) -> np.ndarray:
    """Whole rallies from the opponent's strike on, as replicate rows; the bisector throughout."""
    asked, policy = question.asked, Bisector()
    assert stroke.meets is not None and stroke.opponent is not None
    game, start = with_policy(asked.game, policy), recovery_to(asked, stroke, policy)
    parts = []
    for replicates in chunks(0, question.rallies):
        count = len(replicates)
        contacts, bodies = (np.repeat(r, count) for r in (stroke.meets, stroke.opponent))
        played = play_from(game, replicates, contacts, bodies, repeated(start, count))
        parts.append(replicate_table(played, replicates, points=True))
    return np.concatenate(parts)
