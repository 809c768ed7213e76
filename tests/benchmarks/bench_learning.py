"""Decisions a second of the batched environment on one core.

    python tests/benchmarks/bench_learning.py

An agent that answers at once (it goes back to the middle) plays in batches of rallies, the next
rally beginning in the same step. Prints decisions a second of processor time: the best of many
short runs, since other work on the machine only ever slows a run, and the median beside it; exits
with code 1 if the figure to reach is missed.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"

import sys
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from experiments.benchmark.measure import Rate, rate_of
from experiments.learning.environment.batch import RallyRecoveryBatch
from experiments.scene.defaults import CORNER_M

ROWS, STEPS, SECONDS = 2048, 4, 3.0
LEAST_PER_S = 30_000
OPENINGS = {"returning": "returning", "serving": "serving", "from the corner": CORNER_M}
HITTERS = ("habit", "attentive")


def decisions(opening: str, hitter: str, bisector: bool) -> Rate:
    """How many decisions a second a batch asks for and goes on from."""
    hits = {"hitter": hitter, "own_shots": hitter}
    settings = {"opening": OPENINGS[opening], "bisector": bisector, "seed": 1, **hits}
    batch = RallyRecoveryBatch(ROWS, "SameStep", player="college-man", **settings)
    batch.reset()
    actions = np.zeros((ROWS, 3))
    actions[:, 1] = 0.15

    def work() -> int:
        for _ in range(STEPS):
            batch.step(actions)
        return ROWS * STEPS

    return rate_of(work, "decisions/s", SECONDS)


def main() -> bool:
    reached = True
    print(f"decisions a second, {ROWS} rallies at once (to reach: {LEAST_PER_S:,})")
    for opening, hitter, bisector in product(OPENINGS, HITTERS, (False, True)):
        rate = decisions(opening, hitter, bisector)
        asked = f"{opening:16} {hitter:10} {'with the bisector' if bisector else '':18}"
        print(f"{asked} {rate.per_s:9,.0f}  median {rate.median_per_s:,.0f}")
        reached &= rate.per_s >= LEAST_PER_S
    return reached


if __name__ == "__main__":
    sys.exit(0 if main() else "A figure to reach was missed.")
