"""The search for sets that fit, on regions of known shape."""

from __future__ import annotations

import numpy as np
import pytest

from experiments.evidence.calibration.search import (
    FITS,
    Population,
    first_population,
    generations,
    next_population,
)

CENTRE = np.array([0.7, 0.3, 0.5, 0.5])
RADII = np.array([0.05, 0.1, 10.0, 10.0])  # the last two are left open


def box(points: np.ndarray) -> np.ndarray:
    """Distance to a box about CENTRE: 1 on its faces."""
    return np.asarray(np.abs((points - CENTRE) / RADII).max(axis=1))


def last(seed: int, size: int = 120, count: int = 150) -> Population:
    for found in generations(box, size, len(CENTRE), count, seed):
        pass
    return found


def test_the_region_that_fits_is_found_and_covered_evenly() -> None:
    found = last(1)
    assert found.fitting == len(found.points)
    inside = (found.points[:, :2] - CENTRE[:2]) / RADII[:2]  # -1 to 1, evenly: sd 0.577
    for column in inside.T:
        assert abs(column.mean()) < 4 * 0.577 / np.sqrt(len(column))
        assert 0.45 < column.std() < 0.7
    for column in found.points[:, 2:].T:  # all of the range, evenly: sd 0.289
        assert abs(column.mean() - 0.5) < 4 * 0.289 / np.sqrt(len(column))
        assert 0.22 < column.std() < 0.36


def test_no_member_of_a_population_moves_away_from_the_record() -> None:
    now = first_population(box, 60, len(CENTRE), 2)
    for number in range(1, 30):
        later = next_population(box, now, 2, number)
        assert (later.distances <= np.maximum(now.distances, FITS)).all()
        assert ((later.points >= 0) & (later.points <= 1)).all()
        assert (box(later.points) == later.distances).all()
        now = later


def test_the_same_seed_gives_the_same_sets_and_another_others() -> None:
    one, again, other = last(3, 40, 10), last(3, 40, 10), last(4, 40, 10)
    assert one.points.tobytes() == again.points.tobytes()
    assert one.points.tobytes() != other.points.tobytes()


def test_what_cannot_be_played_is_left_behind() -> None:
    def half(points: np.ndarray) -> np.ndarray:
        return np.where(points[:, 3] > 0.5, np.inf, box(points))

    for found in generations(half, 60, len(CENTRE), 80, 5):
        pass
    assert (found.points[:, 3] <= 0.5).all()


@pytest.mark.parametrize("count", [1, 3, 4])
def test_the_best_are_those_that_fit_as_they_come_else_the_nearest(count: int) -> None:
    distances = np.array([1.4, 0.9, 3.0, 0.2, 1.0])
    points = np.arange(5.0)[:, None] * np.ones((1, 2)) / 5
    best = Population(points, distances).best(count)
    wanted = {1: [1], 3: [1, 3, 4], 4: [3, 1, 4, 0]}[count]
    assert best.distances.tolist() == distances[wanted].tolist()
