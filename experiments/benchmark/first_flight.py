"""The flight and the bounce of the first script: one call of SciPy's `solve_ivp` a flight.

See `experiments.benchmark.first_script`. A state is (x, y, z, vx, vy, vz), a spin a vector.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, net_height_m
from sim.world import World

WORLD, BALL, SURFACE = World(), World().ball, World().surface
RADIUS_M = BALL.radius_m
AIR_PER_M = WORLD.density_kg_m3 * math.pi * RADIUS_M**2 / (2 * BALL.mass_kg)
ACCURACY = 1e-6  # relative and absolute (m, m/s); with solve_ivp's default, landings are cm off
SAMPLES_S = np.arange(0.0, 6.0, 0.02)

Spin = tuple[float, float, float]


def motion(_t: float, state: np.ndarray, spin: Spin) -> list[float]:
    """Gravity, drag against the velocity, lift across it."""
    _, _, _, vx, vy, vz = state
    sx, sy, sz = spin
    speed = math.sqrt(vx * vx + vy * vy + vz * vz)
    cx, cy, cz = sy * vz - sz * vy, sz * vx - sx * vz, sx * vy - sy * vx
    cross = math.sqrt(cx * cx + cy * cy + cz * cz)
    drag = AIR_PER_M * WORLD.drag_coefficient * speed
    lift = 0.0
    if cross > 0:
        surface_share = RADIUS_M * cross / speed**2
        coefficient = surface_share / (WORLD.lift_slope * surface_share + WORLD.lift_offset)
        lift = AIR_PER_M * coefficient * speed**2 / cross
    ax, ay, az = lift * cx - drag * vx, lift * cy - drag * vy, lift * cz - drag * vz
    return [vx, vy, vz, ax, ay, az - WORLD.gravity_m_s2]


def at_net(_t: float, state: np.ndarray, _spin: Any) -> float:
    return float(state[1])


def on_ground(_t: float, state: np.ndarray, _spin: Any) -> float:
    return float(state[2] - RADIUS_M)


setattr(on_ground, "terminal", True)  # noqa: B010  that is how solve_ivp is told
setattr(on_ground, "direction", -1)  # noqa: B010


@dataclass
class Flight:
    """A flight to the ground: time and state of the landing, gap over the net (None: never)."""

    time_s: float
    landing: np.ndarray
    net_gap_m: float | None
    times_s: np.ndarray
    path: np.ndarray


def fly(state: np.ndarray, spin: Spin, samples: bool = False) -> Flight:
    """Fly from a state (x, y, z, vx, vy, vz) to the ground."""
    found = solve_ivp(
        motion,
        (0.0, SAMPLES_S[-1]),
        state,
        args=(spin,),
        events=(at_net, on_ground),
        t_eval=SAMPLES_S if samples else None,
        rtol=ACCURACY,
        atol=ACCURACY,
    )
    over = found.y_events[0]
    gap = over[0][2] - RADIUS_M - net_height_m(over[0][0]) if len(over) else None
    return Flight(found.t_events[1][0], found.y_events[1][0], gap, found.t, found.y)


def bounce(state: np.ndarray, spin: Spin) -> tuple[np.ndarray, Spin]:
    """State and spin after the bounce: the ball slides throughout, or it grips."""
    x, y, z, vx, vy, vz = state
    sx, sy, sz = spin
    slip_x, slip_y = vx - RADIUS_M * sy, vy + RADIUS_M * sx
    slip = math.hypot(slip_x, slip_y)
    up = SURFACE.restitution * BALL.restitution_factor
    share = BALL.inertia_factor / (1 + BALL.inertia_factor)
    impulse = min(SURFACE.friction * (1 + up) * abs(vz), share * (1 + SURFACE.grip_rebound) * slip)
    jx, jy = (-impulse * slip_x / slip, -impulse * slip_y / slip) if slip > 0 else (0.0, 0.0)
    turn = 1 / (BALL.inertia_factor * RADIUS_M)
    after = np.array([x, y, z, vx + jx, vy + jy, -up * vz])
    return after, (sx + turn * jy, sy - turn * jx, sz)


def launch(
    ball: np.ndarray, speed: float, elevation: float, heading: float, topspin: float
) -> tuple[np.ndarray, Spin]:
    """State and spin of a ball struck at a place in a direction."""
    hx, hy = math.cos(heading), math.sin(heading)
    flat = speed * math.cos(elevation)
    state = np.array([*ball, flat * hx, flat * hy, speed * math.sin(elevation)])
    return state, (-topspin * hy, topspin * hx, 0.0)


def carry(
    ball: np.ndarray, speed: float, elevation: float, heading: float, topspin: float
) -> float:
    """Distance from the place of the strike to the landing."""
    landing = fly(*launch(ball, speed, elevation, heading, topspin)).landing
    return math.hypot(landing[0] - ball[0], landing[1] - ball[1])


def outcome_of(flight: Flight, side: int) -> str:
    """Whether a ball struck by a side is "in", or "net", "long" or "wide"."""
    x, y = flight.landing[:2]
    if flight.net_gap_m is None or flight.net_gap_m < 0 or y * side > 0:
        return "net"
    if abs(y) > HALF_LENGTH_M:
        return "long"
    return "wide" if abs(x) > HALF_WIDTH_M else "in"
