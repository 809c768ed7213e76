"""Speed of the page's script in Node.js.

    python tests/benchmarks/bench_page.py

Club adults on a hard court, warm: milliseconds to a first rough answer and to one of 1,000 balls
met from 103 places, for a hitter of habit, and to a first rough answer against one who looks at the
receiver; the best and the median of several questions. Before them the first question of all, which
makes the table of flights. Exits with code 1 if a figure to reach is missed.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from test_page import answers

from experiments.page.script import script_text

BALLS, QUESTIONS = 1_000, 15
MOST_MS, MOST_FIRST_MS = 100.0, 50.0


def question(hitter: str, seed: int) -> dict[str, Any]:
    scene = {"hitter": hitter, "seed": seed, "balls": BALLS}
    return {"ask": "spot", "scene": scene, "policies": ["middle", "bisector"]}


def main() -> int:
    hitters = ["habit"] * QUESTIONS + ["open-court"] * QUESTIONS
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder) / "script.js"
        script.write_text(script_text(), encoding="utf-8")
        questions = [question(hitter, seed) for seed, hitter in enumerate(["habit", *hitters])]
        cold, *found = answers(script, questions)
    habit, looking = found[:QUESTIONS], found[QUESTIONS:]
    print(f"first of all: {cold['first_ms']:.0f} ms to a rough answer")
    best = {}
    for name, some, key in (
        ("rough", habit, "first_ms"),
        (f"{BALLS} balls", habit, "ms"),
        ("rough, one who looks", looking, "first_ms"),
        (f"{BALLS} balls, one who looks", looking, "ms"),
    ):
        times = sorted(each[key] for each in some)
        best[name] = times[0]
        print(f"{name}: {times[0]:.1f} ms at best, {statistics.median(times):.1f} ms in the middle")
    rough = best["rough"], best["rough, one who looks"]
    return int(best[f"{BALLS} balls"] > MOST_MS or max(rough) > MOST_FIRST_MS)


if __name__ == "__main__":
    sys.exit(main())
