"""Flight: exact cases, symmetries, energy, and the record of a path."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference_flight import RPM, Shot, random_shots

from sim.flight import acceleration, advance, between, crossing, fly, trace
from sim.records import PATH_POINTS, PATH_STEP_S, VZ, T, X, Y, Z
from sim.world import World

VACUUM = World(air_density_kg_m3=0.0)
STILL = World()
RADIUS_M = 0.033
G_M_S2 = 9.80665
MICROMETRE = 1e-6
MICROSECOND = 1e-6
SHOTS = random_shots(60, seed=11)

speeds = st.floats(3.0, 55.0)
spins = st.floats(-400.0, 400.0)


def landed(shot: Shot) -> tuple[float, ...]:
    return fly(*shot.numbers, shot.world.numbers[0])  # type: ignore[no-any-return]


def test_without_air_the_flight_is_a_parabola() -> None:
    y0, z0, vy, vz = 11.0, 1.0, -25.0, 4.0
    w = VACUUM.numbers[0]
    t, x, y, vx, vy2, vz2, net_x, net_z = fly(0.5, y0, z0, 1.0, vy, vz, 200.0, 0.0, 50.0, w)
    exact = (vz + math.sqrt(vz * vz + 2 * G_M_S2 * (z0 - RADIUS_M))) / G_M_S2
    at_net = y0 / -vy
    assert t == pytest.approx(exact, abs=MICROSECOND)
    assert x == pytest.approx(0.5 + exact, abs=MICROMETRE)
    assert y == pytest.approx(y0 + vy * exact, abs=MICROMETRE)
    assert (vx, vy2) == (1.0, vy)
    assert vz2 == pytest.approx(vz - G_M_S2 * exact, abs=1e-6)
    assert net_x == pytest.approx(0.5 + at_net, abs=MICROMETRE)
    assert net_z == pytest.approx(z0 + vz * at_net - G_M_S2 * at_net**2 / 2, abs=MICROMETRE)


@pytest.mark.parametrize(
    ("y_m", "lands_before"), [(11.0, True), (1.0, True), (0.2, False)], ids=["far", "just", "past"]
)
def test_ball_that_lands_before_the_net_has_no_height_there(y_m: float, lands_before: bool) -> None:
    """Also where it would have passed the net below ground within the step of its landing."""
    shot = fly(0.0, y_m, 0.3, 0.0, -20.0, -10.0, 0.0, 0.0, 0.0, STILL.numbers[0])
    assert (shot[2] > 0.0) == lands_before
    assert math.isnan(shot[6]) == math.isnan(shot[7]) == lands_before


@pytest.mark.parametrize("shot", SHOTS[:20])
def test_half_turn_changes_no_bit(shot: Shot) -> None:
    x, y, z, vx, vy, vz, sx, sy, sz = shot.numbers
    turned = fly(-x, -y, z, -vx, -vy, vz, -sx, -sy, sz, shot.world.turned_numbers[0])
    signs = (1, -1, -1, -1, -1, 1, -1, 1)
    np.testing.assert_array_equal(turned, np.multiply(signs, landed(shot)))


@pytest.mark.parametrize("shot", SHOTS[20:40])
def test_mirror_with_sidespin_and_side_wind_swapped_changes_no_bit(shot: Shot) -> None:
    """Spin is an axial vector: a mirror in x keeps its x part and turns the other two."""
    x, y, z, vx, vy, vz, sx, sy, sz = shot.numbers
    world = shot.world.numbers.copy()
    world["wind_x_m_s"] *= -1
    mirrored = fly(-x, y, z, -vx, vy, vz, sx, -sy, -sz, world[0])
    signs = (1, -1, 1, -1, 1, 1, -1, 1)
    np.testing.assert_array_equal(mirrored, np.multiply(signs, landed(shot)))


@settings(max_examples=100, deadline=None)
@given(speed=speeds, elevation=st.floats(-0.3, 1.3), sx=spins, sy=spins, sz=spins)
def test_energy_never_grows_in_still_air(
    speed: float, elevation: float, sx: float, sy: float, sz: float
) -> None:
    """Per kilogram and for every step; lift does no work and spin keeps its energy."""
    w = STILL.numbers[0]
    state = (0.0, 11.0, 1.0, 0.0, -speed * math.cos(elevation), speed * math.sin(elevation))
    energies = []
    for _ in range(25):
        energies.append(0.5 * sum(v * v for v in state[3:]) + G_M_S2 * state[2])
        state = advance(*state, sx, sy, sz, 0.02, w)
    assert all(after < before for before, after in pairwise(energies))


@settings(max_examples=50, deadline=None)
@given(speed=speeds, sx=spins, sy=spins, sz=spins)
def test_drag_works_against_the_flight_and_lift_across_it(
    speed: float, sx: float, sy: float, sz: float
) -> None:
    """Along the velocity acts -K v^2 Cd whatever the spin, K = rho pi d^2 / (8 m)."""
    k = STILL.density_kg_m3 * math.pi * 0.066**2 / (8 * 0.0577)
    ax, ay, az = acceleration(0.0, -speed, 0.0, sx, sy, sz, STILL.numbers[0])
    assert ay == pytest.approx(k * speed**2 * 0.55, rel=1e-12)
    # Only the spin across the velocity lifts, along omega x v: here x from sz and z from sx.
    across = math.hypot(sx, sz)
    if across > 1.0:
        lift = k * speed**2 / (2 + speed / (RADIUS_M * across))
        assert ax == pytest.approx(lift * sz / across, rel=1e-9, abs=1e-9)
        assert az + G_M_S2 == pytest.approx(-lift * sx / across, rel=1e-9, abs=1e-9)


def test_topspin_dips_and_backspin_carries() -> None:
    """A ball flying toward y < 0 has topspin when its spin's x part is positive."""
    depths = [
        -fly(0.0, 11.0, 1.0, 0.0, -25.0, 3.0, rpm * RPM, 0.0, 0.0, STILL.numbers[0])[2]
        for rpm in (2500, 0, -2500)
    ]
    assert depths[0] < depths[1] - 1.0 < depths[2] - 2.0


def test_sidespin_bends_the_flight() -> None:
    """Seen from above, a ball that turns counterclockwise swings to its own left."""
    x = fly(0.0, 11.0, 1.0, 0.0, -25.0, 3.0, 0.0, 0.0, 1500 * RPM, STILL.numbers[0])[1]
    assert x > 0.5  # toward y < 0 the left is x > 0


@pytest.mark.parametrize("shot", SHOTS[40:50])
def test_level_wind_carries_the_flight_along(shot: Shot) -> None:
    """Seen by one who drifts with the wind, the air is still: an exact equality."""
    wind_x, wind_y, _ = shot.world.wind_m_s
    windy, calm = shot.world.numbers.copy(), shot.world.numbers.copy()
    windy["wind_z_m_s"] = 0.0
    for name in ("wind_x_m_s", "wind_y_m_s", "wind_z_m_s"):
        calm[name] = 0.0
    x, y, z, vx, vy, vz, *spin = shot.numbers
    t, lx, ly, *_ = fly(x, y, z, vx, vy, vz, *spin, windy[0])
    t2, lx2, ly2, *_ = fly(x, y, z, vx - wind_x, vy - wind_y, vz, *spin, calm[0])
    assert t == pytest.approx(t2, abs=MICROSECOND)
    assert lx == pytest.approx(lx2 + wind_x * t, abs=MICROMETRE)
    assert ly == pytest.approx(ly2 + wind_y * t, abs=MICROMETRE)


def test_halving_the_step_shows_fourth_order() -> None:
    """Errors against a step of 1/512 s shrink by about 2^4 at each halving."""
    shot = Shot(STILL, (0.0, 11.0, 1.0), (1.0, -30.0, 4.0), (260.0, 20.0, 100.0))

    def after_one_second(steps: int) -> np.ndarray:
        state = shot.place_m + shot.velocity_m_s
        for _ in range(steps):
            state = advance(*state, *shot.spin_rad_s, 1.0 / steps, STILL.numbers[0])
        return np.array(state)

    truth = after_one_second(512)
    errors = [np.linalg.norm(after_one_second(n) - truth) for n in (8, 16, 32, 64)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert np.all(np.abs(orders - 4.0) < 0.35)


@given(
    p0=st.floats(0.1, 3.0), p1=st.floats(-3.0, -0.1), v0=st.floats(-30, 30), v1=st.floats(-30, 0)
)
@settings(max_examples=100, deadline=None)
def test_crossing_lies_on_the_cubic(p0: float, p1: float, v0: float, v1: float) -> None:
    h = 0.06
    s = crossing(p0, v0, p1, v1, h, 0.0)
    assert 0.0 <= s <= 1.0
    assert between(p0, v0, p1, v1, h, s) == pytest.approx(0.0, abs=1e-10)
    assert between(p0, v0, p1, v1, h, 0.0) == p0
    assert between(p0, v0, p1, v1, h, 1.0) == p1


def path_of(shot: Shot, start_s: float = 0.0) -> tuple[np.ndarray, tuple[float, ...]]:
    path = np.full((PATH_POINTS, 5), np.nan)
    count, *end = trace(start_s, *shot.numbers, shot.world.numbers[0], path)
    return path[:count], tuple(end)


@pytest.mark.parametrize("shot", SHOTS[:20])
def test_path_ends_where_the_flight_lands(shot: Shot) -> None:
    _, (t, x, y) = path_of(shot, start_s=1.0)
    flown = landed(shot)
    assert t - 1.0 == pytest.approx(flown[0], abs=1e-4)
    assert math.hypot(x - flown[1], y - flown[2]) < 1e-3


@pytest.mark.parametrize("shot", SHOTS[:10])
def test_path_samples_the_flight(shot: Shot) -> None:
    path, (end_s, *_) = path_of(shot)
    np.testing.assert_allclose(path[:, T], PATH_STEP_S * np.arange(len(path)), atol=1e-12)
    assert len(path) == min(PATH_POINTS, 1 + math.floor(end_s / PATH_STEP_S))
    assert np.all(path[:, Z] >= RADIUS_M - MICROMETRE)
    fine = np.array(shot.place_m + shot.velocity_m_s)
    for row in path[1:40]:
        for _ in range(4):
            fine = np.array(
                advance(*fine, *shot.spin_rad_s, PATH_STEP_S / 4, shot.world.numbers[0])
            )
        np.testing.assert_allclose(row[[X, Y, Z]], fine[:3], atol=1e-3)
        assert row[VZ] == pytest.approx(fine[5], abs=0.02)


def test_long_path_keeps_its_first_part() -> None:
    lob = Shot(STILL, (0.0, 11.0, 1.0), (0.0, -3.0, 30.0), (0.0, 0.0, 0.0))
    path, (end_s, *_) = path_of(lob)
    assert end_s > PATH_POINTS * PATH_STEP_S
    assert len(path) == PATH_POINTS
    assert end_s == pytest.approx(landed(lob)[0], abs=1e-4)
