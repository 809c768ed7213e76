"""README says what the stored results say, and the stored results can be played again."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from experiments.claims.tables import all_tables, read_cells
from experiments.settings import Block, evaluate, scenarios
from experiments.store import file_hashes
from experiments.study_file import load_study

ROOT = Path(__file__).resolve().parent.parent
MAIN = ROOT / "results" / "main"


def test_tables_are_those_of_the_stored_results() -> None:
    stored = (ROOT / "results" / "tables.md").read_text("utf-8")
    assert stored.endswith(f"\n\n{all_tables(MAIN)}\n")


def test_readme_shows_the_stored_tables() -> None:
    """Every row of numbers in README's answer stands in the tables; there are many."""
    readme = (ROOT / "README.md").read_text("utf-8")
    answer = readme[readme.index("## The answer") : readme.index("## Against whom")]
    rows = [line for line in answer.splitlines() if line.startswith("| ")]
    assert len(rows) > 50 and set(rows) <= set(all_tables(MAIN).splitlines())


def test_stored_files_are_those_of_the_manifest() -> None:
    listed = json.loads((MAIN / "manifest.json").read_text("utf-8"))["files"]
    found = file_hashes(MAIN)
    assert {name: found[name] for name in listed} == listed


@pytest.mark.parametrize("setting", ["placed", "rally"])
def test_first_replicates_lie_around_the_stored_estimates(setting: str) -> None:
    """A small part of the stored study, played again, agrees within five standard errors.

    At five the false-alarm rate of one comparison is below one in a million.
    """
    study = load_study(MAIN / "study.toml")
    scenario = next(
        s
        for s in scenarios(study)
        if (s.setting, s.place, s.level, s.opponent) == (setting, "corner", "college-man", "habit")
    )
    tallies = evaluate(study, study.seed or 0, Block(scenario, 0, 400)).tallies
    cells = read_cells(MAIN)
    for policy in ("middle", "bisector"):
        sums = tallies[policy].own[0]
        stored = cells.get(setting, "college-man", "habit", "corner", policy, "missed_per_100")
        assert stored is not None
        share = stored["estimate"] / 100
        # Balls of one rally are alike, so a rally's balls count as few as its strokes allow.
        error = np.sqrt(share * (1 - share) / 400)
        assert sums[2] / sums[1] == pytest.approx(share, abs=5 * error)


def test_readme_shows_the_stored_losses_by_opponent() -> None:
    losses = pd.read_csv(ROOT / "results" / "against-whom" / "losses.csv")
    corner = losses[losses["place"] == "corner"]
    readme = (ROOT / "README.md").read_text("utf-8").splitlines()
    for policy in ("middle", "bisector", "best-for-belief", "safest", "guard"):
        rows = corner[corner["policy"] == policy]
        values = [
            f"{r.returned_per_100:z.1f} ({r.returned_low:z.1f} to {r.returned_high:z.1f})"
            for r in rows.itertuples()
        ]
        assert len(values) == 7
        assert f"| {policy} | {' | '.join(values)} |" in readme
