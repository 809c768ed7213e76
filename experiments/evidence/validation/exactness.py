"""How well the code does its own mathematics: errors against closed forms and a general solver."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import numpy as np

from experiments.evidence.validation.ball import AWAY, NO_SPIN
from experiments.evidence.validation.reference_flight import Shot, fly_by_reference, random_shots
from sim.arithmetic import cos, exp, log, sin
from sim.bounce import bounce
from sim.flight import advance, fly
from sim.flight_table import NO_TABLE
from sim.launch import shoot
from sim.over_arrays import length_of
from sim.surface import SURFACES
from sim.world import World

G_M_S2 = 9.80665
SHOTS, SHOT_SEED = 40, 2025


def drag_alone_error(distance_m: float) -> float:
    """Largest relative error of place and speed, drag alone, against the closed form.

    t = (exp(k Cd x) - 1)/(k Cd v0), v = v0 exp(-k Cd x).
    """
    v0, world = 40.0, World(gravity_m_s2=0.0, air_density_kg_m3=1.21, drag_coefficient=0.55)
    k_cd = float(world.numbers[0]["drag_per_m"]) * 0.55
    t = (exp(k_cd * distance_m) - 1) / (k_cd * v0)
    state = (0.0, 0.0, 1.0, v0, 0.0, 0.0)
    for _ in range(20):
        state = advance(*state, *NO_SPIN, t / 20, world.numbers[0])
    return max(abs(state[0] / distance_m - 1), abs(state[3] / (v0 * exp(-k_cd * distance_m)) - 1))


def parabola_error(elevation_deg: float) -> float:
    """Largest error (s or m) at the landing without air, whatever the spin."""
    w = World(air_density_kg_m3=0.0).numbers[0]
    slope = math.radians(elevation_deg)
    t, x, y, *_ = shoot(1.0, 11.0, 1.2, slope, AWAY, 20.0, 250.0, 90.0, w, NO_TABLE)
    rise = 20 * sin(slope)
    exact = (rise + math.sqrt(rise * rise + 2 * G_M_S2 * (1.2 - 0.033))) / G_M_S2
    return max(abs(t - exact), abs(x - 1.0), abs(y - (11.0 - 20 * cos(slope) * exact)))


def terminal_speed_m_s() -> float:
    """Speed after a long fall in air of 1.21 kg/m3."""
    world = World(air_density_kg_m3=1.21)
    state = (0.0, 0.0, 1000.0, 0.0, 0.0, 0.0)
    for _ in range(400):
        state = advance(*state, *NO_SPIN, 0.05, world.numbers[0])
    return -float(state[5])


def closed_terminal_speed_m_s() -> float:
    """sqrt(2 m g/(rho A Cd)) for 57.7 g, 66 mm, rho 1.21."""
    drag = 1.21 * math.pi * 0.033 * 0.033 * World().drag_coefficient
    return math.sqrt(2 * 0.0577 * G_M_S2 / drag)


def largest_energy_growth_j_kg() -> float:
    """Over all surfaces."""
    return max(energy_growth_j_kg(name) for name in SURFACES)


def energy_growth_j_kg(surface_name: str) -> float:
    """Largest growth in a step of the energy per kilogram, over flight, bounce and flight.

    Energy of motion, height and spin, in still air; below zero if it never grows.
    """
    w = World(surface=SURFACES[surface_name]).numbers[0]
    state, spin = (0.0, 11.0, 1.0, 2.0, -30.0, 3.0), (250.0, 20.0, 80.0)
    energies = []
    for _ in range(150):
        spinning = 0.55 * 0.033 * 0.033 * sum(s * s for s in spin)
        energies.append(0.5 * (sum(v * v for v in state[3:]) + spinning) + G_M_S2 * state[2])
        state = advance(*state, *spin, 0.01, w)
        if state[2] < 0.033 and state[5] < 0:
            after = bounce(*state[3:], *spin, w)
            state, spin = state[:3] + after[:3], after[3:]
    return max(after - before for before, after in pairwise(energies))


def mirror_difference() -> float:
    """Largest difference between a landing and that of the mirrored ball, in any number."""
    signs = np.array((1, -1, 1, -1, 1, 1, -1, 1))
    largest = 0.0
    for shot in _shots():
        x, y, z, vx, vy, vz, sx, sy, sz = shot.numbers
        world = shot.world.numbers.copy()
        mirrored = world.copy()
        mirrored["wind_x_m_s"] *= -1
        one = np.array(fly(*shot.numbers, world[0]))
        other = np.array(fly(-x, y, z, -vx, vy, vz, sx, -sy, -sz, mirrored[0]))
        largest = max(largest, float(np.nanmax(np.abs(signs * one - other))))
    return largest


def order_of_the_integrator() -> float:
    """Mean order shown by halving the step from 1/8 to 1/64 s, against a step of 1/512 s."""
    w = World(wind_m_s=(0.0, 0.0, 0.0)).numbers[0]

    def after_one_second(steps: int) -> np.ndarray:
        state = (0.0, 11.0, 1.0, 1.0, -30.0, 4.0)
        for _ in range(steps):
            state = advance(*state, 260.0, 20.0, 100.0, 1.0 / steps, w)
        return np.array(state)

    truth = after_one_second(512)
    errors = [float(length_of(*(after_one_second(n) - truth))) for n in (8, 64)]
    return log(errors[0] / errors[1]) / log(8.0)


def solver_place_error_mm() -> float:
    """Largest error of the place of the first bounce."""
    return 1e3 * solver_errors()[0]


def solver_time_error_ms() -> float:
    """Largest error of the time of the first bounce."""
    return 1e3 * solver_errors()[1]


@cache
def solver_errors() -> tuple[float, float]:
    """Largest error at the first bounce against DOP853: of place (m) and of time (s)."""
    place = time = 0.0
    for shot in _shots():
        parts = (shot.place_m, shot.velocity_m_s, shot.spin_rad_s)
        t, where, _ = fly_by_reference(shot, *(np.array(part) for part in parts))
        own = fly(*shot.numbers, shot.world.numbers[0])
        place = max(place, float(length_of(own[1] - where[0], own[2] - where[1])))
        time = max(time, abs(float(own[0]) - t))
    return place, time


@cache
def _shots() -> list[Shot]:
    return random_shots(SHOTS, SHOT_SEED)
