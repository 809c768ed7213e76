"""Lines and planes through points, and where players wait, by hand and against NumPy's own."""

from __future__ import annotations

import numpy as np
import pytest
from points_by_hand import point_of

from experiments.evidence.validation.regression import coefficient, spread
from experiments.evidence.validation.waiting import REGRESSORS, WaitingPlaces
from sim.kinds import DRIVE
from sim.records import UNFORCED_ERROR

RNG = np.random.default_rng(5)
N = 60
COLUMNS = (np.ones(N), RNG.normal(2.0, 1.0, N), RNG.normal(0.0, 3.0, N))
VALUES = 0.3 - 0.2 * COLUMNS[1] + 0.5 * COLUMNS[2] + RNG.normal(0.0, 0.4, N)
RALLIES = np.repeat(np.arange(N // 3), 3)


@pytest.mark.parametrize("which", range(3))
@pytest.mark.parametrize("rallies", [np.arange(N), RALLIES])
def test_coefficients_and_their_errors_are_those_of_matrices(
    which: int, rallies: np.ndarray
) -> None:
    matrix = np.column_stack(COLUMNS)
    solved = np.linalg.lstsq(matrix, VALUES)[0]
    bread = np.linalg.inv(matrix.T @ matrix)
    scores = matrix * (VALUES - matrix @ solved)[:, None]
    summed = np.array([scores[rallies == r].sum(axis=0) for r in np.unique(rallies)])
    units = len(summed)
    variance = units / (units - 3) * bread @ (summed.T @ summed) @ bread
    found = coefficient(which, COLUMNS, VALUES, rallies)
    assert found.value == pytest.approx(solved[which])
    assert found.se == pytest.approx(np.sqrt(variance[which, which]))


def test_the_spread_is_that_of_the_residuals() -> None:
    off = VALUES - np.column_stack(COLUMNS) @ np.linalg.lstsq(np.column_stack(COLUMNS), VALUES)[0]
    assert spread(COLUMNS, VALUES).value == pytest.approx(np.sqrt((off**2).sum() / (N - 3)))


def test_no_coefficient_where_the_others_leave_nothing() -> None:
    ones = np.ones(5)
    assert np.isnan(coefficient(1, (ones, 3.0 * ones), np.arange(5.0), np.arange(5)).value)
    assert np.isnan(coefficient(0, (ones[:1],), ones[:1], np.arange(1)).value)
    assert np.isnan(spread((ones[:1],), ones[:1]).value)


def waiting(replicate: int, own_m: float, opponent_m: float, place_m: float) -> np.ndarray:
    """A point of three strokes: the player on the near side strikes the second ball at `own_m`,
    waits at `place_m` 2 m farther back while the other strikes the third one at `opponent_m`."""
    return point_of(
        replicate,
        *(DRIVE,) * 3,
        ending=UNFORCED_ERROR,
        body_x_m=(own_m, opponent_m, 0),
        body_y_m=(-12, 12, 0),
        receiver_x_m=(0, 0, place_m),
        receiver_y_m=(-12, 12, -14),
        strike_time_s=(0, 1, 2.5),
    )


def test_waiting_places_by_hand() -> None:
    places = [(3.0, 1.0), (-2.0, 0.5), (1.0, -2.0), (0.0, 3.0), (2.5, -1.0)]
    made = [
        waiting(i, own, far, 0.3 - 0.2 * far + 0.5 * own) for i, (own, far) in enumerate(places)
    ]
    found = WaitingPlaces(np.concatenate(made))
    assert [found.coefficient(name).value for name in REGRESSORS] == pytest.approx([0.3, -0.2, 0.5])
    assert found.between_strikes_s(0.5).value == 1.5
    ways = [np.hypot(0.3 - 0.2 * far - 0.5 * own, 2.0) for own, far in places]
    assert found.straight_way_m(0.01).value == pytest.approx(min(ways))
    assert found.mean_speed_m_s(0.01).value == pytest.approx(found.straight_way_m(0.01).value / 1.5)


def test_the_opponent_of_the_studied_player_is_turned() -> None:
    """Its forehand is on the other side of the court, and so is its own frame's positive side."""
    mine = waiting(1, 1.0, 2.0, 0.5)
    other = mine.copy()
    other["side"] = 1 - other["side"]
    assert WaitingPlaces(mine).place_m.tolist() == [0.5]
    assert WaitingPlaces(other).place_m.tolist() == [-0.5]
    assert WaitingPlaces(other).own_m.tolist() == [-1.0]


@pytest.mark.parametrize("field", ["receiver_y_m", "body_y_m"])
def test_both_are_back(field: str) -> None:
    near = waiting(1, 1.0, 2.0, 0.5)
    near[field][[2] if field == "receiver_y_m" else [1]] = 10.4
    assert len(WaitingPlaces(near).place_m) == 0
