"""The baseline study and its pinned cells. Run this file to write the cells anew:

    python tests/baseline/refresh.py

A baseline says that the output changed, not that it is right: what it holds was computed by the
code that it is compared with. After a change that is meant to move numbers, refresh it, read the
difference (`git diff --stat` and the rows), and say in the commit why it moved.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from experiments.cells import Tallies, cells
from experiments.design import Study
from experiments.settings import blocks, evaluate

PINNED = Path(__file__).with_name("cells.csv")
SEED = 20_240
STUDY = {
    "levels": ["college-man"],
    "opponents": ["habit", "open-court"],
    "own_strokes": ["crosscourt"],
    "policies": ["middle", "bisector", "time-balanced", "linear-shade,shade_m_per_m=0.1"],
    "placed_balls": 200,
    "recovery_balls": 200,
    "rallies": 40,
    "places": [{"name": "corner", "x_m": 3.115, "y_m": 11.885}],
}


def baseline_cells() -> pd.DataFrame:
    """The cells of the baseline study, as they come out now."""
    study = Study.model_validate(STUDY)
    tallies: Tallies = {}
    for block in blocks(study):  # one a scenario
        tallies[block.scenario] = evaluate(study, SEED, block).tallies
    return pd.DataFrame(cells(study, tallies))


if __name__ == "__main__":
    baseline_cells().to_csv(PINNED, index=False, float_format="%.12g", lineterminator="\n")
    print(f"wrote {PINNED}")
