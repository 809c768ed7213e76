"""The time to spare by brute force, from the definitions alone.

The recorded path is looked at every millisecond; a body is in time for a point with `spare`
seconds left if the point lies in its reachable disc, plus reach, at that moment and for ever after.
The largest such `spare` is found by scipy's brentq. Slow sides of the legs are not included.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from sim.legs import Legs
from sim.records import VZ, T, X, Y, Z

LOOKS_PER_SAMPLE = 20
WITHIN_LIMITS = 1e-9
SHARES = np.linspace(0, 1, 21)[1:]
LATE_M_PER_S = 10.0  # any slope: a point whose time has passed is out of reach
Distances = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True)
class Points:
    """Points of a path that can be played: times, places, comfort."""

    t: np.ndarray
    x: np.ndarray
    y: np.ndarray
    z: np.ndarray
    comfort: np.ndarray

    def where(self, mask: np.ndarray) -> Points:
        return Points(self.t[mask], self.x[mask], self.y[mask], self.z[mask], self.comfort[mask])


@dataclass(frozen=True)
class Start:
    """A body when its reaction ends."""

    x: float
    y: float
    vx: float
    vy: float
    wait: float


def comfort_at(z: np.ndarray, vz: np.ndarray, legs: Legs) -> np.ndarray:
    """Halved `fade` metres outside the best heights, as a bell; less on a rising ball."""
    below = np.maximum(legs.best_low_m - z, 0) / legs.fade_low_m
    above = np.maximum(z - legs.best_high_m, 0) / legs.fade_high_m
    rising = np.maximum(vz, 0)
    return 0.5 ** (below**2 + above**2) * (1 - legs.rise_cost * rising / (rising + 2))


def points_of(
    path: np.ndarray,
    count: int,
    legs: Legs,
    least_comfort: float = -1.0,
    looks_per_sample: int = LOOKS_PER_SAMPLE,
) -> Points:
    """Playable points of a path, straight between its samples, of at least that comfort."""
    rows = path[:count]
    comfort = comfort_at(rows[:, Z], rows[:, VZ], legs)
    knots = np.arange(count)
    margins = (rows[:, Z] - legs.playable_low_m, legs.playable_high_m - rows[:, Z])
    places = np.linspace(0, count - 1, (count - 1) * looks_per_sample + 1)
    for margin in (*margins, comfort - least_comfort):
        k = np.flatnonzero(margin[:-1] * margin[1:] < 0)
        places = np.append(places, k + margin[k] / (margin[k] - margin[k + 1]))
    places = np.sort(places)
    t, x, y, z = (np.interp(places, knots, rows[:, column]) for column in (T, X, Y, Z))
    every = Points(t, x, y, z, np.interp(places, knots, comfort))
    inside = (every.z >= legs.playable_low_m - WITHIN_LIMITS) & (
        every.z <= legs.playable_high_m + WITHIN_LIMITS
    )
    if not inside.any() and least_comfort < 0:
        return every.where(np.arange(len(places)) == np.argmax(every.z))
    return every.where(inside & (every.comfort >= least_comfort - WITHIN_LIMITS))


def start_of(body: np.void, legs: Legs) -> Start:
    """Without a split step the reaction is longer; the velocity fades while it lasts."""
    speed2 = body["vx_m_s"] ** 2 + body["vy_m_s"] ** 2
    wait = legs.reaction_s + legs.split_gain_s * speed2 / (speed2 + legs.split_half_speed_m_s**2)
    fade = np.exp(-wait / legs.tau_s)
    drift = legs.tau_s * (1 - fade)
    vx, vy = body["vx_m_s"], body["vy_m_s"]
    return Start(body["x_m"] + vx * drift, body["y_m"] + vy * drift, vx * fade, vy * fade, wait)


def sprint(legs: Legs) -> Distances:
    """Distance run from rest in a time."""
    return lambda s: legs.top_speed_m_s * (s - legs.tau_s * (1 - np.exp(-s / legs.tau_s)))


def sprint_and_brake(legs: Legs) -> Distances:
    """Distance from rest in a time at the end of which the speed is down to the settled one."""
    turn = np.linspace(0, 12, 120_001)
    speed = legs.top_speed_m_s * (1 - np.exp(-turn / legs.tau_s))
    fast, slow = np.maximum(speed, legs.settled_speed_m_s), legs.settled_speed_m_s
    time = turn + (fast - slow) / legs.braking_m_s2
    distance = sprint(legs)(turn) + (fast**2 - slow**2) / (2 * legs.braking_m_s2)
    return lambda s: np.interp(s, time, distance)


def beyond_reach(
    p: Points, s: np.ndarray, start: Start, reaches: tuple[float, float], legs: Legs, run: Distances
) -> np.ndarray:
    """Metres by which each point lies outside the disc plus reach `s` after the reaction."""
    drift = legs.tau_s * (1 - np.exp(-np.maximum(s, 0) / legs.tau_s))
    dx, dy = p.x - start.x - start.vx * drift, p.y - start.y - start.vy * drift
    hand = 1 if legs.hand == "right" else -1
    reach = np.where(dx * hand < 0, reaches[1], reaches[0])
    outside = np.hypot(dx, dy) - reach - run(np.maximum(s, 0))
    return np.where(s < 0, np.maximum(outside, 0) - LATE_M_PER_S * s, outside)


def lasting(
    p: Points, s: np.ndarray, start: Start, reaches: tuple[float, float], legs: Legs, run: Distances
) -> np.ndarray:
    """The same, the largest from `s` on: the disc may leave a point behind at first.

    Once its edge is faster than its centre, at `nested`, it never lets go again.
    """
    worst = beyond_reach(p, s, start, reaches, legs, run)
    speed = np.hypot(start.vx, start.vy)
    if speed > 0:
        nested = legs.tau_s * np.log(1 + speed / legs.top_speed_m_s)
        early = (s >= 0) & (s < nested)
        few = p.where(early)
        for share in SHARES if early.any() else ():
            later = s[early] + share * (nested - s[early])
            outside = beyond_reach(few, later, start, reaches, legs, run)
            worst[early] = np.maximum(worst[early], outside)
    return worst


def most_spare_s(
    p: Points, start: Start, reaches: tuple[float, float], legs: Legs, run: Distances
) -> float:
    """Largest time to spare over the points, to a microsecond; -inf without a point."""
    if len(p.t) == 0:
        return -np.inf
    left = p.t - start.wait

    def closest(spare: float) -> float:
        return float(lasting(p, left - spare, start, reaches, legs, run).min())

    return float(brentq(closest, -10.0, float(left.max()) + 0.01, xtol=1e-6))


def time_to_spare_at_s(points: Points, start: Start, legs: Legs) -> np.ndarray:
    """Time to spare at each single point, at full reach."""
    reaches = (legs.full_reach_m, legs.backhand_reach_m)
    singles = [points.where(np.arange(len(points.t)) == k) for k in range(len(points.t))]
    return np.array([most_spare_s(p, start, reaches, legs, sprint(legs)) for p in singles])


def time_to_spare_s(path: np.ndarray, count: int, body: np.void, legs: Legs) -> float:
    """Time to spare of a body, at full reach and at playable heights."""
    reaches = (legs.full_reach_m, legs.backhand_reach_m)
    points = points_of(path, count, legs)
    return most_spare_s(points, start_of(body, legs), reaches, legs, sprint(legs))


def time_to_settle_s(
    path: np.ndarray, count: int, body: np.void, legs: Legs, run: Distances
) -> float:
    """Time to spare for a settled stroke, at comfortable reach and heights; `run` as it brakes."""
    reaches = (legs.comfortable_reach_m, legs.comfortable_reach_m)
    return most_spare_s(points_of(path, count, legs, 0.5), start_of(body, legs), reaches, legs, run)
