"""What bounds the engines: SimPy's bare event rate, and the processor's rate of arithmetic."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable

import numpy as np
import simpy

from experiments.benchmark.measure import STROKES, Rate, rate_of
from experiments.benchmark.operations import ADD, ARITHMETIC, DIVIDE, FUNCTION, MULTIPLY, ROOT
from sim.compiled import kernel

TIMEOUTS = 20_000
POINTS, LOOPS = 4_000, 20_000
# Products and sums of one value from 4 x 4 x 4 points: tests count them.
WEIGHED_OPERATIONS = 16 * 9 + 4 * 2 + 1
STRIDE = 21
TABLE_SIZE = 3_500  # 28 kB: all of it stands in a processor's nearest cache
# Functions that a stroke uses; a loop holds each of them once, four side by side.
FUNCTIONS_IN_LOOP = 4


def bare_events(timeouts: int = TIMEOUTS) -> int:
    """One SimPy process that only waits, again and again."""

    def wait(env: simpy.Environment) -> simpy.events.ProcessGenerator:
        for _ in range(timeouts):
            yield env.timeout(1.0)

    env = simpy.Environment()
    env.process(wait(env))
    env.run()
    return timeouts


@kernel
def weigh(table, places, w0, w1, w2, w3):  # type: ignore[no-untyped-def]
    """Weighed sums of 4 x 4 x 4 values at scattered places of a table, as in cubic interpolation.

    Independent and dependent operations are mixed as where a table is really read: rows of four
    are worked out side by side, and then wait for each other.
    """
    total = 0.0
    for i in range(places.size):
        value = 0.0
        for a in range(4):
            plane = 0.0
            for b in range(4):
                row = places[i] + a * STRIDE * STRIDE + b * STRIDE
                plane += w1 * (
                    (w0 * table[np.uintp(row)] + w1 * table[np.uintp(row + 1)])
                    + (w2 * table[np.uintp(row + 2)] + w3 * table[np.uintp(row + 3)])
                )
            value += w2 * plane
        total += value
    return total


@kernel
def divide(loops, a, b):  # type: ignore[no-untyped-def]
    """Four quotients side by side, each from the one before."""
    p, q, r, s = 0.1, 0.2, 0.3, 0.4
    for _ in range(loops):
        p, q, r, s = a / p, b / q, a / r, b / s
    return p + q + r + s


@kernel
def root(loops, p, q):  # type: ignore[no-untyped-def]
    """Four square roots side by side, each from the one before."""
    r, s = 0.5 * p, 0.5 * q
    for _ in range(loops):
        p, q, r, s = math.sqrt(p), math.sqrt(q), math.sqrt(r), math.sqrt(s)
    return p + q + r + s


@kernel
def call(loops, p, q):  # type: ignore[no-untyped-def]
    """Four functions side by side, each from its value before."""
    r, s = 0.5 * p, 0.5 * q
    for _ in range(loops):
        p, q, r, s = math.cos(p), math.exp(-q), math.atan(r), math.log(2.0 + s)
    return p + q + r + s


def arithmetic_rates(seconds: float) -> dict[str, Rate]:
    """Operations a second of this processor.

    "weighed" are products and sums with their table reads; the others go by their kind.
    """
    generator = np.random.default_rng(1)
    table = generator.random(TABLE_SIZE)
    places = generator.integers(0, TABLE_SIZE - 4 * STRIDE * STRIDE, POINTS)
    work: dict[str, tuple[Callable[[], float], int]] = {
        "weighed": (
            lambda: weigh(table, places, 0.1, 0.4, 0.3, 0.2),
            POINTS * WEIGHED_OPERATIONS,
        ),
        DIVIDE: (lambda: divide(LOOPS, 1.1, 1.3), 4 * LOOPS),
        ROOT: (lambda: root(LOOPS, 1.1, 1.3), 4 * LOOPS),
        FUNCTION: (lambda: call(LOOPS, 1.1, 1.3), FUNCTIONS_IN_LOOP * LOOPS),
    }
    return {
        name: rate_of(_counting(loop, count), "operations/s", seconds / len(work))
        for name, (loop, count) in work.items()
    }


def _counting(loop: Callable[[], float], count: int) -> Callable[[], int]:
    def work() -> int:
        if not math.isfinite(loop()):
            raise ArithmeticError("a loop of the benchmark left the range of numbers")
        return count

    return work


def limits(
    events_per_s: float,
    events: float,
    arithmetic: dict[str, Rate],
    counted: Counter[str],
    strokes: int,
) -> dict[str, Rate]:
    """What SimPy and the processor would allow, in strokes a second, by the words of the benchmark.

    `events` are those of a stroke; `counted` the operations of all `strokes` together, at the rates
    of `arithmetic`: each as fast as one of `weigh`, or quotients, roots and functions at their own.
    """
    one_s = 1 / arithmetic["weighed"].per_s
    plain_s = (counted[ADD] + counted[MULTIPLY]) * one_s
    by_kind_s = sum(counted[kind] / arithmetic[kind].per_s for kind in (DIVIDE, ROOT, FUNCTION))
    per_s = {
        "event_limit": events_per_s / events,
        "arithmetic_limit_by_kind": strokes / (plain_s + by_kind_s),
        "arithmetic_limit": strokes / (sum(counted[kind] for kind in ARITHMETIC) * one_s),
    }
    return {name: Rate(rate, rate, STROKES, 0) for name, rate in per_s.items()}
