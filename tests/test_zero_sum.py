"""Zero-sum games with known solutions."""

from __future__ import annotations

import numpy as np
import pytest

from experiments.answers.game.zero_sum import (
    Solution,
    bounds_of,
    solve_hidden,
    solve_seen,
    unequal,
)
from sim.errors import InputError

EXACT = 1e-9
PENNIES = np.array([[1.0, -1.0], [-1.0, 1.0]])
ROCK_PAPER_SCISSORS = np.array([[0.0, 1.0, -1.0], [-1.0, 0.0, 1.0], [1.0, -1.0, 0.0]])


def test_matching_pennies() -> None:
    """Von Neumann and Morgenstern 1944: each side by halves, value 0 (from memory)."""
    found = solve_hidden(PENNIES)
    assert found.value == pytest.approx(0.0, abs=EXACT)
    assert found.rows == pytest.approx([0.5, 0.5]) and found.columns == pytest.approx([0.5, 0.5])
    assert solve_seen(PENNIES).value == 1.0
    assert solve_seen(PENNIES).value - solve_hidden(PENNIES).value == pytest.approx(1.0)


def test_rock_paper_scissors() -> None:
    """A third each, value 0 (textbook; by symmetry)."""
    found = solve_hidden(ROCK_PAPER_SCISSORS)
    assert found.value == pytest.approx(0.0, abs=EXACT)
    assert found.rows == pytest.approx([1 / 3] * 3) and found.columns == pytest.approx([1 / 3] * 3)


@pytest.mark.parametrize("game", [[[2.0, -1.0], [-1.0, 1.0]], [[5.0, 1.0], [2.0, 4.0]]])
def test_two_by_two_without_saddle_point(game: list[list[float]]) -> None:
    """The formula of textbooks: value (ad - bc) / (a + d - b - c), first row (d - c) / (...)."""
    (a, b), (c, d) = game
    down = a + d - b - c
    found = solve_hidden(np.array(game))
    assert found.value == pytest.approx((a * d - b * c) / down)
    assert found.rows == pytest.approx([(d - c) / down, (a - b) / down])
    assert found.columns == pytest.approx([(d - b) / down, (a - c) / down])
    assert unequal(np.array(game), found) < EXACT


def test_serve_against_return() -> None:
    """Walker and Wooders 2001, American Economic Review 91, 1521 (from memory): their example.

    The server's chances to win by side served (rows) and side expected (columns): he serves left
    8 times in 15, is expected there 2 times in 3 and wins 65 of 100. The server earns, so the
    game is turned: the row player pays the negative.
    """
    wins = np.array([[0.58, 0.79], [0.73, 0.49]])
    found = solve_hidden(-wins)
    assert -found.value == pytest.approx(0.65)
    assert found.rows == pytest.approx([8 / 15, 7 / 15])
    assert found.columns == pytest.approx([2 / 3, 1 / 3])


def test_saddle_point() -> None:
    """With a saddle point nobody mixes, and being seen costs nothing (textbook definition)."""
    saddle = np.array([[4.0, 3.0, 8.0], [3.0, 2.0, 1.0], [9.0, 5.0, 7.0]])
    found = solve_hidden(saddle)
    assert (found.value, found.rows.argmax(), found.columns.argmax()) == (3.0, 1, 0)
    seen = solve_seen(saddle)
    assert (seen.value, seen.row, seen.column) == (3.0, 1, 0)
    assert solve_seen(saddle).value - solve_hidden(saddle).value == pytest.approx(0.0, abs=EXACT)


def test_dominated_choices_are_not_used() -> None:
    game = np.array([[1.0, -1.0, -2.0], [-1.0, 1.0, -2.0], [1.5, 1.5, -1.5]])
    found = solve_hidden(game)
    assert found.rows == pytest.approx([0.5, 0.5, 0.0], abs=EXACT)
    assert found.columns[2] == pytest.approx(0.0, abs=EXACT)


def test_equal_value_condition_on_random_games() -> None:
    rng = np.random.default_rng(4)
    for shape in ((5, 9), (30, 60)):
        game = rng.normal(size=shape)
        found = solve_hidden(game)
        assert unequal(game, found) < 1e-7
        assert solve_seen(game).value >= found.value
        low, high = bounds_of(game, found)
        assert low == pytest.approx(high, abs=1e-9)


def test_equal_value_condition_tells_a_wrong_mix() -> None:
    wrong = Solution(0.0, np.array([0.7, 0.3]), np.array([0.5, 0.5]))
    assert unequal(PENNIES, wrong) == pytest.approx(0.4)


def test_bounds_in_another_game_enclose_its_value() -> None:
    rng = np.random.default_rng(5)
    truth = rng.normal(size=(12, 20))
    fitted = solve_hidden(truth + 0.1 * rng.normal(size=truth.shape))
    low, high = bounds_of(truth, fitted)
    assert low <= solve_hidden(truth).value <= high


@pytest.mark.parametrize("game", [np.zeros((0, 3)), np.zeros(3), np.array([[1.0, np.nan]])])
def test_games_that_are_none(game: np.ndarray) -> None:
    with pytest.raises(InputError, match="finite payoffs in rows and columns"):
        solve_hidden(game)
