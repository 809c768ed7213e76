"""Speed of the event engine and of the array engine on one core, in one run.

    python tests/benchmarks/bench_events.py

Two players of college level who hit by habit and go back to the middle, or to the bisector, play
the same rallies in both engines, with integrated and with tabulated flight. Prints strokes a second
of processor time: the best of many short rounds, since other work on the machine only ever slows a
round, and the median beside it. Exits with code 1 if an engine (the event engine without a trace)
misses its figure with tabulated flight.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"

import math
import statistics
import sys
import time
from collections.abc import Callable
from itertools import product

import numpy as np

from sim.array_engine import play
from sim.contracts import RecoveryPolicy
from sim.event_engine import play_rally
from sim.exchange import Game, Place, Side
from sim.players import player
from sim.world import FLIGHTS, TABULATED, World
from strategies.recovery.bisector import Bisector
from strategies.recovery.middle import Middle
from strategies.shots.habit import Habit

LEAST_STROKES_PER_S = {"event engine": 5_000, "array engine": 150_000}
ROUNDS = 20
RALLIES, BATCH = 40, 4_000
PLACE = Place("middle of the baseline", 0.0, 11.885)


def game(policy: RecoveryPolicy, flight: str) -> Game:
    """Two players of college level who hit by habit and recover by that policy."""
    side = Side(player("college-man"), policy, Habit())
    return Game(side, side, World(flight=flight), seed=7)


def one_by_one(played: Game, traced: bool) -> int:
    """Strokes of RALLIES rallies in the event engine."""
    return sum(len(play_rally(played, PLACE, r, traced)[0]) for r in range(RALLIES))


def all_at_once(played: Game) -> int:
    """Strokes of BATCH rallies in the array engine."""
    return len(play(played, PLACE, np.arange(BATCH)))


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
    print(f"{'strokes a second':<45}{'best':>10}{'median':>10}")
    best = {}
    for policy, flight in product((Middle(), Bisector()), FLIGHTS):
        played = game(policy, flight)
        engines: dict[str, Callable[[], int]] = {
            "event engine": lambda g=played: one_by_one(g, traced=False),
            "event engine with trace": lambda g=played: one_by_one(g, traced=True),
            "array engine": lambda g=played: all_at_once(g),
        }
        for name, work in engines.items():
            rates = strokes_per_s(work)
            best[name, flight] = min(max(rates), best.get((name, flight), math.inf))
            title = f"{name}, {policy.name}, {flight}"
            print(f"{title:<45}{max(rates):>10,.0f}{statistics.median(rates):>10,.0f}")
    missed = [n for n, least in LEAST_STROKES_PER_S.items() if best[n, TABULATED] < least]
    figures = ", ".join(f"{name} {least:,}" for name, least in LEAST_STROKES_PER_S.items())
    print(f"to reach with tabulated flight: {figures}; missed: {', '.join(missed) or 'none'}")
    return int(bool(missed))


if __name__ == "__main__":
    sys.exit(main())
