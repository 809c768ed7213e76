"""The search for sets that fit, on regions of known shape."""

from __future__ import annotations

import numpy as np
import pytest

from experiments.evidence.calibration.search import (
    FITS,
    Judged,
    Population,
    between,
    moved,
    search,
    smoothed,
)

CENTRE = np.array([0.7, 0.3, 0.5, 0.5])
RADII = np.array([0.05, 0.1, 10.0, 10.0])  # the last two are left open
OPEN = 2


def box(points: np.ndarray) -> Judged:
    """Distance to a box about CENTRE: 1 on its faces; the gaps are a figure a coordinate."""
    gaps = (points - CENTRE) / RADII
    return Judged(gaps, np.asarray(np.abs(gaps).max(axis=1)))


def last(seed: int, size: int = 120, moves: int = 120) -> Population:
    return list(search(box, size, len(CENTRE), 4, moves, seed))[-1]


def test_the_region_that_fits_is_found_and_covered_evenly() -> None:
    found = last(1)
    assert found.fitting == len(found.points)
    inside = (found.points[:, :OPEN] - CENTRE[:OPEN]) / RADII[:OPEN]  # -1 to 1, evenly: sd 0.577
    for column in inside.T:
        assert abs(column.mean()) < 4 * 0.577 / np.sqrt(len(column))
        assert 0.45 < column.std() < 0.7
    for column in found.points[:, OPEN:].T:  # all of the range, evenly: sd 0.289
        assert abs(column.mean() - 0.5) < 4 * 0.289 / np.sqrt(len(column))
        assert 0.22 < column.std() < 0.36


def test_a_few_smoothings_bring_the_sets_near() -> None:
    populations = list(search(box, 120, len(CENTRE), 4, 0, 2))
    medians = [float(np.median(found.distances)) for found in populations]
    assert medians[0] > 5 and medians[-1] < 2
    assert medians == sorted(medians, reverse=True)


def test_no_set_moves_away_from_the_record() -> None:
    now, *later = list(search(box, 60, len(CENTRE), 1, 30, 3))[1:]
    for following in later:
        assert (following.distances <= np.maximum(now.distances, FITS)).all()
        assert (box(following.points).distances == following.distances).all()
        now = following


@pytest.mark.parametrize("step", ["smoothed", "moved"])
def test_points_stay_in_the_cube(step: str) -> None:
    rng = np.random.default_rng(4)
    points = rng.random((50, 4)) ** 8  # near a corner
    gaps = rng.normal(0, 30, (50, 4))
    found = Population(points, Judged(gaps, np.ones(50)))
    after = smoothed(found, 3, rng) if step == "smoothed" else moved(points, gaps[:, 0] > 0, rng)
    assert ((after >= 0) & (after <= 1)).all() and (after != points).any()


def test_who_is_far_off_begins_anew_beside_who_is_near() -> None:
    rng = np.random.default_rng(6)
    points = np.full((200, 4), 0.2) + rng.normal(0.0, 0.001, (200, 4))
    near = np.arange(200) < 20
    points[near] += 0.6
    after = moved(points, near, rng)
    assert (np.abs(after[:20] - points[:20]).max(axis=1) > 0).all()
    assert np.median(after[~near]) > 0.75  # beside those at 0.8, though some differences are large


def test_what_lies_between_sets_that_fit_fits_and_is_covered() -> None:
    found, known = last(1).points, CENTRE + np.array([0.04, -0.08, 0.45, -0.45])
    spread = between(found, known, 7)
    assert (box(spread).distances <= FITS).all()
    share = (spread - known)[:, 2] / (found - known)[:, 2]
    assert np.allclose(known + share[:, None] * (found - known), spread)
    assert abs(share.mean() - 0.5) < 4 * 0.289 / np.sqrt(len(share)) and share.min() < 0.1


def test_the_same_seed_gives_the_same_sets_and_another_others() -> None:
    one, again, other = last(3, 40, 10), last(3, 40, 10), last(4, 40, 10)
    assert one.points.tobytes() == again.points.tobytes()
    assert one.points.tobytes() != other.points.tobytes()


def test_what_cannot_be_played_is_left_behind() -> None:
    def half(points: np.ndarray) -> Judged:
        bad, found = points[:, 3] > 0.5, box(points)
        gaps = np.where(bad[:, None], np.nan, found.gaps)
        return Judged(gaps, np.where(bad, np.inf, found.distances))

    found = list(search(half, 60, len(CENTRE), 3, 40, 5))[-1]
    assert (found.points[:, 3] <= 0.5).all() and found.fitting == 60


@pytest.mark.parametrize("count", [1, 3, 4])
def test_the_best_are_those_that_fit_as_they_come_else_the_nearest(count: int) -> None:
    distances = np.array([1.4, 0.9, 3.0, 0.2, 1.0])
    points = np.arange(5.0)[:, None] * np.ones((1, 2)) / 5
    best = Population(points, Judged(points, distances)).best(count)
    wanted = {1: [1], 3: [1, 3, 4], 4: [3, 1, 4, 0]}[count]
    assert best.distances.tolist() == distances[wanted].tolist()
    assert best.points.tolist() == points[wanted].tolist()
