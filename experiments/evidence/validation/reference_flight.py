"""An independent flight and bounce to compare with: the formulas in SI, integrated by SciPy.

Nothing here uses the simulator's flight, bounce or launch code. Both the tests and the table of
checks use it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.air import Air
from sim.surface import SURFACES
from sim.world import World

RPM = 2 * math.pi / 60
RELATIVE_TOLERANCE = 1e-10
ABSOLUTE_TOLERANCE = 1e-11


@dataclass(frozen=True)
class Shot:
    """A world and a launch in it: position, velocity and spin, each a tuple of three."""

    world: World
    place_m: tuple[float, float, float]
    velocity_m_s: tuple[float, float, float]
    spin_rad_s: tuple[float, float, float]

    @property
    def numbers(self) -> tuple[float, ...]:
        """The nine numbers that the simulator's flight starts from."""
        return self.place_m + self.velocity_m_s + self.spin_rad_s


def random_shots(count: int, seed: int) -> list[Shot]:
    """Shots toward y < 0 over the whole range of strokes, from drop shot to serve and lob.

    Every shot has topspin or backspin and sidespin; two in three meet a wind; the air lies from
    sea level to 2,500 m.
    """
    rng = np.random.default_rng(seed)
    return [random_shot(rng) for _ in range(count)]


def random_shot(rng: np.random.Generator) -> Shot:
    wind = rng.uniform([-8, -8, -0.5], [8, 8, 0.5]) if rng.random() < 2 / 3 else np.zeros(3)
    air = Air(rng.uniform(0, 2500), rng.uniform(0, 40), rng.uniform(0, 1))
    surface = SURFACES[str(rng.choice(sorted(SURFACES)))]
    speed = rng.uniform(10, 60)
    steepest = 50 if speed < 30 else 12
    elevation = math.radians(rng.uniform(-8, steepest))
    side = math.radians(rng.uniform(-25, 25))
    across = np.array([math.cos(side), math.sin(side), 0.0])  # axis of topspin
    along = np.array([math.sin(side), -math.cos(side), 0.0])
    velocity = speed * (math.cos(elevation) * along + [0, 0, math.sin(elevation)])
    spin = rng.uniform(-3000, 4500) * RPM * across + [0, 0, rng.uniform(-2500, 2500) * RPM]
    place = rng.uniform([-6, 1, 0.2], [6, 15, 3.0])
    return Shot(
        World(surface=surface, air=air, wind_m_s=tuple(wind)),
        tuple(place),
        tuple(velocity),
        tuple(spin),
    )


def fly_by_reference(
    shot: Shot, place: np.ndarray, velocity: np.ndarray, spin: np.ndarray
) -> tuple[float, np.ndarray, np.ndarray]:
    """Time, place and velocity where the ball's centre comes down to one radius (DOP853).

    a = -K v Cd v + K v CL (omega x v)/|omega x v| v - g, K = rho pi d^2 / (8 m),
    CL = 1/(2 + 1/S), S = R |omega x v| / v^2, v relative to the air.
    """
    world, ball = shot.world, shot.world.ball
    radius = ball.diameter_m / 2
    k = world.density_kg_m3 * math.pi * ball.diameter_m**2 / (8 * ball.mass_kg)
    wx, wy, wz = (float(s) for s in spin)
    ax, ay, az = world.wind_m_s

    def rates(_: float, s: np.ndarray) -> tuple[float, ...]:
        ux, uy, uz = float(s[3]) - ax, float(s[4]) - ay, float(s[5]) - az
        v = math.sqrt(ux * ux + uy * uy + uz * uz)
        lx, ly, lz = wy * uz - wz * uy, wz * ux - wx * uz, wx * uy - wy * ux
        across = math.sqrt(lx * lx + ly * ly + lz * lz)
        lift = 0.0
        if across > 0:
            lift = k * v * v / (2 + v * v / (radius * across)) / across
        drag = k * v * world.drag_coefficient
        return (
            s[3],
            s[4],
            s[5],
            lift * lx - drag * ux,
            lift * ly - drag * uy,
            lift * lz - drag * uz - 9.80665,
        )

    def height(_: float, s: np.ndarray) -> float:
        return float(s[2]) - radius

    height.terminal = True  # type: ignore[attr-defined]
    height.direction = -1  # type: ignore[attr-defined]
    from scipy.integrate import solve_ivp  # slow to import

    solution = solve_ivp(
        rates,
        (0.0, 20.0),
        np.concatenate([place, velocity]),
        method="DOP853",
        rtol=RELATIVE_TOLERANCE,
        atol=ABSOLUTE_TOLERANCE,
        events=height,
    )
    return float(solution.t[-1]), solution.y[:3, -1], solution.y[3:, -1]


def bounce_by_reference(
    shot: Shot, velocity: np.ndarray, spin: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Velocity and spin after the bounce: the planar law along the direction of slip.

    Across that direction nothing changes, so the law of a ball in one vertical plane serves.
    """
    surface, ball = shot.world.surface, shot.world.ball
    radius, alpha = ball.diameter_m / 2, ball.inertia_factor
    up = np.array([0.0, 0.0, 1.0])
    slip = velocity + np.cross(spin, -radius * up)
    slip[2] = 0.0
    along = slip / np.linalg.norm(slip)
    axis = np.cross(up, along)
    v1, rw1 = float(velocity @ along), float(radius * spin @ axis)
    v2, rw2 = planar_bounce(
        v1,
        rw1,
        float(velocity[2]),
        surface.friction,
        surface.restitution * ball.restitution_factor,
        surface.grip_rebound,
        alpha,
    )
    out = velocity + (v2 - v1) * along
    out[2] = -surface.restitution * ball.restitution_factor * velocity[2]
    return out, spin + (rw2 - rw1) / radius * axis


def planar_bounce(
    vx1: float, rw1: float, vy1: float, mu: float, e: float, ex: float, alpha: float
) -> tuple[float, float]:
    """Horizontal speed and radius times topspin after a bounce in one vertical plane.

    Sliding: Brody 1984, Phys. Teacher 22, 494; gripping: Cross 2002, Am. J. Phys. 70, 1093 (both
    from memory).
    """
    slip = vx1 - rw1
    if mu * (1 + e) * abs(vy1) < alpha * (1 + ex) * abs(slip) / (1 + alpha):
        push = mu * (1 + e) * abs(vy1) * math.copysign(1.0, slip)
        return vx1 - push, rw1 + push / alpha
    vx2 = ((1 - alpha * ex) * vx1 + alpha * (1 + ex) * rw1) / (1 + alpha)
    rw2 = ((1 + ex) * vx1 + (alpha - ex) * rw1) / (1 + alpha)
    return vx2, rw2
