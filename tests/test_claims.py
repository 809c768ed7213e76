"""README says what the stored results say, and the stored results can be played again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from experiments.answers.depth.short_balls import PAYS
from experiments.claims.__main__ import main as tables_or_claims
from experiments.claims.angle import angle_figure, angle_table
from experiments.claims.directions import cells, directions_figure, directions_table
from experiments.claims.in_and_out import TABLES
from experiments.claims.register import CLAIMS, claims_table
from experiments.claims.tables import all_tables, read_cells
from experiments.study.file import load_study
from experiments.study.folder_files import file_hashes, listed
from experiments.study.settings import Block, Scenario, evaluate, scenarios
from experiments.study.stroke_file import stroke_table
from sim.belief import DOWN_THE_LINE, Belief
from sim.errors import InputError

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "results"
STUDIES = sorted(p.parent.name for p in RESULTS.glob("*/study.toml"))
SCENARIOS_AGAIN = 6
# Another processor or mathematics library may round differently in the last of 24 bits.
ROUNDING = 1e-5


def test_readmes_table_of_claims_is_that_of_the_stored_results() -> None:
    table = claims_table(RESULTS).splitlines()
    assert len(table) > 20
    assert set(table) <= set((ROOT / "README.md").read_text("utf-8").splitlines())


def test_every_stored_study_bears_a_claim() -> None:
    assert set(STUDIES) <= {claim.folder for claim in CLAIMS}


def test_tables_are_those_of_the_stored_results() -> None:
    stored = (RESULTS / "tables.md").read_text("utf-8")
    assert stored.endswith(f"\n\n{all_tables(RESULTS / 'main')}\n")
    shown = tables_or_claims([str(RESULTS / "main")])
    assert stored == shown.replace(str(RESULTS), "results") + "\n"


def test_readme_shows_the_stored_tables() -> None:
    """Every row of the table of counts in README stands in the tables."""
    readme = (ROOT / "README.md").read_text("utf-8")
    answer = readme[readme.index("**How often") : readme.index("### How wide is the angle?")]
    rows = [line for line in answer.splitlines() if line.startswith("| ")]
    tables = all_tables(RESULTS / "main"), directions_table(cells(RESULTS / "directions"))
    assert len(rows) > 10 and set(rows) <= set("\n".join(tables).splitlines())


def test_readme_shows_where_directions_turn_it() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    shown = readme[readme.index("**Against whom it turns round") :].split("<img")[0]
    rows = [line for line in shown.splitlines() if line.startswith("| ")]
    assert len(rows) > 6
    assert set(rows) <= set(directions_table(cells(RESULTS / "directions")).splitlines())


def test_the_picture_of_directions_is_that_of_the_stored_study(tmp_path: Path) -> None:
    """Every cell is drawn, at shares that add up with the two others to 1."""
    table = cells(RESULTS / "directions")
    figure = directions_figure(table)
    drawn = sum(len(points.get_offsets()) for ax in figure.axes for points in ax.collections)
    assert drawn == len(table) == 240
    usual = table[
        (table["opponent shots.line_gain"] == 1) & (table["opponent shots.short_gain"] == 1)
    ]
    assert usual["line"].unique() == pytest.approx(Belief().from_corner[DOWN_THE_LINE])
    assert (table["line"] + table["short"] < 1.0).all()


def test_a_folder_without_a_map_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"holds no turning\.csv"):
        cells(tmp_path)


@pytest.mark.parametrize("name", STUDIES)
def test_stored_files_are_those_of_the_manifest(name: str) -> None:
    """Large tables may be left out of the repository; what is there is what the run wrote."""
    folder = RESULTS / name
    wanted = listed(folder)
    there = [file for file in wanted if (folder / file).exists()]
    assert {"study.toml", "cells.csv", "summary.json"} <= set(there)
    assert file_hashes(folder, there) == {file: wanted[file] for file in there}


@pytest.mark.parametrize("name", STUDIES)
def test_first_replicates_played_again_are_the_stored_ones(name: str) -> None:
    """The first replicates of some cells of each stored study, stroke by stroke."""
    study = load_study(RESULTS / name / "study.toml")
    stored = pd.read_parquet(RESULTS / name / "strokes.parquet")
    count = study.stroke_rows_per_cell
    assert count and len(stored)
    plain = [s for s in scenarios(study) if s.choice is None and s.point is None]
    picked = np.unique(np.linspace(0, len(plain) - 1, SCENARIOS_AGAIN).astype(int))
    for scenario in (plain[i] for i in picked):
        for policy, rows in evaluate(study, study.seed or 0, Block(scenario, 0, count)).rows:
            again = stroke_table(scenario, policy, rows).to_pandas()
            same_rows(again, cell_of(stored, scenario, policy))


def cell_of(strokes: pd.DataFrame, scenario: Scenario, policy: str) -> pd.DataFrame:
    """The stored strokes of one cell."""
    own = "" if scenario.own_stroke is None else scenario.own_stroke
    keep = (strokes["policy"] == policy) & (strokes["setting"] == scenario.setting)
    for label in ("place", "level", "opponent"):
        keep &= strokes[label] == getattr(scenario, label)
    keep &= strokes["own_stroke"].astype(object).fillna("") == own
    return strokes[keep].reset_index(drop=True)


def same_rows(again: pd.DataFrame, stored: pd.DataFrame) -> None:
    """Numbers but for rounding, words exactly."""
    assert len(again) == len(stored) > 0
    for column in stored.columns:
        if stored[column].dtype.kind == "f":
            np.testing.assert_allclose(
                again[column], stored[column], rtol=ROUNDING, atol=ROUNDING, err_msg=column
            )
        else:
            assert list(again[column].astype(object)) == list(stored[column].astype(object)), column


def test_readme_shows_what_the_width_of_the_angle_is_worth() -> None:
    rows = angle_table(read_cells(RESULTS / "angle")).splitlines()
    shown = [row for row in rows if not row.startswith(("| club-adult", "| professional-man"))]
    assert len(shown) == 2 + 8
    assert set(shown) <= set((ROOT / "README.md").read_text("utf-8").splitlines())
    bars = angle_figure(read_cells(RESULTS / "angle")).axes
    assert [ax.get_title(loc="left") for ax in bars] == [
        "club-adult",
        "college-man",
        "professional-man",
    ]


@pytest.mark.parametrize("table", TABLES)
def test_readme_shows_the_stored_tables_of_depth_and_net(table: Callable[[Path], str]) -> None:
    rows = table(RESULTS).splitlines()
    assert len(rows) > 12
    assert set(rows) <= set((ROOT / "README.md").read_text("utf-8").splitlines())


def test_best_depth_of_professionals_lies_where_professionals_stand() -> None:
    """Tennis Australia, data of the 2017/18 contest on how points end: the receiver's distance
    behind the baseline at the opponent's strike, 10 to 90 of 100 of 2,211 men's strokes, computed.
    Against a presser the model's lies deeper, as README says."""
    best = pd.read_csv(RESULTS / "how-far-back" / "best.csv").set_index(
        ["player", "hitter", "case"]
    )
    men = best.loc[("professional-man", "attentive", PAYS)]
    assert len(men) == 2
    assert men["best_depth_m"].between(0.4, 3.0).all()
    assert (men["range_from_m"] > 1.6 - 0.1).all()  # the median: left standing as a disagreement


def test_readme_shows_the_stored_losses_by_opponent() -> None:
    losses = pd.read_csv(RESULTS / "against-whom" / "losses.csv")
    corner = losses[losses["place"] == "corner"]
    readme = (ROOT / "README.md").read_text("utf-8").splitlines()
    for policy in ("middle", "bisector", "best-for-belief", "safest", "guard"):
        rows = corner[corner["policy"] == policy]
        values = [
            f"{r.returned_per_100:z.1f} ({r.returned_low:z.1f} to {r.returned_high:z.1f})"
            for r in rows.itertuples()
        ]
        assert len(values) == 9
        assert f"| {policy} | {' | '.join(values)} |" in readme
