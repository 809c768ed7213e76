"""Movement: the reachable disc of a moving body, the split step, and recovery to a spot."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from ordinary_drives import drives, hanging, landed_in
from reference_meeting import time_to_spare_s
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sim.contracts import bodies_at
from sim.legs import Legs
from sim.meeting import meetings
from sim.movement import recovered
from sim.players import PLAYERS
from sim.records import BODY

CLOSE_S = 3e-3
ARRIVAL_S = 20e-6  # tables within 10 microseconds, read twice
# Reach that does not change with the side: the disc alone is then what decides.
DISC = Legs(two_handed_backhand=False)


def bodies(rng: np.random.Generator, count: int, fastest_m_s: float = 6.0) -> np.ndarray:
    """Bodies that run in all directions."""
    out = bodies_at(rng.uniform(-5, 5, count), rng.uniform(-16, -10, count))
    speed, way = fastest_m_s * rng.random(count), rng.uniform(-np.pi, np.pi, count)
    out["vx_m_s"], out["vy_m_s"] = speed * np.cos(way), speed * np.sin(way)
    return out


Bodies = np.ndarray | np.void  # BODY records, or one of them


def reaction_s(body: Bodies, legs: Legs) -> np.ndarray:
    v2 = body["vx_m_s"] ** 2 + body["vy_m_s"] ** 2
    return np.asarray(
        legs.reaction_s + legs.split_gain_s * v2 / (v2 + legs.split_half_speed_m_s**2)
    )


def place(body: Bodies) -> np.ndarray:
    return np.stack([body["x_m"], body["y_m"]], axis=-1)


def velocity(body: Bodies) -> np.ndarray:
    return np.stack([body["vx_m_s"], body["vy_m_s"]], axis=-1)


def drift_s(time_s: np.ndarray | float, legs: Legs) -> np.ndarray:
    """Metres that a fading velocity of 1 m/s carries."""
    return np.asarray(legs.tau_s * (1 - np.exp(-np.asarray(time_s) / legs.tau_s)))


def disc(body: Bodies, time_s: np.ndarray, legs: Legs) -> tuple[np.ndarray, np.ndarray]:
    """Centre and radius of the reachable disc `time_s` after the opponent's strike.

    Fujimura and Sugihara 2005 (from memory), after a reaction in which the velocity fades.
    """
    wait = reaction_s(body, legs)
    centre = place(body) + velocity(body) * drift_s(time_s, legs)[..., None]
    s = np.maximum(time_s - wait, 0)
    return centre, legs.top_speed_m_s * (s - drift_s(s, legs))


def arrival_by_root_s(body: np.void, ball: np.ndarray, legs: Legs) -> float:
    """The last time after the reaction at which the disc plus reach begins to hold the ball."""
    wait = float(reaction_s(body, legs))

    def outside(s: np.ndarray | float) -> np.ndarray:
        centre, radius = disc(body, np.asarray(wait + s), legs)
        return np.asarray(np.hypot(*(ball - centre).T) - radius - legs.full_reach_m)

    grid = np.concatenate([np.linspace(0, 0.6, 601), np.linspace(0.61, 8, 740)])
    beyond = np.flatnonzero(outside(grid) > 0)
    if len(beyond) == 0:
        return 0.0
    return float(brentq(outside, grid[beyond[-1]], grid[beyond[-1] + 1], xtol=1e-9))


def hung_spare_s(body: np.ndarray, ball: np.ndarray, until_s: np.ndarray, legs: Legs) -> np.ndarray:
    """Time to spare of bodies (n,) at balls (n, 2) that hang until then."""
    flown = hanging(ball[:, 0], ball[:, 1], until_s)
    return np.asarray(meetings(*flown, body, legs.numbers, legs.times)["time_to_spare_s"])


@pytest.mark.parametrize("level", PLAYERS)
def test_arrival_of_a_moving_body_is_the_root_of_its_disc(level: str) -> None:
    """At places out of reach at first; ten times closer than the 3 ms that a path is allowed."""
    legs = dataclasses.replace(PLAYERS[level].legs, two_handed_backhand=False)
    rng = np.random.default_rng(1)
    body = bodies(rng, 60)
    ball = place(body) + rng.uniform(-7, 7, (60, 2))
    until_s = 6.0
    exact = np.array([arrival_by_root_s(b, p, legs) for b, p in zip(body, ball, strict=True)])
    arrival = (
        until_s - reaction_s(body, legs) - hung_spare_s(body, ball, np.full(60, until_s), legs)
    )
    far = exact > 0.5
    assert far.sum() > 25
    np.testing.assert_allclose(arrival[far], exact[far], atol=ARRIVAL_S, rtol=0)
    np.testing.assert_allclose(arrival, exact, atol=CLOSE_S, rtol=0)


def test_time_to_spare_of_moving_bodies_on_ordinary_drives() -> None:
    """Against brute force over the whole path."""
    balls, paths = landed_in(drives(500, "college-man", seed=4), 250)
    body = bodies(np.random.default_rng(2), 250)
    rows = zip(paths, balls["points"], body, strict=True)
    exact = np.array([time_to_spare_s(*row, DISC) for row in rows])
    spare = meetings(balls, paths, body, DISC.numbers, DISC.times)["time_to_spare_s"]
    assert np.mean(exact < 0) > 0.1 and np.mean(exact > 0) > 0.1
    np.testing.assert_allclose(spare, exact, atol=CLOSE_S, rtol=0)


def test_wrong_footed_is_slower_and_a_run_that_way_is_faster() -> None:
    """A ball far to the right, bodies that run left, stand, and run right."""
    body = bodies_at(np.zeros(5), np.full(5, -13.0))
    body["vx_m_s"] = [-4.0, -2.0, 0.0, 2.0, 4.0]
    ball = np.tile([6.0, -13.0], (5, 1))
    spare = hung_spare_s(body, ball, np.full(5, 3.0), DISC)
    # The lost split step costs a body that runs; compare the running time alone.
    arrival = 3.0 - spare - reaction_s(body, DISC)
    assert np.all(np.diff(arrival) < -0.1)


def driven(body: np.void, times_s: np.ndarray, controls: np.ndarray, legs: Legs) -> np.ndarray:
    """Places (pieces + 1, 2) of v' = (u top - v)/tau, integrated, u constant in each piece."""
    state = np.concatenate([place(body), velocity(body)])
    out = [state[:2]]
    for begin, end, u in zip(times_s[:-1], times_s[1:], controls, strict=True):
        pull = legs.top_speed_m_s * u

        def law(_: float, s: np.ndarray, pull: np.ndarray = pull) -> np.ndarray:
            return np.concatenate([s[2:], (pull - s[2:]) / legs.tau_s])

        state = solve_ivp(law, (begin, end), state, rtol=1e-9, atol=1e-11).y[:, -1]
        out.append(state[:2])
    return np.array(out)


def test_no_control_leaves_the_disc() -> None:
    """Random controls of at most full effort, at every moment that is looked at."""
    rng = np.random.default_rng(3)
    for body in bodies(rng, 25):
        wait = float(reaction_s(body, DISC))
        times_s = np.concatenate([[0.0, wait], wait + np.cumsum(rng.uniform(0.05, 0.4, 8))])
        way, effort = rng.uniform(-np.pi, np.pi, 8), np.sqrt(rng.random(8))
        effort[rng.random(8) < 0.5] = 1.0
        controls = np.concatenate(
            [np.zeros((1, 2)), effort[:, None] * np.stack([np.cos(way), np.sin(way)], axis=1)]
        )
        places = driven(body, times_s, controls, DISC)
        centre, radius = disc(body, times_s, DISC)
        assert np.all(np.hypot(*(places - centre).T) <= radius + 1e-7)
        # The disc keeps what it holds only once its edge is faster than its centre.
        kept = times_s - wait > DISC.tau_s * np.log(1 + 6.0 / DISC.top_speed_m_s)
        there = np.repeat(np.array([body]), kept.sum())
        spare = hung_spare_s(there, places[kept], times_s[kept], reachless())
        assert np.all(spare > -1e-4), "a place that was reached is said to be out of reach"


def reachless() -> Legs:
    """Legs of a body that has to get to the ball itself."""
    return dataclasses.replace(DISC, full_reach_m=0.0)


def test_constant_full_effort_reaches_the_rim() -> None:
    """And a ball there, or at reach beyond it, leaves no time to spare."""
    rng = np.random.default_rng(4)
    for body in bodies(rng, 12):
        wait = float(reaction_s(body, DISC))
        way, end = rng.uniform(-np.pi, np.pi), wait + rng.uniform(0.8, 2.0)
        u = np.array([np.cos(way), np.sin(way)])
        reached = driven(body, np.array([0.0, wait, end]), np.array([0 * u, u]), DISC)[-1]
        centre, radius = disc(body, np.asarray(end), DISC)
        assert np.hypot(*(reached - centre)) == pytest.approx(float(radius), abs=1e-7)
        for legs, ball in ((reachless(), reached), (DISC, reached + DISC.full_reach_m * u)):
            spare = hung_spare_s(np.array([body]), ball[None], np.array([end]), legs)
            assert spare[0] == pytest.approx(0.0, abs=1e-4)


def split_delays_s(speeds_m_s: np.ndarray, legs: Legs, way: float = 0.3) -> np.ndarray:
    """Extra reaction of bodies that run at these speeds when the opponent strikes."""
    count = len(speeds_m_s)
    body = bodies_at(np.zeros(count), np.full(count, -13.0))
    body["vx_m_s"], body["vy_m_s"] = speeds_m_s * np.cos(way), speeds_m_s * np.sin(way)
    flown = hanging(np.zeros(count), np.full(count, -13.0), 2.0)
    return np.asarray(meetings(*flown, body, legs.numbers, legs.times)["split_delay_s"])


def test_split_step_is_lost_smoothly_with_speed() -> None:
    legs = Legs(split_gain_s=0.12, split_half_speed_m_s=1.8)
    assert split_delays_s(np.array([0.0, 1.8, 1e4]), legs) == pytest.approx([0, 0.06, 0.12])
    speeds = np.linspace(0.0, 12.0, 2401)
    delay = split_delays_s(speeds, legs)
    assert np.all(np.diff(delay) > 0) and delay[-1] < 0.12
    slope = np.gradient(delay, speeds)
    assert slope[0] < 1e-3, "a slow step costs next to nothing"
    assert np.abs(np.diff(slope)).max() < 5e-4, "no kink"
    np.testing.assert_allclose(split_delays_s(speeds, legs, way=2.5), delay, rtol=1e-9, atol=1e-15)


def test_lost_split_step_is_lost_time() -> None:
    """A body that is slow enough to have drifted nowhere still reacts later by its delay."""
    body = bodies_at(np.zeros(1), np.full(1, -13.0))
    body["vx_m_s"] = 1e-3
    ball = np.array([[5.0, -13.0]])
    jumpy = dataclasses.replace(DISC, split_half_speed_m_s=1e-6)
    spare, unmoved = (hung_spare_s(body, ball, np.array([3.0]), legs)[0] for legs in (jumpy, DISC))
    assert unmoved - spare == pytest.approx(DISC.split_gain_s, abs=1e-4)


def recover(
    body: np.ndarray, spot: np.ndarray, times_s: np.ndarray | float, legs: Legs
) -> tuple[np.ndarray, np.ndarray]:
    times = np.broadcast_to(np.asarray(times_s, float), len(body)).copy()
    return recovered(body, spot, times, legs.numbers)


def course(
    body: np.void, spot: np.ndarray, times_s: np.ndarray, legs: Legs, in_all_s: float = 60.0
) -> tuple[np.ndarray, np.ndarray]:
    """Places and velocities at many times of one recovery that has `in_all_s`."""
    count = len(times_s)
    bodies, spots = np.repeat(np.array([body]), count), np.tile(spot, (count, 1))
    now, _ = recovered(bodies, spots, np.full(count, in_all_s), legs.numbers, times_s)
    return place(now), velocity(now)


def random_spots(rng: np.random.Generator, count: int) -> np.ndarray:
    return np.stack([rng.uniform(-3, 3, count), rng.uniform(-15, -11, count)], axis=1)


@pytest.mark.parametrize("level", PLAYERS)
def test_recovery_stops_at_its_spot(level: str) -> None:
    rng = np.random.default_rng(5)
    body, spot = bodies(rng, 100), random_spots(rng, 100)
    now, metres = recover(body, spot, 60.0, PLAYERS[level].legs)
    np.testing.assert_allclose(place(now), spot, atol=1e-9, rtol=0)
    np.testing.assert_allclose(velocity(now), 0, atol=1e-9)
    out = velocity(body) * drift_s(PLAYERS[level].legs.follow_through_s, PLAYERS[level].legs)
    back = spot - place(body) - out
    np.testing.assert_allclose(metres, np.hypot(*out.T) + np.hypot(*back.T), atol=1e-9)


def test_recovery_from_rest_never_overshoots() -> None:
    """It stays on the straight way and comes nearer all the time, never past the spot."""
    rng, times_s = np.random.default_rng(6), np.linspace(0, 6, 601)
    for x, y, spot in zip(*places_at_rest(rng, 40), random_spots(rng, 40), strict=True):
        places, speeds = course(bodies_at(np.array([x]), np.array([y]))[0], spot, times_s, Legs())
        way = spot - [x, y]
        length = np.hypot(*way)
        along = (places - [x, y]) @ way / length
        aside = (places - [x, y]) @ [-way[1], way[0]] / length
        assert np.all(np.diff(along) >= -1e-12) and along.max() <= length + 1e-9
        assert np.abs(aside).max() < 1e-9
        assert np.all(speeds @ way >= -1e-9)


def places_at_rest(rng: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
    return rng.uniform(-6, 6, count), rng.uniform(-16, -10, count)


def test_running_toward_the_spot_does_not_pass_it() -> None:
    """As long as the speed alone would not carry the body past."""
    legs, times_s = Legs(), np.linspace(0, 6, 601)
    for speed in (1.0, 3.0, 5.0):
        body = bodies_at(np.zeros(1), np.full(1, -13.0))
        body["vx_m_s"] = speed
        spot = np.array([speed * legs.tau_s + 0.2, -13.0])
        places, _ = course(body[0], spot, times_s, legs)
        assert np.all(np.diff(places[:, 0]) >= -1e-12)
        assert places[-1, 0] <= spot[0] + 1e-9


def test_more_effort_and_more_time_bring_the_body_nearer() -> None:
    rng = np.random.default_rng(7)
    body, spot = bodies(rng, 200, fastest_m_s=0.0), random_spots(rng, 200)
    for time_s in (0.4, 0.8, 1.3, 2.5):
        left = []
        for effort in (0.4, 0.6, 0.8, 1.0):
            legs = Legs(recovery_effort=effort, follow_through_s=0.3)
            now, _ = recover(body, spot, time_s, legs)
            left.append(np.hypot(*(spot - place(now)).T))
        assert np.all(np.diff(left, axis=0) <= 1e-9)
        assert np.mean(left[0] - left[-1]) > 0.005


@pytest.mark.parametrize("tau_s", [0.7, 1.1])
def test_velocity_fades_until_the_follow_through_ends(tau_s: float) -> None:
    legs = Legs(tau_s=tau_s, follow_through_s=0.4)
    rng = np.random.default_rng(8)
    body, spot = bodies(rng, 100), random_spots(rng, 100)
    for time_s in (0.0, 0.1, 0.25, 0.4):
        now, metres = recover(body, spot, time_s, legs)
        faded = velocity(body) * np.exp(-time_s / tau_s)
        moved = velocity(body) * tau_s * (1 - np.exp(-time_s / tau_s))
        np.testing.assert_allclose(velocity(now), faded, atol=1e-12)
        np.testing.assert_allclose(place(now), place(body) + moved, atol=1e-12)
        np.testing.assert_allclose(metres, np.hypot(*moved.T), atol=1e-12)
    later, _ = recover(body, spot, 0.8, legs)
    pushed = np.hypot(*(velocity(later) - velocity(body) * np.exp(-0.8 / tau_s)).T)
    assert np.mean(pushed > 1e-3) > 0.95  # but whom the velocity alone takes to the spot


@pytest.mark.parametrize("in_all_s", [1.2, 4.0])
def test_velocity_is_the_slope_of_the_course(in_all_s: float) -> None:
    """And after the follow-through it changes no faster than pushing off and braking allow."""
    legs, rng = Legs(), np.random.default_rng(9)
    times_s = np.linspace(0, in_all_s, 4001)
    strongest = legs.hurried_effort * legs.top_speed_m_s / legs.tau_s
    for body, spot in zip(bodies(rng, 20), random_spots(rng, 20), strict=True):
        places, speeds = course(body, spot, times_s, legs, in_all_s)
        slope = np.diff(places, axis=0) / np.diff(times_s)[:, None]
        np.testing.assert_allclose(slope, (speeds[1:] + speeds[:-1]) / 2, atol=0.01)
        fading = np.hypot(*velocity(body)) / legs.tau_s
        change = np.hypot(*np.diff(speeds, axis=0).T) / np.diff(times_s)
        assert change.max() <= max(strongest, legs.braking_m_s2) + fading + 1e-6


@pytest.mark.parametrize("effort", [0.4, 0.6, 1.0])
def test_run_to_the_spot_takes_the_time_of_its_two_parts(effort: float) -> None:
    """Speeding up at that effort, then braking: the moment between them is a root of its own."""
    legs = Legs(recovery_effort=effort)
    top, tau, brake = effort * legs.top_speed_m_s, legs.tau_s, legs.braking_m_s2
    for length in (0.05, 0.7, 3.0, 8.0):

        def excess(t: float, length: float = length) -> float:
            v = top * (1 - np.exp(-t / tau))
            return float(top * t - tau * v + v * v / (2 * brake) - length)

        turn = brentq(excess, 0, 60, xtol=1e-12)
        speed = top * (1 - np.exp(-turn / tau))
        arrives = legs.follow_through_s + turn + speed / brake
        body, spot = bodies_at(np.zeros(1), np.full(1, -13.0)), np.array([length, -13.0])
        moments = legs.follow_through_s + np.array([turn, turn + 0.5 * speed / brake])
        places, speeds = course(body[0], spot, np.append(moments, arrives), legs)
        ran = top * turn - tau * speed
        expected = [ran, ran + 0.375 * speed**2 / brake, length]
        np.testing.assert_allclose(places[:, 0], expected, atol=1e-6)
        np.testing.assert_allclose(speeds[:, 0], [speed, speed / 2, 0], atol=1e-5)


def test_recovery_slows_for_the_split_step_and_no_more_than_it_must() -> None:
    """At the opponent's contact a run is no faster than the ready speed; nearer than one that stops
    altogether, not as near as one that runs on."""
    rng, still = np.random.default_rng(11), 0.0
    body, spot = bodies(rng, 300, fastest_m_s=still), random_spots(rng, 300)
    for time_s in (0.6, 0.9, 1.3):
        left = {}
        for ready in (0.0, 1.0, 9.0):
            legs = Legs(ready_speed_m_s=ready, run_on_share=0.0)
            now, _ = recover(body, spot, time_s, legs)
            assert np.hypot(*velocity(now).T).max() <= ready + 1e-6
            left[ready] = np.hypot(*(spot - place(now)).T)
        assert np.all(left[9.0] <= left[1.0] + 1e-9) and np.all(left[1.0] <= left[0.0] + 1e-9)
        assert np.mean(left[0.0] - left[9.0]) > 0.01


def test_recovery_short_of_time_hurries() -> None:
    """Up to the hurried effort, and only where the usual one would not do."""
    calm, hurried = Legs(hurried_effort=0.6), Legs(hurried_effort=0.9)
    body, way = bodies_at(np.zeros(2), np.full(2, -13.0)), np.array([[0.3, -13.0], [5.0, -13.0]])
    (slow, _), (fast, _) = (recover(body, way, 1.1, legs) for legs in (calm, hurried))
    assert fast["x_m"][0] == slow["x_m"][0]
    assert fast["x_m"][1] > slow["x_m"][1] + 0.1


def test_recovery_on_the_spot_stays_there() -> None:
    body = bodies_at(np.array([1.5]), np.array([-12.0]))
    for time_s in (0.0, 0.3, 1.0, 10.0):
        now, metres = recover(body, place(body), time_s, Legs())
        assert now[0] == body[0]
        assert metres[0] == 0.0


def test_recovery_of_a_batch_is_that_of_each_alone() -> None:
    rng = np.random.default_rng(10)
    body, spot, times_s = bodies(rng, 50), random_spots(rng, 50), rng.uniform(0, 3, 50)
    now, metres = recover(body, spot, times_s, Legs())
    order = rng.permutation(50)
    again, metres_again = recover(body[order], spot[order], times_s[order], Legs())
    assert now.dtype == BODY
    np.testing.assert_array_equal(again, now[order])
    np.testing.assert_array_equal(metres_again, metres[order])


def test_a_player_short_of_time_runs_on_through_the_strike() -> None:
    """The more of a hurry the faster at the strike, and nearer to the spot than one who slows."""
    slows, runs_on = (Legs(run_on_share=share, follow_through_s=0.3) for share in (0.0, 0.3))
    still, times = bodies_at(np.zeros(40), np.full(40, -13.0)), np.full(40, 1.3)
    spots = np.stack([np.linspace(0.1, 6.0, 40), np.full(40, -13.0)], axis=1)
    (slow, _), (fast, _) = (recover(still, spots, times, legs) for legs in (slows, runs_on))
    speed = velocity(fast)[:, 0]
    assert np.all(np.diff(speed) >= -1e-9) and np.diff(speed).max() < 0.5
    assert speed.max() > slows.ready_speed_m_s + 0.3
    assert np.all(speed <= slows.ready_speed_m_s + 0.3 * spots[:, 0] / 1.0 + 1e-6)
    assert np.all(place(fast)[:, 0] >= place(slow)[:, 0] - 1e-9)
    near = spots[:, 0] < 0.3
    np.testing.assert_allclose(place(fast)[near], place(slow)[near], atol=1e-9)
