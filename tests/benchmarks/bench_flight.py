"""Speed of flight and of launch solving on one core, against SciPy's DOP853 in the same run.

    python tests/benchmarks/bench_flight.py

Prints landings a second of both, the worst landing error, and launches solved a second; exits with
code 1 if a figure to reach is missed.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from reference_flight import RPM, Shot, fly_by_reference, random_shots

from sim.compiled import kernel
from sim.flight import fly
from sim.flight_table import NO_TABLE
from sim.launch import TOO_SLOW, shoot, solve_launch
from sim.world import World

SHOTS = 500
COPIES = 100
LAUNCHES = 20_000
LEAST_RATIO = 200
LEAST_SOLVES_PER_S = 10_000
LARGEST_MISS_M = 1e-3
LARGEST_DELAY_S = 1e-4


@kernel
def land_all(starts, worlds, landings):  # type: ignore[no-untyped-def]
    for i in range(starts.shape[0]):
        s = starts[i]
        t, x, y, _, _, _, _, _ = fly(
            s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7], s[8], worlds[i]
        )
        landings[i, 0], landings[i, 1], landings[i, 2] = t, x, y


@kernel
def solve_all(wishes, world, launches):  # type: ignore[no-untyped-def]
    w = world[0]
    for i in range(wishes.shape[0]):
        q = wishes[i]
        reason, elevation, heading, _ = solve_launch(
            q[0], q[1], q[2], q[3], q[4], q[5], q[6], 0.0, False, w, NO_TABLE
        )
        launches[i, 0], launches[i, 1], launches[i, 2] = reason, elevation, heading


@kernel
def largest_miss(wishes, launches, world):  # type: ignore[no-untyped-def]
    worst = 0.0
    for i in range(wishes.shape[0]):
        q = wishes[i]
        if launches[i, 0] != TOO_SLOW:
            shot = shoot(
                q[0],
                q[1],
                q[2],
                launches[i, 1],
                launches[i, 2],
                q[5],
                q[6],
                0.0,
                world[0],
                NO_TABLE,
            )
            worst = max(worst, np.hypot(shot[1] - q[3], shot[2] - q[4]))
    return worst


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Shortest time of a few runs."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def land_by_reference(shots: list[Shot]) -> np.ndarray:
    landings = []
    for shot in shots:
        parts = (shot.place_m, shot.velocity_m_s, shot.spin_rad_s)
        t, place, _ = fly_by_reference(shot, *(np.array(part) for part in parts))
        landings.append((t, place[0], place[1]))
    return np.array(landings)


def bench_landings() -> bool:
    shots = random_shots(SHOTS, seed=7)
    starts = np.array([shot.numbers for shot in shots])
    worlds = np.concatenate([shot.world.numbers for shot in shots])
    many_starts, many_worlds = np.tile(starts, (COPIES, 1)), np.tile(worlds, COPIES)
    landings = np.empty((len(many_starts), 3))
    land_all(starts, worlds, landings[:SHOTS])  # compile

    own_s = seconds(lambda: land_all(many_starts, many_worlds, landings)) / len(landings)
    start = time.perf_counter()
    truth = land_by_reference(shots)
    reference_s = (time.perf_counter() - start) / SHOTS

    off = np.abs(landings[:SHOTS] - truth)
    miss_m, delay_s = np.hypot(off[:, 1], off[:, 2]).max(), off[:, 0].max()
    ratio = reference_s / own_s
    print(f"landings a second:             {1 / own_s:12,.0f}")
    print(f"landings a second, DOP853:     {1 / reference_s:12,.0f}")
    print(f"ratio:                         {ratio:12,.0f}   (to reach: {LEAST_RATIO})")
    print(f"worst of {SHOTS} landings, place:  {1e3 * miss_m:12.4f} mm (allowed: 1)")
    print(f"worst of {SHOTS} landings, time:   {1e3 * delay_s:12.5f} ms (allowed: 0.1)")
    return bool(ratio >= LEAST_RATIO and miss_m < LARGEST_MISS_M and delay_s < LARGEST_DELAY_S)


def bench_launches() -> bool:
    """Baseline drives: contact, target, speed and topspin drawn uniformly."""
    low = [-5, 11, 0.5, -4, -11.5, 22, 500 * RPM]
    high = [5, 14, 1.6, 4, -5, 34, 3000 * RPM]
    wishes = np.random.default_rng(8).uniform(low, high, (LAUNCHES, 7))
    launches, world = np.empty((LAUNCHES, 3)), World().numbers
    solve_all(wishes[:1], world, launches)  # compile
    rate = LAUNCHES / seconds(lambda: solve_all(wishes, world, launches))
    miss_m = largest_miss(wishes, launches, world)
    print(f"launches solved a second:      {rate:12,.0f}   (to reach: {LEAST_SOLVES_PER_S:,})")
    print(f"worst of their landings:       {1e3 * miss_m:12.4f} mm (allowed: 1)")
    return bool(rate >= LEAST_SOLVES_PER_S and miss_m < LARGEST_MISS_M)


if __name__ == "__main__":
    reached = [bench_landings(), bench_launches()]
    sys.exit(0 if all(reached) else "A figure to reach was missed.")
