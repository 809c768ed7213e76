"""Speed of meeting and grading on one core.

    python tests/benchmarks/bench_meeting.py

A professional man's drives from a corner, those that land in, against a professional man at 161
places along his waiting line. Prints (ball, place) pairs a second of processor time: the best of
many short runs, since other work on the machine only ever slows a run, and the median beside it;
and single meetings a second of bodies at rest and of moving ones. Exits with code 1 if the figure
to reach is missed.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from ordinary_drives import BASELINE_M, drives_from_corner, landed_in

from sim.contracts import bodies_at
from sim.meeting import appraisals, meetings
from sim.players import PLAYERS

LEAST_PAIRS_PER_S = 5_000_000
BALLS, PLACES, RUNS = 2_000, 161, 15
RECEIVER = PLAYERS["professional-man"]
LEGS = RECEIVER.legs


def rates_per_s(work: Callable[[], object], done: int) -> list[float]:
    """What is done a second in each run, after one run to compile and to warm up."""
    work()
    rates = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        rates.append(done / (time.process_time() - start))
    return rates


def main() -> int:
    balls, paths = landed_in(drives_from_corner(BALLS))
    count, line_m = len(balls), -(BASELINE_M + RECEIVER.waits_behind_m)
    x, y = np.linspace(-4.0, 4.0, PLACES), np.full(PLACES, line_m)
    rng = np.random.default_rng(1)
    still = bodies_at(rng.uniform(-4.0, 4.0, count), np.full(count, line_m))
    moving = still.copy()
    moving["vx_m_s"] = rng.uniform(-4.0, 4.0, count)
    moving["vy_m_s"] = rng.uniform(-1.0, 1.0, count)
    numbers, times = LEGS.numbers, LEGS.times
    jobs: dict[str, tuple[Callable[[], object], int]] = {
        "(ball, place) pairs": (
            lambda: appraisals(balls, paths, x, y, numbers, times),
            count * PLACES,
        ),
        "meetings at rest": (lambda: meetings(balls, paths, still, numbers, times), count),
        "meetings moving": (lambda: meetings(balls, paths, moving, numbers, times), count),
    }
    print(f"{count} of {BALLS} balls landed in; {PLACES} places; best and median of {RUNS} runs")
    print(f"{'a second':<22}{'best':>14}{'median':>14}")
    best = {}
    for name, (work, done) in jobs.items():
        rates = rates_per_s(work, done)
        best[name] = max(rates)
        print(f"{name:<22}{best[name]:>14,.0f}{statistics.median(rates):>14,.0f}")
    missed = best["(ball, place) pairs"] < LEAST_PAIRS_PER_S
    print(f"to reach: {LEAST_PAIRS_PER_S:,} pairs" + (" - missed" if missed else ""))
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
