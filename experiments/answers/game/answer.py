"""The game at one contact place solved in both orders, in words and as numbers."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from experiments.answers.game.payoffs import GameQuestion, Payoffs, Worth, not_returned, payoffs_of
from experiments.answers.game.zero_sum import (
    Seen,
    Solution,
    bounds_of,
    solve_hidden,
    solve_seen,
    unequal,
)
from experiments.answers.spot.words import side
from experiments.scene.people import opponent_json, opponent_words

LEAST_SHOWN = 0.02


@dataclass(frozen=True)
class GameAnswer:
    """Both orders of one game. Values are what the hitter earns a ball, from -1 to 1.

    fresh_low, fresh_high: what the two mixes are sure of when all is struck anew; the place hidden
    is worth something between them. fresh_seen: the best reply to the place of `seen`, anew.
    coarse_value: the hidden value on a grid half as fine. breach: of the equal-value condition.
    """

    question: GameQuestion
    payoffs: Payoffs
    hidden: Solution
    seen: Seen
    fresh_low: float
    fresh_high: float
    fresh_seen: float
    coarse_value: float
    breach: float

    @property
    def disguise(self) -> float:
        """What the receiver gains a ball by hiding the place until the stroke."""
        return max(self.seen.value - self.hidden.value, 0.0)

    @property
    def safest_x_m(self) -> float:
        """The place to stand when it is seen."""
        return float(self.question.grid.place_x_m[self.seen.row])


def solve_game(question: GameQuestion, worth: Worth = not_returned) -> GameAnswer:
    """Solve the game at a contact place, and check it on fresh strokes and on a coarser grid."""
    payoffs = payoffs_of(question, worth)
    hidden, seen = solve_hidden(payoffs.payoff), solve_seen(payoffs.payoff)
    fresh = payoffs_of(question, worth, fresh=1).payoff
    low, high = bounds_of(fresh, hidden)
    coarse = dataclasses.replace(question, grid=question.grid.halved())
    return GameAnswer(
        question=question,
        payoffs=payoffs,
        hidden=hidden,
        seen=seen,
        fresh_low=low,
        fresh_high=high,
        fresh_seen=float(fresh[seen.row].max()),
        coarse_value=solve_hidden(payoffs_of(coarse, worth).payoff).value,
        breach=unequal(payoffs.payoff, hidden),
    )


def used(shares: np.ndarray) -> list[int]:
    """The choices with a share worth showing, the largest first."""
    order = np.argsort(-shares, kind="stable")
    return [int(k) for k in order if shares[k] >= LEAST_SHOWN]


def game_text(answer: GameAnswer, what: str) -> str:
    """The answer in words; `what` says what a ball is worth."""
    return "\n".join(_lines(answer, what))


def _lines(a: GameAnswer, what: str) -> Iterator[str]:
    q = a.question
    against = opponent_words(q.opponent, "best replies", q.world.ball)
    yield (
        f"{against}:\nstrikes at x {q.place.x_m:g} m,"
        f" y {q.place.y_m:g} m; {q.player.name} waits {q.depth_m:g} m behind the baseline"
        f" ({q.world.surface.name}; model result)."
    )
    yield f"Worth of 100 balls to the hitter: {what}, less those out or in the net."
    yield ""
    reply = _shot(a, a.seen.column)
    yield (
        f"Place seen before the stroke: stand {side(a.safest_x_m)}; the best reply, {reply}, is"
        f" worth {100 * a.seen.value:.1f} (struck anew, the best reply {100 * a.fresh_seen:.1f})."
    )
    yield (
        f"Place hidden until the stroke: {100 * a.hidden.value:.1f} (struck anew, between"
        f" {100 * a.fresh_low:.1f} and {100 * a.fresh_high:.1f}). Disguise is worth"
        f" {100 * a.disguise:.1f}."
    )
    for j in used(a.hidden.rows):
        yield f"  stand {side(float(q.grid.place_x_m[j]))}: {100 * a.hidden.rows[j]:.0f} in 100"
    for k in used(a.hidden.columns):
        lands = 100 * a.payoffs.lands[k]
        yield f"  hit {_shot(a, k)}: {100 * a.hidden.columns[k]:.0f} in 100, {lands:.0f} land in"
    yield ""
    yield (
        f"{q.grid.places} places and {len(q.grid.shots)} shots, {q.errors} strokes each; on a grid"
        f" half as fine the hidden value is {100 * a.coarse_value:.1f}. Equal values of the used"
        f" choices hold to {100 * a.breach:.1g}. Seed {q.seed}."
    )


def _shot(a: GameAnswer, k: int) -> str:
    x, y, share = a.question.grid.shots[k]
    return f"aimed {side(-x)}, {y:.1f} m deep, {100 * share:.0f} % speed"


def game_json(a: GameAnswer) -> dict[str, Any]:
    """All numbers of an answer; shots by their target in your frame."""
    grid = a.question.grid
    names = ("fresh_low", "fresh_high", "fresh_seen", "coarse_value", "breach", "disguise")
    return {
        "player": a.question.player.name,
        **opponent_json(a.question.opponent, a.question.world.ball),
        "hidden_value": _short(a.hidden.value),
        "seen_value": _short(a.seen.value),
        "seen_place_x_m": _short(a.safest_x_m),
        **{name: _short(getattr(a, name)) for name in names},
        "places": [
            {"x_m": _short(grid.place_x_m[j]), "share": _short(a.hidden.rows[j])}
            for j in used(a.hidden.rows)
        ],
        "shots": [
            {
                "target_m": [_short(-grid.shots[k, 0]), _short(-grid.shots[k, 1])],
                "speed_share": _short(grid.shots[k, 2]),
                "share": _short(a.hidden.columns[k]),
                "lands": _short(a.payoffs.lands[k]),
            }
            for k in used(a.hidden.columns)
        ],
        "places_count": grid.places,
        "shots_count": len(grid.shots),
        "strokes_a_target": a.question.errors,
        "seed": a.question.seed,
    }


def _short(value: float) -> float:
    return round(float(value), 6) + 0.0
