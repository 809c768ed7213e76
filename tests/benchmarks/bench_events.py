"""Speed of the event engine and of the array engine on one core, in one run.

    python tests/benchmarks/bench_events.py

Two players of college level who hit by habit and go back to the middle play the same rallies in
both engines. Prints strokes a second of processor time: the best of many short rounds, since other
work on the machine only ever slows a round, and the median beside it. Exits with code 1 if the
event engine without a trace misses the figure to reach.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"

import statistics
import sys
import time
from collections.abc import Callable

import numpy as np

from sim.array_engine import play
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.players import player
from sim.world import World
from strategies.recovery.middle import Middle
from strategies.shots.habit import Habit

LEAST_STROKES_PER_S = 3_000
ROUNDS = 40
RALLIES, BATCH = 40, 2_000

SIDE = Side(player("college-man"), Middle(), Habit())
GAME = Game(SIDE, SIDE, World(), seed=7)
PLACE = Place("middle of the baseline", 0.0, 11.885)


def one_by_one(traced: bool) -> int:
    """Strokes of RALLIES rallies in the event engine."""
    return sum(len(play_rally(GAME, PLACE, r, traced)[0]) for r in range(RALLIES))


def all_at_once() -> int:
    """Strokes of BATCH rallies in the array engine."""
    return len(play(GAME, PLACE, np.arange(BATCH)))


def strokes_per_s(work: Callable[[], int]) -> list[float]:
    """Strokes a second of every round, after one round to compile and to warm up."""
    work()
    rates = []
    for _ in range(ROUNDS):
        start = time.process_time()
        strokes = work()
        rates.append(strokes / (time.process_time() - start))
    return rates


def main() -> int:
    engines: dict[str, Callable[[], int]] = {
        "event engine": lambda: one_by_one(traced=False),
        "event engine with trace": lambda: one_by_one(traced=True),
        "array engine": all_at_once,
    }
    print(f"{'strokes a second':<26}{'best':>10}{'median':>10}")
    best = {}
    for name, work in engines.items():
        rates = strokes_per_s(work)
        best[name] = max(rates)
        print(f"{name:<26}{best[name]:>10,.0f}{statistics.median(rates):>10,.0f}")
    missed = best["event engine"] < LEAST_STROKES_PER_S
    print(f"to reach: event engine {LEAST_STROKES_PER_S:,}" + (" - missed" if missed else ""))
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
