"""physics.md section 5, row 12, verification: flight and bounce against SciPy's DOP853.

The reference (tests/reference_flight.py) is written from the formulas alone and integrated with a
relative tolerance of 1e-10. Stated: position within 1 mm and time within 0.1 ms at the bounce.
"""

from __future__ import annotations

import numpy as np
import pytest
from reference_flight import Shot, bounce_by_reference, fly_by_reference, random_shots

from sim.bounce import bounce
from sim.flight import fly, trace
from sim.records import PATH_POINTS

SHOTS = random_shots(500, seed=2025)
PLACE_M = 1e-3
TIME_S = 1e-4
SPEED_M_S = 1e-3

Landing = tuple[float, np.ndarray, np.ndarray]


def by_reference(shot: Shot) -> Landing:
    parts = (shot.place_m, shot.velocity_m_s, shot.spin_rad_s)
    return fly_by_reference(shot, *(np.array(part) for part in parts))


@pytest.fixture(scope="module")
def references() -> list[Landing]:
    return [by_reference(shot) for shot in SHOTS]


def test_first_bounce(references: list[Landing]) -> None:
    for shot, (t, place, velocity) in zip(SHOTS, references, strict=True):
        own = fly(*shot.numbers, shot.world.numbers[0])
        assert abs(own[0] - t) < TIME_S
        assert np.hypot(own[1] - place[0], own[2] - place[1]) < PLACE_M
        assert np.linalg.norm(own[3:6] - velocity) < SPEED_M_S


def test_bounce(references: list[Landing]) -> None:
    """The vector law against the planar law along the direction of slip."""
    for shot, (_, _, velocity) in zip(SHOTS, references, strict=True):
        spin = np.array(shot.spin_rad_s)
        expected = np.concatenate(bounce_by_reference(shot, velocity, spin))
        own = bounce(*velocity, *spin, shot.world.numbers[0])
        np.testing.assert_allclose(own, expected, rtol=1e-9, atol=1e-9)


def test_second_bounce(references: list[Landing]) -> None:
    """Every fourth shot on to its second bounce, the errors of the first flight included."""
    path = np.empty((PATH_POINTS, 5))
    for shot, (t, place, velocity) in list(zip(SHOTS, references, strict=True))[::4]:
        spin = np.array(shot.spin_rad_s)
        t2, end, _ = fly_by_reference(shot, place, *bounce_by_reference(shot, velocity, spin))
        w = shot.world.numbers[0]
        t1, x, y, vx, vy, vz, *_ = fly(*shot.numbers, w)
        out = bounce(vx, vy, vz, *shot.spin_rad_s, w)
        _, own_t, own_x, own_y = trace(t1, x, y, w["radius_m"], *out, w, path)
        assert abs(own_t - (t + t2)) < TIME_S
        assert np.hypot(own_x - end[0], own_y - end[1]) < PLACE_M
