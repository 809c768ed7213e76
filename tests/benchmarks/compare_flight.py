"""What the tabulated flight changes: grades of strokes, and the headlines of whole rallies.

    python tests/benchmarks/compare_flight.py [rallies]

Plays the same rallies (20,000 a cell unless given) with integrated and with tabulated flight, in
two processes. The share of first strokes whose grade or outcome changes is exact; the headlines of
whole rallies (balls missed per 100, points won per 100) are compared rally by rally, with the 95 %
interval of the difference: a rally whose grade changed once goes another way, so chance is left.
"""

from __future__ import annotations

import os

os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"

import dataclasses
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from experiments.statistics.estimates import paired
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.file import load_study
from sim.array_engine import play
from sim.world import FLIGHTS

CELLS = (
    ("club-adult", "habit", "middle"),
    ("college-man", "open-court", "bisector"),
    ("professional-man", "pressing", "middle"),
)
BLOCK, RALLIES = 2_000, 20_000


def compare(cell: tuple[str, str, str], first: int) -> tuple[Tally, int, int]:
    """One block: the paired tally, first strokes that changed, first strokes."""
    study = load_study()
    game, place = study.game(*cell, seed=1), study.places[1].place
    numbers, tables, firsts = np.arange(first, first + BLOCK), [], []
    for flight in FLIGHTS:
        world = dataclasses.replace(game.world, flight=flight)
        strokes = play(dataclasses.replace(game, world=world), place, numbers)
        tables.append(replicate_table(strokes, numbers, True))
        firsts.append(strokes[strokes["stroke"] == 0])
    a, b = firsts
    changed = (a["grade"] != b["grade"]) | (a["outcome"] != b["outcome"])
    return Tally.of(tables[1], tables[0]), int(changed.sum()), len(changed)


def main() -> None:
    rallies = int(sys.argv[1]) if len(sys.argv) > 1 else RALLIES
    starts = range(0, rallies, BLOCK)
    print(f"tabulated less integrated, {len(starts) * BLOCK:,} rallies a cell, from the corner")
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for cell in CELLS:
            parts = list(pool.map(compare, [cell] * len(starts), starts))
            tally = sum((t for t, _, _ in parts[1:]), parts[0][0])
            changed, strokes = (sum(p[i] for p in parts) for i in (1, 2))
            missed = paired(tally, "missed", "balls").scaled(100)
            points = paired(tally, "points", "one").scaled(100)
            print(
                f"{', '.join(cell)}: {100 * changed / strokes:.3f} % of first strokes change grade"
            )
            for name, e in (("missed", missed), ("points", points)):
                print(f"  {name} per 100: {e.value:+.3f} ({e.low:+.3f} to {e.high:+.3f})")


if __name__ == "__main__":
    main()
