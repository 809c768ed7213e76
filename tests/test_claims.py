"""The pages' tables are those of the stored results, which can be played again."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from experiments.answers.depth.short_balls import PAYS
from experiments.claims.__main__ import main as tables_or_claims
from experiments.claims.angle import angle_figure, angle_table
from experiments.claims.directions import cells, directions_figure, directions_table
from experiments.claims.in_and_out import depth_table, turning_table
from experiments.claims.register import CLAIMS, claims_table
from experiments.claims.tables import all_tables, count_table, read_cells
from experiments.study.file import load_study
from experiments.study.folder_files import file_hashes, held, listed
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


def page(name: str) -> list[str]:
    """The lines of a page by question."""
    return (RESULTS / "pages" / f"{name}.md").read_text("utf-8").splitlines()


def test_the_page_of_claims_holds_their_table_with_whole_points_first() -> None:
    table = claims_table(RESULTS).splitlines()
    assert len(table) > 20 and set(table) <= set(page("claims"))
    assert table[2].startswith("| whole points")
    assert [claim.folder for claim in CLAIMS[:5]] == ["whole-points"] * 5


def test_every_stored_study_bears_a_claim() -> None:
    assert set(STUDIES) <= {claim.folder for claim in CLAIMS}


def test_tables_are_those_of_the_stored_results() -> None:
    stored = (RESULTS / "tables.md").read_text("utf-8")
    assert stored.endswith(f"\n\n{all_tables(RESULTS / 'main')}\n")
    shown = tables_or_claims([str(RESULTS / "main")])
    assert stored == shown.replace(str(RESULTS), "results") + "\n"


def test_pages_show_the_stored_tables() -> None:
    """Every row of the tables that modules of their own print, or those of one level."""
    counts = count_table(read_cells(RESULTS / "main")).splitlines()
    assert len(counts) > 10 and set(counts) <= set(page("middle"))
    turned = [r for r in directions_table(cells(RESULTS / "directions")).splitlines() if "pro" in r]
    assert len(turned) > 6 and set(turned) <= set(page("middle"))
    wide = [r for r in angle_table(read_cells(RESULTS / "angle")).splitlines() if "%" in r]
    wide = [row for row in wide if row.startswith("| college-man")]
    assert len(wide) == 5 and set(wide) <= set(page("angle"))
    deep = [row for row in depth_table(RESULTS).splitlines() if ", hard, " in row]
    assert len(deep) == 6 and set(deep) <= set(page("depth"))
    near = turning_table(RESULTS).splitlines()[2::2]
    assert len(near) == 6 and set(near) <= set(page("net"))


def test_bars_of_the_angle_are_those_of_the_stored_levels() -> None:
    bars = angle_figure(read_cells(RESULTS / "angle")).axes
    assert [ax.get_title(loc="left") for ax in bars] == [
        "club-adult",
        "college-man",
        "professional-man",
    ]


def test_the_page_of_opponents_shows_the_stored_losses() -> None:
    losses = pd.read_csv(RESULTS / "against-whom" / "losses.csv")
    corner = losses[losses["place"] == "corner"]
    for policy in ("middle", "bisector", "best-for-belief", "safest", "guard"):
        rows = corner[corner["policy"] == policy]
        values = [
            f"{r.returned_per_100:z.1f} ({r.returned_low:z.1f} to {r.returned_high:z.1f})"
            for r in rows.itertuples()
        ]
        assert len(values) == 9
        assert f"| {policy} | {' | '.join(values)} |" in page("against-whom")


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
    there = [file for file in wanted if held(folder, file).exists()]
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


def test_best_depth_of_professionals_lies_where_professionals_stand() -> None:
    """Tennis Australia, data of the 2017/18 contest on how points end: the receiver's distance
    behind the baseline at the opponent's strike, 10 to 90 of 100 of 2,211 men's strokes, computed.
    Against a presser the model's lies deeper, as its page says."""
    best = pd.read_csv(RESULTS / "how-far-back" / "best.csv").set_index(
        ["player", "hitter", "case"]
    )
    men = best.loc[("professional-man", "attentive", PAYS)]
    assert len(men) == 2
    assert men["best_depth_m"].between(0.4, 3.0).all()
    assert (men["best_depth_m"] > 1.6).all()  # the median: left standing as a disagreement
