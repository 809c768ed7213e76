"""The game at one contact place solved in both orders."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from experiments.answers.game.payoffs import GameQuestion, Payoffs, Worth, not_returned, payoffs_of
from experiments.answers.game.zero_sum import (
    Seen,
    Solution,
    bounds_of,
    solve_hidden,
    solve_seen,
    unequal,
)


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
