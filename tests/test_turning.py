"""Where the verdict turns: table, border and sentences from a grid, and its picture."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from made_folder import MISSED, cell, made_folder
from matplotlib.figure import Figure

from experiments.evidence.sensitivity.analysis import (
    factor_figures,
    sections,
    write_analysis,
    write_captions,
)
from experiments.evidence.sensitivity.folder import DesignedFolder, read_table
from experiments.evidence.sensitivity.picture import draw_indices, draw_tornado
from experiments.evidence.sensitivity.pictures import draw_map
from experiments.evidence.sensitivity.turning import (
    axes_of,
    boundary,
    factor_labels,
    sentences,
    turning,
)
from experiments.study.columns import columns_of

X, V = "place.x_m", "studied legs.top_speed_m_s"
GRID = {
    "design": "grid",
    "vary": [
        {"name": X, "levels": [0.0, 1.0, 3.0]},
        {"name": "legs.top_speed_m_s", "of": "studied", "levels": [5.5, 8.0]},
    ],
}


def gain(values: pd.DataFrame) -> np.ndarray:
    """0 from the middle; farther out the slow gain and the fast lose."""
    slow = values[V].to_numpy() < 6.0
    return np.where(slow, 3.0, -0.8) * values[X].to_numpy()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("grid") / "out"
    made_folder(path, GRID, {MISSED: gain}, se=0.2)
    write_analysis(path)
    return path


def test_the_table_says_who_wins_in_each_cell(folder: Path) -> None:
    table = read_table(folder / "turning.csv")
    assert factor_labels(table) == [X, V]
    said = table.pivot(index=V, columns=X, values="verdict")
    assert said.loc[5.5].to_list() == ["as good", "wins", "wins"]
    assert said.loc[8.0].to_list() == ["as good", "loses", "loses"]
    assert (table["best"] == "bisector").all()


def test_each_column_of_the_table_is_explained(folder: Path) -> None:
    rows = [c for c in columns_of(folder) if c.table == "turning"]
    assert len(rows) > 10 and all(c.meaning for c in rows)


def test_the_border_is_where_winning_begins_for_good(folder: Path) -> None:
    table = read_table(folder / "turning.csv")
    lines = boundary(table, [X, V]).set_index(V)["wins_from"]
    assert lines[5.5] == 1.0
    assert np.isnan(lines[8.0])
    # A cell that is won before one that is not does not count.
    slow_last = (table[V] == 5.5) & (table[X] == 3.0)
    table.loc[slow_last, "verdict"] = "not decided"
    assert boundary(table, [X, V])["wins_from"].isna().all()


def test_sentences_name_the_cells_of_the_middle(folder: Path) -> None:
    (said,) = sentences(DesignedFolder.read(folder).study, read_table(folder / "turning.csv"))
    assert "The bisector wins in 2 of 6 cells" in said
    assert "The middle is as good in 2 (2 with the opponent in the middle)" in said
    assert "The middle wins in 2 (2 elsewhere, own top sprint speed 8 m/s)" in said


def test_the_best_policy_of_a_cell_has_its_own_numbers(folder: Path) -> None:
    designed = pd.read_csv(folder / "designed.csv")
    study = DesignedFolder.read(folder).study
    other = pd.DataFrame(
        [{"point": p, **cell(study, MISSED, 1.0, 0.1), "policy": "halfway"} for p in range(6)]
    )
    both = DesignedFolder.read(folder).cells
    made = DesignedFolder.read(folder)
    more = pd.concat([both, other.assign(own_stroke="", verdict="wins")], ignore_index=True)
    table = turning(
        DesignedFolder(made.path, study, made.factors, made.points, more, made.plain)
    ).set_index([V, X])
    assert len(designed) == 6
    assert table.loc[(8.0, 3.0), "best"] == "halfway"
    assert table.loc[(8.0, 3.0), "best_estimate"] == 1.0
    assert table.loc[(8.0, 3.0), "estimate"] == pytest.approx(-2.4)
    assert table.loc[(5.5, 3.0), "best"] == "bisector"


def test_the_place_goes_across_and_the_speed_up() -> None:
    assert axes_of(["world.drag_coefficient", V, X]) == (X, V)
    assert axes_of(["a", "b", "c"]) == ("a", "b")


def test_the_map_has_a_sign_in_each_cell_and_a_border(folder: Path) -> None:
    ax = Figure().subplots()
    artists = draw_map(ax, read_table(folder / "turning.csv"), X, V)
    signs = [t.get_text() for t in ax.texts]
    assert signs == ["=", "+", "+", "=", "\u2212", "\u2212"]  # from the slow up
    assert artists[0].get_array().ravel()[2] == pytest.approx(9.0)  # type: ignore[attr-defined]
    assert len(ax.lines) > 0
    assert [t.get_text() for t in ax.get_xticklabels()] == ["0", "1", "3"]


def test_the_folder_names_and_describes_its_pictures(folder: Path) -> None:
    (name,) = factor_figures(folder)
    assert name == "turning-placed-missed"
    (folder / "figures").mkdir()
    for drawn in (name, "missed-placed"):
        (folder / "figures" / f"{drawn}.svg").touch()
    (path,) = write_captions(folder)
    found = json.loads(path.read_text("utf-8"))
    assert list(found) == [name] and "The middle wins in 2" in found[name]["alt"]
    section, no_curve = sections(folder)
    assert "tries no curve" in no_curve.sentences[0]
    assert [r[2:] for r in section.rows] == [("1", "nowhere")]


def one_row(**changes: object) -> dict[str, object]:
    row = {"words": "top speed", "unit": "m/s", "low_value": 7.0, "high_value": 8.0}
    return {**row, "outcome": MISSED, "policy": "bisector", **changes}


def test_the_tornado_draws_both_ends_from_the_base() -> None:
    ends = {f"at_{e}_{k}": v + d for e, v in (("low", 1.0), ("high", 4.0))
            for k, d in (("estimate", 0.0), ("low", -0.5), ("high", 0.5))}  # fmt: skip
    rows = [one_row(base=2.0, spread=s, **ends) for s in (0.5, 3.0)]
    rows[1]["words"] = "reaction"
    ax = Figure().subplots()
    draw_tornado(ax, pd.DataFrame(rows))
    bars = {
        (b.get_gid(), round(b.get_width(), 6)) for b in ax.patches if b.get_gid() in ("low", "high")
    }
    assert bars == {("low", -1.0), ("high", 2.0)}
    assert ax.get_yticklabels()[0].get_text() == "Reaction\n7 to 8 m/s"
    hatched = [b for b in ax.patches if b.get_hatch()]
    assert len(hatched) == 2
    low, high = ax.get_xlim()
    assert low < 0.0 and high > 4.5


def test_the_chart_of_indices_shows_what_chance_makes() -> None:
    ends = {f"{k}_{e}": v for k in ("first", "total") for e, v in (("low", 0.1), ("high", 0.5))}
    rows = [one_row(first=0.2, total=0.4, chance_share=0.15, **ends)]
    ax = Figure().subplots()
    draw_indices(ax, pd.DataFrame(rows))
    (chance,) = [p for p in ax.patches if p.get_gid() == "chance"]
    assert chance.get_width() == pytest.approx(0.15)
    assert {float(line.get_xdata()[0]) for line in ax.lines if line.get_marker() in "oD"} >= {
        0.2,
        0.4,
    }
