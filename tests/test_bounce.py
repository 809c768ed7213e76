"""Bounce: the planar law, angular momentum, energy, and symmetries."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference_flight import planar_bounce

from sim.bounce import bounce, grips
from sim.surface import SURFACES, Surface
from sim.world import World

RADIUS_M, ALPHA = 0.033, 0.55

surfaces = st.builds(
    Surface,
    st.just("own"),
    st.floats(0.5, 0.95),
    st.floats(0.0, 1.2),
    st.floats(0.0, 0.9),
)
level = st.floats(-45.0, 45.0)
down = st.floats(-25.0, -0.5)
spins = st.floats(-500.0, 500.0)
states = st.tuples(level, level, down, spins, spins, spins)


def world(surface: Surface) -> np.void:
    return World(surface=surface).numbers[0]  # type: ignore[no-any-return]


def energy(vx: float, vy: float, vz: float, sx: float, sy: float, sz: float) -> float:
    """Of motion and of spin, per kilogram."""
    turning = ALPHA * RADIUS_M**2 * (sx * sx + sy * sy + sz * sz)
    return 0.5 * (vx * vx + vy * vy + vz * vz + turning)


@settings(max_examples=200, deadline=None)
@given(surface=surfaces, state=states)
def test_angular_momentum_about_the_contact_point_is_kept(
    surface: Surface, state: tuple[float, ...]
) -> None:
    """All forces act at the contact point: alpha R^2 omega + r x v stays, r = R z, per kilogram."""
    out = bounce(*state, world(surface))
    for after, before in zip(momentum(out), momentum(state), strict=True):
        assert after == pytest.approx(before, abs=1e-9)


def momentum(state: tuple[float, ...]) -> tuple[float, float, float]:
    vx, vy, _, sx, sy, sz = state
    spin = ALPHA * RADIUS_M**2
    return spin * sx - RADIUS_M * vy, spin * sy + RADIUS_M * vx, spin * sz


@settings(max_examples=200, deadline=None)
@given(surface=surfaces, state=states)
def test_energy_never_grows(surface: Surface, state: tuple[float, ...]) -> None:
    assert energy(*bounce(*state, world(surface))) <= energy(*state) * (1 + 1e-12)


@settings(max_examples=200, deadline=None)
@given(surface=surfaces, vx=level, vz=down, topspin=spins)
def test_ball_in_one_plane_follows_the_planar_law(
    surface: Surface, vx: float, vz: float, topspin: float
) -> None:
    out = bounce(vx, 0.0, vz, 0.0, topspin, 0.0, world(surface))
    vx2, rw2 = planar_bounce(
        vx,
        RADIUS_M * topspin,
        vz,
        surface.friction,
        surface.restitution,
        surface.grip_rebound,
        ALPHA,
    )
    assert out[0] == pytest.approx(vx2, abs=1e-9)
    assert RADIUS_M * out[4] == pytest.approx(rw2, abs=1e-9)
    assert out[2] == pytest.approx(-surface.restitution * vz, rel=1e-14)
    assert (out[1], out[3], out[5]) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("name", sorted(SURFACES))
def test_limit_between_sliding_and_gripping(name: str) -> None:
    """A spinless ball at 30 m/s slides below tan(angle) = alpha(1+ex) / ((1+alpha) mu (1+e))."""
    s = SURFACES[name]
    steep = math.atan(ALPHA * (1 + s.grip_rebound) / (1.55 * s.friction * (1 + s.restitution)))
    for angle, expected in ((steep - 0.001, False), (steep + 0.001, True)):
        vx, vz = 30 * math.cos(angle), -30 * math.sin(angle)
        assert grips(vx, 0.0, vz, 0.0, 0.0, world(s)) == expected
        out = bounce(vx, 0.0, vz, 0.0, 0.0, 0.0, world(s))
        slip = out[0] - RADIUS_M * out[4]
        assert (slip == pytest.approx(-s.grip_rebound * vx, abs=1e-9)) == expected


@settings(max_examples=100, deadline=None)
@given(surface=surfaces, state=states, angle=st.floats(0.0, 6.28))
def test_direction_on_the_court_does_not_matter(
    surface: Surface, state: tuple[float, ...], angle: float
) -> None:
    def turned(v: tuple[float, ...]) -> tuple[float, ...]:
        c, s = math.cos(angle), math.sin(angle)
        return (
            c * v[0] - s * v[1],
            s * v[0] + c * v[1],
            v[2],
            c * v[3] - s * v[4],
            s * v[3] + c * v[4],
            v[5],
        )

    after = bounce(*turned(state), world(surface))
    np.testing.assert_allclose(after, turned(bounce(*state, world(surface))), atol=1e-7)


@settings(max_examples=50, deadline=None)
@given(surface=surfaces, state=states)
def test_half_turn_and_mirror_change_no_bit(surface: Surface, state: tuple[float, ...]) -> None:
    for signs in ((-1, -1, 1, -1, -1, 1), (-1, 1, 1, 1, -1, -1)):
        moved = bounce(*(s * v for s, v in zip(signs, state, strict=True)), world(surface))
        out = bounce(*state, world(surface))
        assert moved == tuple(s * v for s, v in zip(signs, out, strict=True))


def test_rolling_ball_keeps_its_speed_and_spin() -> None:
    w = world(SURFACES["clay"])
    out = bounce(10.0, 0.0, -5.0, 0.0, 10.0 / RADIUS_M, 30.0, w)
    np.testing.assert_allclose(out, (10.0, 0.0, 4.2, 0.0, 10.0 / RADIUS_M, 30.0), rtol=1e-12)


def test_frictionless_court_changes_only_the_height() -> None:
    w = world(Surface("ice", restitution=0.8, friction=0.0))
    assert bounce(20.0, 3.0, -6.0, 10.0, -40.0, 5.0, w) == pytest.approx(
        (20.0, 3.0, 4.8, 10.0, -40.0, 5.0)
    )
