"""Launch: the solved ball lands on its target, both solutions exist, and the reasons are true."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from reference_flight import RPM, Shot, fly_by_reference

from sim.court import HALF_LENGTH_M
from sim.flight_table import NO_TABLE
from sim.launch import (
    HIT,
    REASONS,
    TOO_FAST,
    TOO_SLOW,
    TOO_STEEP,
    UNDER_NET,
    carry,
    launch_state,
    lowest_over_net,
    shoot,
    solve_launch,
)
from sim.world import World

MILLIMETRE = 1e-3
STILL = World()
WINDY = World(wind_m_s=(4.0, -3.0, 0.0))


@dataclass(frozen=True)
class Wish:
    """A contact point, a target on the other side, speed and spin, in SI."""

    x: float = 0.0
    y: float = 11.885
    z: float = 1.0
    tx: float = 0.0
    ty: float = -10.0
    speed: float = 28.0
    topspin: float = 1500 * RPM
    sidespin: float = 0.0

    @property
    def numbers(self) -> tuple[float, ...]:
        return (
            self.x,
            self.y,
            self.z,
            self.tx,
            self.ty,
            self.speed,
            self.topspin,
            self.sidespin,
        )

    def solve(self, world: World = STILL, high: bool = False) -> tuple[int, float, float, float]:
        return solve_launch(  # type: ignore[no-any-return]
            *self.numbers, high, world.numbers[0], NO_TABLE
        )

    def miss_m(self, elevation: float, heading: float, world: World = STILL) -> float:
        """Distance between the landing of a launch and the target."""
        shot = self.fly(elevation, heading, world)
        return math.hypot(shot[1] - self.tx, shot[2] - self.ty)

    def fly(self, elevation: float, heading: float, world: World = STILL) -> tuple[float, ...]:
        return shoot(  # type: ignore[no-any-return]
            self.x,
            self.y,
            self.z,
            elevation,
            heading,
            self.speed,
            self.topspin,
            self.sidespin,
            world.numbers[0],
            NO_TABLE,
        )

    def excess_m(self, elevation: float, heading: float, world: World = STILL) -> float:
        """How far past the target a launch lands."""
        x, y, z, tx, ty, *ball = self.numbers
        w = world.numbers[0]
        return carry(  # type: ignore[no-any-return]
            x, y, z, tx, ty, elevation, heading, *ball, w, NO_TABLE
        )[0]


def random_wishes(count: int, seed: int, sidespin_rpm: float = 1500.0) -> list[Wish]:
    """Contacts anywhere on a side, targets anywhere on the other, at all speeds and spins."""
    rng = np.random.default_rng(seed)
    low = [-6, 1, 0.1, -4.1, -11.8, 8, -2500 * RPM, -sidespin_rpm * RPM]
    high = [6, 15, 2.8, 4.1, -1, 45, 3500 * RPM, sidespin_rpm * RPM]
    return [Wish(*rng.uniform(low, high)) for _ in range(count)]


@pytest.mark.parametrize("world", [STILL, WINDY], ids=["still", "windy"])
def test_launch_lands_within_a_millimetre_of_its_target(world: World) -> None:
    reached = 0
    for wish in random_wishes(400, seed=1):
        reason, elevation, heading, _ = wish.solve(world)
        if reason != TOO_SLOW:
            reached += 1
            assert wish.miss_m(elevation, heading, world) < MILLIMETRE
    assert reached > 300


def test_launch_lands_on_its_target_by_the_reference_too() -> None:
    for wish in random_wishes(60, seed=2):
        reason, elevation, heading, _ = wish.solve(WINDY)
        if reason != TOO_SLOW:
            state = launch_state(elevation, heading, wish.speed, wish.topspin, wish.sidespin)
            shot = Shot(WINDY, (wish.x, wish.y, wish.z), state[:3], state[3:])
            _, place, _ = fly_by_reference(
                shot, np.array(shot.place_m), np.array(state[:3]), np.array(state[3:])
            )
            assert math.hypot(place[0] - wish.tx, place[1] - wish.ty) < MILLIMETRE


@pytest.mark.parametrize("world", [STILL, WINDY], ids=["still", "windy"])
def test_low_and_high_ball_both_land_there(world: World) -> None:
    both = 0
    for wish in random_wishes(200, seed=3):
        low, high = wish.solve(world), wish.solve(world, high=True)
        assert (low[0] == TOO_SLOW) == (high[0] == TOO_SLOW)
        if high[0] not in (TOO_SLOW, TOO_STEEP):
            both += 1
            assert low[1] < high[1]
            assert wish.miss_m(*low[1:3], world) < MILLIMETRE
            assert wish.miss_m(*high[1:3], world) < MILLIMETRE
    assert both > 100


def test_no_ball_lower_than_the_low_one_lands_there() -> None:
    for wish in random_wishes(60, seed=4, sidespin_rpm=0.0):
        reason, elevation, heading, _ = wish.solve()
        if reason != TOO_SLOW:
            for lower in np.linspace(math.radians(-60), elevation - 0.002, 60):
                assert wish.excess_m(lower, heading) < 0.0


def test_too_slow_means_that_no_angle_carries_that_far() -> None:
    slow = [w for w in random_wishes(400, seed=5, sidespin_rpm=0.0) if w.solve()[0] == TOO_SLOW]
    assert len(slow) > 20
    for wish in slow:
        heading = math.atan2(wish.ty - wish.y, wish.tx - wish.x)
        carries = [wish.excess_m(math.radians(e), heading) for e in range(-20, 90, 2)]
        assert max(carries) < 0.0


# A drive; from close up, ankle high, to a short target; flat out from the baseline; a floater.
DRIVE = Wish()
CLOSE = Wish(y=2.0, z=0.15, ty=-2.0, speed=12.0, topspin=0.0)
SMASHED_LOW = Wish(z=0.5, ty=-11.0, speed=50.0, topspin=0.0)
FLOATER = Wish(speed=10.0)


@pytest.mark.parametrize(
    ("wish", "reason"),
    [(DRIVE, HIT), (CLOSE, UNDER_NET), (SMASHED_LOW, TOO_FAST), (FLOATER, TOO_SLOW)],
    ids=["drive", "close", "smashed-low", "floater"],
)
def test_each_reason_occurs_where_it_should(wish: Wish, reason: int) -> None:
    found, elevation, heading, gap = wish.solve()
    assert found == reason
    if reason == HIT:
        assert gap >= 0.0
    elif reason != TOO_SLOW:
        assert gap < 0.0
        assert wish.miss_m(elevation, heading) < MILLIMETRE


@pytest.mark.parametrize(("wish", "stays_in"), [(CLOSE, True), (SMASHED_LOW, False)])
def test_lowest_ball_over_the_net_decides_between_net_and_too_fast(
    wish: Wish, stays_in: bool
) -> None:
    heading = math.atan2(wish.ty - wish.y, wish.tx - wish.x)
    angles = np.radians(np.arange(-10.0, 60.0, 0.1))
    landings = [
        shot[2] for shot in (wish.fly(e, heading) for e in angles) if shot[7] - 0.033 >= 0.914
    ]
    assert (-landings[0] <= HALF_LENGTH_M) == stays_in


def test_too_steep_where_even_a_ball_straight_up_lands_past_the_target() -> None:
    """Topspin pushes a rising ball forward, so from close up a fast one cannot be lobbed short."""
    wish = Wish(y=1.5, z=1.5, ty=-1.0, speed=40.0, topspin=3500 * RPM)
    heading = math.atan2(wish.ty - wish.y, wish.tx - wish.x)
    assert wish.excess_m(math.radians(89.5), heading) > 0.0
    assert wish.solve(high=True)[0] == TOO_STEEP
    assert wish.solve()[0] != TOO_STEEP


def test_reasons_are_told_in_words() -> None:
    begins = ("can be hit", "net", "too fast", "too slow", "too steep")
    codes = (HIT, UNDER_NET, TOO_FAST, TOO_SLOW, TOO_STEEP)
    for code, words in zip(codes, begins, strict=True):
        assert REASONS[code].startswith(words)
    assert len(REASONS) == len(codes)


@pytest.mark.parametrize("gap_m", [0.0, 0.25, 1.0])
def test_lowest_ball_over_the_net_leaves_the_gap_asked_for(gap_m: float) -> None:
    found = 0
    for wish in random_wishes(40, seed=6, sidespin_rpm=0.0):
        heading = math.atan2(wish.ty - wish.y, wish.tx - wish.x)
        speed = max(wish.speed, 20.0)
        args = (wish.x, wish.y, wish.z)
        elevation, x, y, _ = lowest_over_net(
            *args, heading, speed, wish.topspin, gap_m, 0.0, STILL.numbers[0], NO_TABLE
        )
        if math.isnan(elevation):
            continue
        found += 1
        shot = shoot(
            *args, elevation, heading, speed, wish.topspin, 0.0, STILL.numbers[0], NO_TABLE
        )
        net = 0.914 + (1.07 - 0.914) * abs(shot[6]) / 5.029 if abs(shot[6]) <= 5.029 else 0.0
        assert shot[7] - 0.033 - net == pytest.approx(gap_m, abs=MILLIMETRE)
        assert (x, y) == (shot[1], shot[2])
    assert found > 30


def test_mirrored_wish_has_the_mirrored_launch() -> None:
    windy = WINDY.numbers.copy()
    windy["wind_x_m_s"] *= -1
    for wish in random_wishes(60, seed=7):
        reason, elevation, heading, gap = wish.solve(WINDY)
        x, y, z, tx, ty, speed, topspin, sidespin = wish.numbers
        other = solve_launch(
            -x, y, z, -tx, ty, speed, topspin, -sidespin, False, windy[0], NO_TABLE
        )
        assert other[0] == reason
        if reason != TOO_SLOW:
            assert other[1] == pytest.approx(elevation, abs=1e-6)
            assert math.sin(other[2]) == pytest.approx(math.sin(heading), abs=1e-6)
            assert math.cos(other[2]) == pytest.approx(-math.cos(heading), abs=1e-6)
            if math.isfinite(gap):
                assert other[3] == pytest.approx(gap, abs=MILLIMETRE)


def test_launch_state_turns_angles_into_velocity_and_spin() -> None:
    vx, vy, vz, sx, sy, sz = launch_state(math.radians(30), math.radians(-90), 20.0, 200.0, 50.0)
    assert (vx, vy, vz) == pytest.approx((0.0, -20 * math.cos(math.pi / 6), 10.0), abs=1e-9)
    # Topspin toward y < 0 turns about +x.
    assert (sx, sy, sz) == pytest.approx((200.0, 0.0, 50.0), abs=1e-9)
