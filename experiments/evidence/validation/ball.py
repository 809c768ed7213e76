"""What the simulated ball does under the conditions of the published figures."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from sim.air import Air
from sim.arithmetic import cos, sin
from sim.ball import BALLS, Ball
from sim.bounce import bounce
from sim.flight import advance, fly
from sim.flight_table import NO_TABLE
from sim.launch import shoot, solve_launch
from sim.over_arrays import length_of
from sim.surface import SURFACES, Surface
from sim.world import World

MPH = 0.44704
RPM = 2 * math.pi / 60
INCH_OF_MERCURY_PA = 3386.39
AWAY = -math.pi / 2  # the heading straight over the net
NO_SPIN = (0.0, 0.0, 0.0)
BASELINE_M, SERVICE_LINE_M = 11.885, 6.40
# The rules' floor is not one of our courts: its restitution brings the medium ball through the air
# to the middle of its band.
RIGID_FLOOR = Surface("rigid floor", restitution=0.77, friction=0.6)


def fahrenheit(degrees: float) -> float:
    """Degrees Celsius."""
    return (degrees - 32) / 1.8


def rebound_m(kind: str, drop_m: float = 2.54) -> float:
    """Height of a ball's underside at the top of its rebound, dropped with that height."""
    world = World(surface=RIGID_FLOOR, ball=BALLS[kind])
    w, radius = world.numbers[0], world.ball.radius_m
    landing = fly(0.0, 5.0, drop_m + radius, 0.0, 0.0, 0.0, *NO_SPIN, w)
    state = (0.0, 5.0, radius, *bounce(*landing[3:6], *NO_SPIN, w)[:3])
    highest = radius
    while state[5] > 0:
        state = advance(*state, *NO_SPIN, 0.001, w)
        highest = max(highest, state[2])
    return float(highest - radius)


def drag_factor_per_m() -> float:
    """rho pi R^2/(2 m) of a 57 g ball in air of 1.21 kg/m3."""
    world = World(ball=Ball(mass_kg=0.057), air_density_kg_m3=1.21)
    return float(world.numbers[0]["drag_per_m"])


def warm_day_density_kg_m3() -> float:
    """Air at 70 F, 30 inches of mercury, half moist."""
    pressure = 30 * INCH_OF_MERCURY_PA
    return Air(temperature_c=fahrenheit(70), pressure_pa=pressure).density_kg_m3


def bounced_m_s(surface: Surface) -> tuple[float, float]:
    """Ground and vertical speed after the bounce of a spinless ball at 30 m/s and 16 degrees."""
    slope = math.radians(16)
    w = World(surface=surface).numbers[0]
    out = bounce(30 * cos(slope), 0.0, -30 * sin(slope), *NO_SPIN, w)
    return float(out[0]), float(out[2])


def loss_of_ground_speed(surface: Surface) -> float:
    """Share of its ground speed that this ball loses."""
    return 1 - bounced_m_s(surface)[0] / (30 * cos(math.radians(16)))


def loss_of_speed(surface: Surface) -> float:
    """Share of its whole speed that this ball loses."""
    return 1 - float(length_of(*bounced_m_s(surface))) / 30


def lost_ground_speed_pct(surface: str) -> float:
    """Per cent of its ground speed that this ball loses on a court of ours."""
    return 100 * loss_of_ground_speed(SURFACES[surface])


def lost_speed_pct(surface: str) -> float:
    """Per cent of its whole speed that this ball loses on a court of ours."""
    return 100 * loss_of_speed(SURFACES[surface])


def cross_world(
    fahrenheit_deg: float = 70,
    inches: float = 30,
    humidity: float = 0.5,
    mass_kg: float = 0.058,
    diameter_m: float = 0.066,
) -> World:
    """The conditions of Cross 2018, each of which can be changed."""
    air = Air(
        temperature_c=fahrenheit(fahrenheit_deg),
        pressure_pa=inches * INCH_OF_MERCURY_PA,
        relative_humidity=humidity,
    )
    return World(air=air, ball=Ball(mass_kg=mass_kg, diameter_m=diameter_m), drag_coefficient=0.51)


def worst_shift_m() -> float:
    """How far the worst stack of weather and legal ball moves a drive onto the far baseline.

    Struck above the baseline at 0.914 m with 70 mph and 2000 rpm of topspin, then the same stroke
    in other weather with the lightest and largest and the heaviest and smallest legal ball. The
    extremes of weather are ours (assumed): 50 to 90 F, 29 to 31 inches of mercury, dry to
    saturated.
    """
    stroke, start = (70 * MPH, 2000 * RPM, 0.0), (0.0, BASELINE_M, 0.914)
    reason, elevation, heading, _ = solve_launch(
        *start, 0.0, -BASELINE_M, *stroke, False, cross_world().numbers[0], NO_TABLE
    )
    if reason != 0:
        raise RuntimeError(f"the drive of the check cannot be hit (reason {reason})")

    def moved_m(world: World) -> float:
        landing = shoot(*start, elevation, heading, *stroke, world.numbers[0], NO_TABLE)[2]
        return abs(float(landing) + BASELINE_M)

    short = moved_m(cross_world(50, 31, 0.0, 0.0560, 0.0686))
    return max(short, moved_m(cross_world(90, 29, 1.0, 0.0594, 0.0654)))


def flattest_serve_deg() -> float:
    """Flattest angle at which the serve of a point ball is in."""
    return serve_window_deg(as_point=True)[0]


def steepest_serve_deg() -> float:
    """Steepest angle at which the serve of a point ball is in."""
    return serve_window_deg(as_point=True)[1]


def steepest_serve_of_a_ball_deg() -> float:
    """The same for a ball whose underside has to clear the net."""
    return serve_window_deg(as_point=False)[1]


@cache
def serve_window_deg(as_point: bool) -> tuple[float, float]:
    """Flattest and steepest angle below the horizontal of a flat serve at 134 mph that is in.

    From 2.95 m above the centre mark; a point ball, or one whose underside has to clear the net.
    """
    world = World().numbers.copy()
    net_m = 0.914 if as_point else 0.914 + float(world["radius_m"][0])
    if as_point:
        world["radius_m"] = 1e-6
    start, stroke = (0.0, BASELINE_M, 2.95), (134 * MPH, 0.0, 0.0)

    def is_in(angle_deg: float) -> bool:
        shot = shoot(*start, -math.radians(angle_deg), AWAY, *stroke, world[0], NO_TABLE)
        return bool(shot[7] >= net_m and -shot[2] <= SERVICE_LINE_M)

    inside = [angle for angle in np.arange(5.0, 11.0, 0.005) if is_in(angle)]
    return float(inside[0]), float(inside[-1])
