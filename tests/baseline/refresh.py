"""The baseline study with its pinned cells, and the stored pictures. Run this file to write anew:

    python tests/baseline/refresh.py            (cells and pictures)
    python tests/baseline/refresh.py cells
    python tests/baseline/refresh.py pictures   (needs the Matplotlib that the test extra pins)

A baseline says that the output changed, not that it is right: what it holds was computed by the
code that it is compared with. After a change that is meant to move numbers, refresh it, read the
difference (`git diff --stat` and the rows), look at the pictures, and say in the commit why it
moved.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd

from experiments.study.cells import Tallies, cells
from experiments.study.design import Study
from experiments.study.settings import blocks, evaluate

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


def write_cells() -> None:
    """Write the pinned cells anew."""
    baseline_cells().to_csv(PINNED, index=False, float_format="%.12g", lineterminator="\n")
    print(f"wrote {PINNED}")


def write_pictures() -> None:
    """Draw the stored pictures anew; those that are no longer drawn go."""
    sys.path.insert(0, str(Path(__file__).parents[1]))  # where tests find it and its helpers
    from baseline import pictures

    found, pinned = pictures.mpl.__version__, pictures.pinned_matplotlib()
    if found != pinned:
        sys.exit(f"Matplotlib is {found}; pictures are stored as {pinned} draws them: install that")
    pictures.IMAGES.mkdir(exist_ok=True)
    for old in pictures.IMAGES.glob("*.png"):
        if old.stem not in pictures.PICTURES:
            old.unlink()
    for name, draw in pictures.PICTURES.items():
        pictures.write_picture(draw(), pictures.IMAGES / f"{name}.png")
        print(f"wrote {pictures.IMAGES / name}.png")
    pictures.FREETYPE_FILE.write_text(f"{pictures.ft2font.__freetype_version__}\n")


WRITERS = {"cells": write_cells, "pictures": write_pictures}

if __name__ == "__main__":
    chosen = sys.argv[1:] or list(WRITERS)
    if not set(chosen) <= set(WRITERS):
        sys.exit(f"refresh what? Give {' or '.join(WRITERS)}, or nothing for all.")
    for name in chosen:
        WRITERS[name]()
