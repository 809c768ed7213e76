"""The places that are tried, the best of them, its plateau, and what another one loses."""

from __future__ import annotations

import numpy as np
import pytest

from experiments.balls.best import PLATEAU, best_of, joined, tolerance, top_of
from experiments.balls.loss import Judged
from experiments.balls.places import (
    AROUND,
    COARSE_STEP_X_M,
    FARTHEST_X_M,
    FINEST_X_M,
    around_x_m,
    line_x_m,
    refined,
)
from experiments.balls.struck import table_of
from experiments.statistics.estimates import Estimate, paired
from experiments.statistics.tally import Tally
from experiments.statistics.words import said

# --- places -----------------------------------------------------------------------------------


@pytest.mark.parametrize("coarse", [True, False])
def test_the_line_is_even_about_the_middle(coarse: bool) -> None:
    x = line_x_m(coarse)
    assert (x == -x[::-1]).all() and 0.0 in x and x[-1] == pytest.approx(FARTHEST_X_M)
    assert np.diff(x) == pytest.approx(x[-1] - x[-2])


@pytest.mark.parametrize("edge_m", [-0.871, 1.3, -4.9, 0.0])
def test_a_knife_edge_is_found_to_the_finest_step(edge_m: float) -> None:
    """A curve that rises to an edge and drops by three balls in 100 beyond it."""
    asked: list[float] = []

    def kept_at(x_m: np.ndarray) -> np.ndarray:
        asked.extend(x_m)
        return 0.9 - 0.02 * np.abs(x_m - edge_m) - 0.03 * (x_m > edge_m)

    x, kept = refined(kept_at)
    assert (np.diff(x) > 0).all() and sorted(asked) == x.tolist()  # nothing is struck twice
    assert kept == pytest.approx(0.9 - 0.02 * np.abs(x - edge_m) - 0.03 * (x > edge_m))
    assert edge_m - FINEST_X_M < x[kept.argmax()] <= edge_m
    assert len(x) - len(line_x_m(coarse=True)) <= 14


def test_the_neighbours_of_the_edge_of_the_line_stay_on_it() -> None:
    x = around_x_m(FARTHEST_X_M)
    assert x.max() == FARTHEST_X_M and len(x) == len(AROUND)
    assert np.diff(around_x_m(0.0)).max() < COARSE_STEP_X_M


# --- the best place ---------------------------------------------------------------------------


def test_the_plateau_ends_where_half_a_ball_is_lost() -> None:
    """By hand: 0.995 lies 1/46 of a metre beyond -1, and at 1 itself."""
    x = np.arange(-3.0, 3.5)
    best = best_of(x, np.array([0.90, 0.95, 0.996, 1.0, 0.995, 0.99, 0.8]))
    assert (best.low_m, best.high_m) == pytest.approx((-1.0 - 1 / 46, 1.0))
    assert best.x_m == pytest.approx(-1 / 92)
    assert (best.top_x_m, best.share) == (0.0, 1.0)


def test_another_hill_is_no_part_of_the_plateau() -> None:
    x = np.arange(-3.0, 3.5)
    best = best_of(x, np.array([0.8, 0.899, 0.8, 0.8, 0.9, 0.8, 0.8]))
    assert best.top_x_m == 1.0 and 0.9 < best.low_m < best.high_m < 1.1


def test_where_all_places_are_alike_the_middle_is_named() -> None:
    x = line_x_m(coarse=False)
    best = best_of(x, np.ones(len(x)))
    assert (best.x_m, best.top_x_m) == (0.0, 0.0) and best.high_m == pytest.approx(FARTHEST_X_M)
    assert top_of(np.array([-3.0, 1.0, 2.0]), np.array([1.0, 1.0, 0.5])) in (0, 1)


def test_tolerance_by_hand() -> None:
    """Half a ball a metre off to both sides; a whole one 1.2 m to the left and 2 to the right."""
    x = np.arange(-3.0, 4.0)
    kept = 1.0 - np.array([0.20, 0.03, 0.005, 0.0, 0.005, 0.01, 0.02])
    best = best_of(x, kept)
    assert (best.low_m, best.high_m) == pytest.approx((-1.0, 1.0))
    assert tolerance(x, kept, 0.01) == pytest.approx((1.0 + 0.005 / 0.025, 2.0))
    best = best_of(x, 1.0 - np.array([0.02, 0.0, 0.0, 0.0, 0.0, 0.0, 0.02]))
    assert (best.low_m, best.high_m) == pytest.approx((-2.25, 2.25))
    assert tolerance(x, np.ones(7), 0.01) == (np.inf, np.inf)


def test_a_curve_of_few_balls_is_moved_onto_the_best_of_many() -> None:
    """Few balls say 0.80 at 0, many 0.85; luck at 2 must not beat what many balls say."""
    x, kept = np.array([-2.0, -1.0, 0.0, 1.0, 2.0]), np.array([0.7, 0.798, 0.8, 0.75, 0.81])
    best = joined(x, kept, np.array([0.0, 0.0, 0.25]), np.array([0.85, 0.85, 0.84]))
    assert (best.top_x_m, best.share) == (0.0, 0.85)
    assert best.high_m == pytest.approx(0.25 * PLATEAU / 0.01)
    assert best.low_m == pytest.approx(-1.0 - (PLATEAU - 0.002) / 0.098)


# --- what a place loses -----------------------------------------------------------------------


def judged(lost: np.ndarray, line: list[bool] | None = None) -> Judged:
    places = np.stack([np.arange(lost.shape[1], dtype=float), np.full(lost.shape[1], -13.0)], 1)
    on_line = np.ones(len(places), bool) if line is None else np.array(line)
    return Judged(places, np.ones_like(lost), lost, on_line)


def test_the_loss_is_that_to_the_place_that_loses_least() -> None:
    rng = np.random.default_rng(1)
    lost = (rng.random((4000, 3)) < [0.10, 0.02, 0.05]).astype(float)
    found = judged(lost)
    assert found.best == 1
    e = found.loss(0)
    assert e.value == pytest.approx(100 * (lost[:, 0].mean() - lost[:, 1].mean()))
    assert e.low < 8.0 < e.high and e.n == 4000
    # As clear a choice as this costs nothing: the interval is the plain paired one.
    plain = 100 * 1.96 * (lost[:, 0] - lost[:, 1]).std(ddof=1) / np.sqrt(4000)
    assert (e.value - e.low, e.high - e.value) == pytest.approx((plain, plain), rel=0.05)


def test_an_open_choice_widens_the_interval() -> None:
    rng = np.random.default_rng(2)
    lost = (rng.random((400, 30)) < 0.05).astype(float)
    e = judged(lost).loss(7)
    plain = 100 * 1.96 * (lost[:, 7] - lost[:, judged(lost).best]).std(ddof=1) / np.sqrt(400)
    assert e.low == 0.0 and e.high >= e.value + plain


def test_exactly_nothing_is_lost_only_to_the_same_place() -> None:
    same = np.zeros((500, 1))
    alone = judged(same).loss(0)
    assert (alone.value, alone.low, alone.high) == (0.0, 0.0, 0.0)
    assert said(alone) == "0.0 (0.0 to 0.0)"
    two = judged(np.zeros((500, 2))).loss(0)
    assert (two.value, two.low) == (0.0, 0.0) and two.high > 0.5
    many = judged(np.zeros((100_000, 2))).loss(0)
    assert 0.0 < many.high < 0.05 and said(many) == "0.0 (0.0 to 0.1)"


def test_a_place_off_the_line_may_be_better_than_the_best_of_the_line() -> None:
    rng = np.random.default_rng(3)
    lost = (rng.random((2000, 2)) < [0.01, 0.05]).astype(float)
    e = judged(lost, line=[False, True]).loss(0)
    assert e.high < 0.0


def test_batches_give_the_interval_of_their_balls() -> None:
    rng = np.random.default_rng(4)
    lost = (rng.random((4000, 2)) < [0.10, 0.07]).astype(float)
    balls = judged(lost)
    sums = lost.reshape(200, 20, 2).sum(axis=1)
    batches = Judged(balls.places, np.full((200, 2), 20.0), sums, balls.line)
    one, other = balls.loss(0), batches.loss(0)
    assert other.value == pytest.approx(one.value) and other.n == one.n
    assert other.high - other.low == pytest.approx(one.high - one.low, rel=0.15)


def test_tables_of_two_places_or_players_that_lose_the_same_balls_are_two() -> None:
    landed, lost = np.ones(50), np.zeros(50)
    here, there = np.array([0.0, -13.0]), np.array([0.5, -13.0])
    first = table_of(landed, lost, here)
    for other, same in (
        (table_of(landed, lost, here + 1e-9), True),
        (table_of(landed, lost, there), False),
        (table_of(landed, lost, here - [0.0, 1.0]), False),
        (table_of(landed, lost, here, of=7.5), False),
    ):
        e = paired(Tally.of(first, other), "missed", "balls")
        assert (e.low == e.high == 0.0) == same


@pytest.mark.parametrize(
    ("value", "low", "high", "words"),
    [
        (1.44, 1.23, 1.61, "1.4 (1.2 to 1.6)"),
        (0.0, 0.0, 0.0, "0.0 (0.0 to 0.0)"),
        (0.01, 0.004, 0.03, "0.0 (0.0 to 0.1)"),
        (-0.01, -0.03, 0.0, "0.0 (\u22120.1 to 0.0)"),
        (-0.3, -0.52, -0.01, "\u22120.3 (\u22120.5 to 0.0)"),
    ],
)
def test_what_is_not_nothing_is_not_said_to_be(
    value: float, low: float, high: float, words: str
) -> None:
    assert said(Estimate(value, low, high, 0.1, 100)) == words
