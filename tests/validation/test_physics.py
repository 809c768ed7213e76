"""Outside values of ball and court: rows 1 to 11 of the list of checks, one test or more each.

Each test is marked in its docstring: a *check* compares with a value that set nothing in the
model; an *input* shows that what was put in comes out; a *verification* tests the code against
mathematics. Only checks count as agreement with the world. Row 12 is in test_flight_reference.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from sim.air import Air
from sim.ball import BALLS, Ball
from sim.bounce import bounce
from sim.flight import advance, fly
from sim.flight_table import NO_TABLE
from sim.launch import shoot, solve_launch
from sim.surface import SURFACES, Surface, court_pace_rating
from sim.world import World

MPH = 0.44704
RPM = 2 * math.pi / 60
INCH_OF_MERCURY_PA = 3386.39
AWAY = -math.pi / 2  # the heading straight over the net
NO_SPIN = (0.0, 0.0, 0.0)


def fahrenheit(degrees: float) -> float:
    return (degrees - 32) / 1.8


def rebound_m(world: World, drop_m: float) -> float:
    """Height of the ball's underside at the top of its rebound, dropped with that height."""
    w = world.numbers[0]
    radius = world.ball.radius_m
    landing = fly(0.0, 5.0, drop_m + radius, 0.0, 0.0, 0.0, *NO_SPIN, w)
    state = (0.0, 5.0, radius, *bounce(*landing[3:6], *NO_SPIN, w)[:3])
    highest = radius
    while state[5] > 0:
        state = advance(*state, *NO_SPIN, 0.001, w)
        highest = max(highest, state[2])
    return highest - radius


@pytest.mark.parametrize(
    ("kind", "low_m", "high_m"), [("medium", 1.35, 1.47), ("high-altitude", 1.22, 1.35)]
)
def test_row_1_rebound_of_the_drop_test(kind: str, low_m: float, high_m: float) -> None:
    """Input. ITF Rules, Appendix I (published): from 2.54 m on a rigid floor 1.35-1.47 m.

    The rules' floor is not one of our courts. Its restitution, 0.77, is what brings the medium
    ball through the air to the middle of its band; the high-altitude ball has to follow.
    """
    floor = Surface("rigid floor", restitution=0.77, friction=0.6)
    assert low_m < rebound_m(World(surface=floor, ball=BALLS[kind]), 2.54) < high_m


def test_row_2_drag_factor() -> None:
    """Input. 0.0363 per metre within 0.5 % (Brody, Cross, Lindsey 2002; published second hand)."""
    world = World(ball=Ball(mass_kg=0.057), air_density_kg_m3=1.21)
    assert world.numbers[0]["drag_per_m"] == pytest.approx(0.0363, rel=0.005)


def test_row_3_air_density() -> None:
    """Check. 70 F, 30 inches of mercury, half moist: 1.197 kg/m3 within 0.1 % (Cross 2018)."""
    air = Air(
        temperature_c=fahrenheit(70), pressure_pa=30 * INCH_OF_MERCURY_PA, relative_humidity=0.5
    )
    assert air.density_kg_m3 == pytest.approx(1.197, rel=1e-3)


@pytest.mark.parametrize("distance_m", [5.0, 12.0, 24.0])
def test_row_4_drag_alone(distance_m: float) -> None:
    """Verification. t = (exp(k Cd x) - 1)/(k Cd v0), v = v0 exp(-k Cd x), within 1e-3.

    Brody, Cross, Lindsey 2002.
    """
    v0, world = 40.0, World(gravity_m_s2=0.0, air_density_kg_m3=1.21, drag_coefficient=0.55)
    k_cd = world.numbers[0]["drag_per_m"] * 0.55
    t = (math.exp(k_cd * distance_m) - 1) / (k_cd * v0)
    state = (0.0, 0.0, 1.0, v0, 0.0, 0.0)
    for _ in range(20):
        state = advance(*state, *NO_SPIN, t / 20, world.numbers[0])
    assert state[0] == pytest.approx(distance_m, rel=1e-3)
    assert state[3] == pytest.approx(v0 * math.exp(-k_cd * distance_m), rel=1e-3)


@pytest.mark.parametrize("elevation_deg", [-5.0, 10.0, 45.0, 80.0])
def test_row_5_parabola_without_air(elevation_deg: float) -> None:
    """Verification. Closed form, within 1e-6 m and 1e-6 s, whatever the spin."""
    w = World(air_density_kg_m3=0.0).numbers[0]
    slope = math.radians(elevation_deg)
    t, x, y, *_ = shoot(1.0, 11.0, 1.2, slope, AWAY, 20.0, 250.0, 90.0, w, NO_TABLE)
    rise = 20 * math.sin(slope)
    exact = (rise + math.sqrt(rise**2 + 2 * 9.80665 * (1.2 - 0.033))) / 9.80665
    assert t == pytest.approx(exact, abs=1e-6)
    assert x == pytest.approx(1.0, abs=1e-6)
    assert y == pytest.approx(11.0 - 20 * math.cos(slope) * exact, abs=1e-6)


def test_row_6_terminal_speed() -> None:
    """Verification. sqrt(2 m g/(rho A Cd)) for 57.7 g, 66 mm, rho 1.21, within 0.1 %."""
    world = World(air_density_kg_m3=1.21)
    exact = math.sqrt(2 * 0.0577 * 9.80665 / (1.21 * math.pi * 0.033**2 * 0.55))
    state = (0.0, 0.0, 1000.0, 0.0, 0.0, 0.0)
    for _ in range(400):
        state = advance(*state, *NO_SPIN, 0.05, world.numbers[0])
    assert -state[5] == pytest.approx(exact, rel=1e-3)


PRESS_REPORT = 0.43
FIVE_POINTS = 0.05


def loss_of_ground_speed(surface: Surface) -> float:
    """Share of ground speed lost by a spinless ball at 30 m/s and 16 degrees."""
    return 1 - bounced(surface)[0] / (30 * math.cos(math.radians(16)))


def loss_of_speed(surface: Surface) -> float:
    """Share of the whole speed lost by the same ball."""
    return 1 - math.hypot(*bounced(surface)) / 30


def bounced(surface: Surface) -> tuple[float, float]:
    slope = math.radians(16)
    w = World(surface=surface).numbers[0]
    out = bounce(30 * math.cos(slope), 0.0, -30 * math.sin(slope), *NO_SPIN, w)
    return out[0], out[2]


@pytest.mark.xfail(
    strict=True, reason="the clay chosen for its pace loses 38.0 %: 0.01 of a point too little"
)
def test_row_7_loss_of_ground_speed_on_clay() -> None:
    """Check. About 43 % within 5 points: press report of ITF tests, second hand.

    The report does not say whether it is ground speed or the whole speed.
    """
    assert loss_of_ground_speed(SURFACES["clay"]) == pytest.approx(PRESS_REPORT, abs=FIVE_POINTS)


@pytest.mark.xfail(
    strict=True, reason="the clay chosen for its pace loses 36.1 % of the whole speed"
)
def test_row_7_loss_of_whole_speed_on_clay() -> None:
    """Check. The other reading of the same report."""
    assert loss_of_speed(SURFACES["clay"]) == pytest.approx(PRESS_REPORT, abs=FIVE_POINTS)


def test_row_7_lies_within_the_range_of_clay_courts() -> None:
    """Check, weak. Friction .70-.85, restitution .82-.88, grip rebound 0-.25 (from memory).

    The law reaches 43 % of ground speed with values in that range, by gripping only.
    """
    clays = [
        Surface("clay", restitution=e, friction=mu, grip_rebound=ex)
        for mu, e, ex in itertools.product((0.70, 0.85), (0.82, 0.88), (0.0, 0.25))
    ]
    losses = [loss_of_ground_speed(clay) for clay in clays]
    assert min(losses) < PRESS_REPORT < max(losses)


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


def test_row_8_worst_stack_of_weather_and_ball() -> None:
    """Check. About 1.8 m within 25 % (Cross 2018, published).

    Struck above the baseline at 0.914 m with 70 mph and 2000 rpm of topspin to land on the far
    baseline; then the same stroke in other weather with other balls. The balls are the lightest
    and largest and the heaviest and smallest that the rules allow. The extremes of weather are
    ours (assumed): 50 to 90 F, 29 to 31 inches of mercury, dry to saturated.
    """
    stroke = (70 * MPH, 2000 * RPM, 0.0)
    start = (0.0, 11.885, 0.914)
    reason, elevation, heading, _ = solve_launch(
        *start, 0.0, -11.885, *stroke, False, cross_world().numbers[0], NO_TABLE
    )
    assert reason == 0

    def moved_m(world: World) -> float:
        return abs(
            shoot(*start, elevation, heading, *stroke, world.numbers[0], NO_TABLE)[2] + 11.885
        )

    short = moved_m(cross_world(50, 31, 0.0, 0.0560, 0.0686))
    long = moved_m(cross_world(90, 29, 1.0, 0.0594, 0.0654))
    assert max(short, long) == pytest.approx(1.8, rel=0.25)


def serve_window_deg(w: np.void, net_m: float) -> tuple[float, float]:
    """Flattest and steepest angle below the horizontal of a flat serve at 134 mph that is in."""
    angles = np.arange(5.0, 11.0, 0.005)
    served = [
        shoot(0.0, 11.885, 2.95, -math.radians(a), AWAY, 134 * MPH, 0.0, 0.0, w, NO_TABLE)
        for a in angles
    ]
    inside = [shot[7] >= net_m and -shot[2] <= 6.40 for shot in served]
    return float(angles[inside].min()), float(angles[inside].max())


def test_row_9_window_of_a_flat_serve() -> None:
    """Check. 7.3 to 8.7 degrees within 0.15 (Minton and Bennett, lecture slides, published).

    Point ball over a net of 0.914 m; its contact height of about 2.95 m is inferred.
    """
    point = World().numbers.copy()
    point["radius_m"] = 1e-6
    assert serve_window_deg(point[0], 0.914) == pytest.approx((7.3, 8.7), abs=0.15)


def test_row_9_net_edge_of_a_ball_with_its_radius() -> None:
    """Check. Its underside has to clear the net: near 8.5 degrees, within 0.15."""
    steepest = serve_window_deg(World().numbers[0], 0.914 + 0.033)[1]
    assert steepest == pytest.approx(8.5, abs=0.15)


@pytest.mark.parametrize(
    ("friction", "restitution", "rating"), [(0.5, 0.75, 59), (0.6, 0.83, 37), (0.75, 0.85, 19)]
)
def test_row_10_court_pace_rating(friction: float, restitution: float, rating: float) -> None:
    """Input. Arithmetic of the ITF's formula at 23 C."""
    assert court_pace_rating(friction, restitution) == pytest.approx(rating, abs=1e-9)


@pytest.mark.parametrize("name", sorted(SURFACES))
def test_row_11_energy_never_grows_over_flight_bounce_and_flight(name: str) -> None:
    """Verification. Energy per kilogram of motion, height and spin, in still air.

    Every single flight and bounce, mirror symmetry and the integrator's order are tested in
    test_flight and test_bounce.
    """
    w = World(surface=SURFACES[name]).numbers[0]
    state, spin = (0.0, 11.0, 1.0, 2.0, -30.0, 3.0), (250.0, 20.0, 80.0)
    energies = []
    for _ in range(150):
        spinning = 0.55 * 0.033**2 * sum(s * s for s in spin)
        energies.append(0.5 * (sum(v * v for v in state[3:]) + spinning) + 9.80665 * state[2])
        state = advance(*state, *spin, 0.01, w)
        if state[2] < 0.033 and state[5] < 0:
            after = bounce(*state[3:], *spin, w)
            state, spin = state[:3] + after[:3], after[3:]
    assert np.all(np.diff(energies) < 0)
