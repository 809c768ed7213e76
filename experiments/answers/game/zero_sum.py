"""Zero-sum matrix games: both mixes, the value, and what it is worth to be hidden.

The row player pays the column player `payoff[i, j]`; here rows are places and columns shots.
Von Neumann 1928: with mixes, the least that the row player can be held to and the most that the
column player can be sure of are the same, the value. Both mixes come from one linear program.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.errors import InputError
from sim.over_arrays import product

USED = 1e-6  # a choice with a smaller share counts as not used
ROUNDING = 1e-12


@dataclass(frozen=True)
class Solution:
    """A solved game: the value paid by the row player, and the shares of rows and columns."""

    value: float
    rows: np.ndarray
    columns: np.ndarray


@dataclass(frozen=True)
class Seen:
    """The game with the row chosen first and seen: that row, the best reply, and what it pays."""

    row: int
    column: int
    value: float


def solve_hidden(payoff: np.ndarray) -> Solution:
    """Both choose at once: optimal mixes and the value of a game (rows, columns).

    Raises:
        InputError: a payoff that is empty, not of two dimensions or not finite.
    """
    game = checked(payoff)
    rows, columns = _mixes(game)
    low, high = float(product(game, columns).min()), float(product(rows, game).max())
    return Solution(0.5 * (low + high), rows, columns)


def _mixes(payoff: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Optimal shares of the rows and of the columns, by the simplex method (Dantzig 1951).

    With all payoffs above 0 the row player seeks the largest sum of x so that no column is paid
    more than 1, and the shares are as x; the last row of the tableau ends as the column player's.
    Of the rows that help the first is taken, and of the columns that bound it (Bland 1977, from
    memory): so it ends.
    """
    n, m = payoff.shape
    scale = float(np.ptp(payoff)) or 1.0
    tableau = np.zeros((m + 1, n + m + 1))
    tableau[:m, :n] = (payoff.T - payoff.min()) / scale + 1.0
    tableau[:m, n:-1] = np.eye(m)
    tableau[:m, -1] = 1.0
    tableau[m, :n] = -1.0
    basis = np.arange(n, n + m)
    while len(helping := np.flatnonzero(tableau[m, :-1] < -ROUNDING)):
        enters = helping[0]
        bounds = np.full(m, np.inf)
        above = tableau[:m, enters] > ROUNDING
        bounds[above] = tableau[:m, -1][above] / tableau[:m, enters][above]
        tied = np.flatnonzero(bounds <= bounds.min() + ROUNDING)
        leaves = tied[basis[tied].argmin()]
        tableau[leaves] /= tableau[leaves, enters]
        others = np.arange(m + 1) != leaves
        tableau[others] -= tableau[others, enters][:, None] * tableau[leaves]
        basis[leaves] = enters
    amounts = np.zeros(n + m)
    amounts[basis] = np.maximum(tableau[:m, -1], 0.0)
    rows, columns = amounts[:n], np.maximum(tableau[m, n:-1], 0.0)
    return rows / rows.sum(), columns / columns.sum()


def solve_seen(payoff: np.ndarray) -> Seen:
    """The row is seen before the column is chosen: the row whose best reply pays least.

    Raises:
        InputError: as `solve_hidden`.
    """
    game = checked(payoff)
    row = int(game.max(axis=1).argmin())
    column = int(game[row].argmax())
    return Seen(row, column, float(game[row, column]))


def unequal(payoff: np.ndarray, solution: Solution) -> float:
    """The largest breach of the equal-value condition, in units of the payoff.

    In equilibrium every choice that is used pays the value against the other's mix, and no other
    one does better; so this is 0 for an exact solution. It is both sides' largest gain by a change
    of choice, or difference among the choices that they use.
    """
    game = checked(payoff)
    paid, earned = product(game, solution.columns), product(solution.rows, game)
    used_rows, used_columns = solution.rows > USED, solution.columns > USED
    return float(
        max(
            np.abs(paid[used_rows] - solution.value).max(),
            np.abs(earned[used_columns] - solution.value).max(),
            (solution.value - paid).max(),
            (earned - solution.value).max(),
        )
    )


def bounds_of(payoff: np.ndarray, solution: Solution) -> tuple[float, float]:
    """What the two mixes are sure of in another game of the same size, (low, high).

    With payoffs estimated anew these hold the value of the true game between them, up to their own
    noise; the value of the game that the mixes were fitted to lies on the lucky side.
    """
    game = checked(payoff)
    paid, earned = product(game, solution.columns), product(solution.rows, game)
    return float(paid.min()), float(earned.max())


def checked(payoff: np.ndarray) -> np.ndarray:
    """The payoff as floats.

    Raises:
        InputError: a payoff that is empty, not of two dimensions or not finite.
    """
    game = np.asarray(payoff, float)
    if game.ndim != 2 or not game.size or not np.isfinite(game).all():
        raise InputError(
            f"a game has finite payoffs in rows and columns; this one has shape {game.shape}"
            f" and {np.count_nonzero(~np.isfinite(game))} payoffs that are not finite"
        )
    return game
