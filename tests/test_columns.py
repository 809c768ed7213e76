"""The data dictionary covers the files exactly, and the rally table says what the cells say."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from tiny_study import only, run_tiny, without_pages

from experiments.study.choices import CHOICES
from experiments.study.columns import (
    columns_of,
    dictionary,
    factor_words,
    found,
    names_in,
    write_columns,
)
from experiments.study.factor_names import NAMED
from experiments.study.factors import Factors
from experiments.study.folder_files import COLUMNS as FILE
from experiments.study.folder_files import TABLES
from experiments.study.stroke_file import rallies_of
from sim.records import STROKE

RALLIES = 15
FACTORS = Factors.model_validate(
    {"vary": [{"name": "legs.top_speed_m_s", "of": "studied", "plus": [0.0, -1.5]}]}
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study in rallies that keeps every stroke, with a modelling choice and two points.

    It stops after its first rallies: the precision asked for is wide.
    """
    choices = {"level": "club-adult", "opponent": "habit", "place": "corner", "rallies": 10}
    shades = [f"linear-shade,shade_m_per_m=0.{k}" for k in (1, 2, 3, 4)]
    study = only(
        "rally",
        rallies=RALLIES,
        stroke_rows_per_cell=RALLIES,
        choices=choices,
        factors=FACTORS,
        precision=40.0,
        headline={},
        policies=["middle", "bisector", *shades],
    )
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        for name in list(CHOICES)[2:]:
            patch.delitem(CHOICES, name)
        return run_tiny(study, tmp_path_factory.mktemp("columns") / "out")


@pytest.fixture(scope="module")
def raced(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A race of one look."""
    study = only("placed", policies=["middle", "bisector"], race=90.0)
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(study, tmp_path_factory.mktemp("columns") / "raced")


@pytest.fixture(scope="module")
def strokes(folder: Path) -> pd.DataFrame:
    return pd.read_parquet(folder / "strokes.parquet")


@pytest.mark.parametrize("table", TABLES)
def test_each_table_has_the_columns_of_the_dictionary(
    folder: Path, raced: Path, table: str
) -> None:
    """In both directions, but for the factors, which have columns of their own among the points."""
    held = names_in((raced if table == "race" else folder) / TABLES[table])
    factors = {"studied legs.top_speed_m_s"} if table == "points" else set()
    assert set(held) == set(dictionary()[table]) | factors


def test_every_factor_has_a_unit_and_a_meaning() -> None:
    for name in NAMED:
        unit, meaning = factor_words(f"studied {name}")
        assert meaning and (unit or name == "surface"), name
    assert factor_words("legs.top_speed_m_s")[0] == "m/s"
    assert factor_words("of a later version") == ("", "")


def test_every_outcome_is_explained(folder: Path) -> None:
    rows = [c for c in columns_of(folder) if c.table == "outcomes"]
    assert len(rows) == pd.read_csv(folder / "cells.csv")["outcome"].nunique()
    assert len(rows) == len(dictionary()["outcomes"]) - 1
    assert "spot_y_m" not in {c.column for c in rows}  # they all wait on one line
    assert all(c.unit and c.meaning for c in rows)


def test_a_reference_of_any_name_is_recognised() -> None:
    entry = found("outcomes", "missed_fewer_than_linear-shade 0.20_per_100")
    assert entry.unit == "balls in 100" and "fewer than by the reference" in entry.meaning
    assert found("outcomes", "missed_fewer_than_middle").meaning == ""
    assert found("cells", "of a later version").meaning == ""


def test_units_in_names_are_the_units_of_the_dictionary() -> None:
    """A name that ends in a unit has that unit; what has no unit is a word or a number."""
    endings = {"_m_s": "m/s", "_m_per_m": "m/m", "_m": "m", "_s": "s"}
    for columns in dictionary().values():
        for name, column in columns.items():
            ending = next((e for e in endings if name.endswith(e)), None)
            if ending:
                assert column.unit == endings[ending], name
            elif not name.endswith("_per_100") and name not in ("wish", "half_width"):
                own = ("the outcome's", "the factor's")
                assert column.unit in ("", "1", *own, "balls in 100", "strokes") or (
                    "_per_100_" in name
                ), name
            assert column.meaning and not column.meaning.endswith("."), name


def test_strokes_are_documented_field_by_field() -> None:
    assert set(STROKE.names or ()) <= set(dictionary()["strokes"])


def test_the_folder_gets_its_part(folder: Path, raced: Path) -> None:
    listed = pd.read_csv(folder / FILE, keep_default_na=False)
    assert list(listed.columns) == ["table", "column", "unit", "meaning"]
    assert set(listed["table"]) == {*TABLES, "best_place", "outcomes", "rallies"} - {"race"}
    assert "race" in set(pd.read_csv(raced / FILE)["table"])
    assert (listed["meaning"] != "").all()
    before = (folder / FILE).read_bytes()
    write_columns(folder)
    assert (folder / FILE).read_bytes() == before


def test_a_folder_without_tables_gets_no_rows(tmp_path: Path) -> None:
    write_columns(tmp_path)
    assert (tmp_path / FILE).read_text() == "table,column,unit,meaning\n"


def test_the_rally_table_has_the_documented_columns(strokes: pd.DataFrame) -> None:
    assert set(rallies_of(strokes).columns) == set(dictionary()["rallies"])


def test_the_rally_table_gives_the_estimates_of_the_cells(
    folder: Path, strokes: pd.DataFrame
) -> None:
    """The study kept every stroke, so sums over its rallies are what the cells were made from."""
    rallies = rallies_of(strokes)
    cells = pd.read_csv(folder / "cells.csv")
    cells = cells[cells["place"] == "corner"].pivot(
        index="policy", columns="outcome", values="estimate"
    )
    for policy, own in rallies.groupby("policy", observed=True):
        cell, balls = cells.loc[policy], own["balls"].sum()
        assert len(own) == RALLIES
        assert own["points"].mean() * 100 == pytest.approx(cell["points_won_per_100"], rel=1e-5)
        assert own["strokes"].mean() == pytest.approx(cell["strokes_per_rally"], rel=1e-5)
        assert 100 * own["missed"].sum() / balls == pytest.approx(cell["missed_per_100"], rel=1e-5)
        assert 100 * own["set"].sum() / balls == pytest.approx(cell["set_per_100"], rel=1e-5)
        assert own["chase_run_m"].sum() / balls == pytest.approx(cell["run_m"], rel=1e-4)
        spare = (own["mean_time_to_spare_s"] * own["balls"]).sum() / balls
        assert spare == pytest.approx(cell["time_to_spare_s"], rel=1e-4, abs=1e-5)
    grades = rallies["missed"] + rallies["stretched"] + rallies["set"]
    assert (grades == rallies["balls"]).all()


def test_points_of_endings_worked_by_hand() -> None:
    """Two rallies of two strokes: the opponent hits, then the studied player ends it."""
    ends = {"winner": 1.0, "unforced error": 0.0, "stroke limit": 0.5, "unreturned": 1.0}
    for ending, points in ends.items():
        rows = pd.DataFrame(
            {
                **dict.fromkeys(("place", "level", "opponent", "policy"), "x"),
                "setting": "rally",
                "own_stroke": None,
                "replicate": 0,
                "stroke": [0, 1],
                "side": ["opponent", "studied"],
                "strike_time_s": [0.0, 1.3],
                "outcome": "in",
                "kind": "drive",
                "grade": ["set", "missed"],
                "time_to_spare_s": [0.4, -5.0],
                "chase_run_m": [2.0, 7.0],
                "ending": ["going on", ending],
            }
        )
        (one,) = rallies_of(rows).itertuples()
        assert (one.points, one.balls, one.set, one.missed) == (points, 1, 1, 0)
        assert (one.last_strike_s, one.chase_run_m, one.last_side) == (1.3, 2.0, "studied")
    (one,) = rallies_of(rows.assign(setting="placed")).itertuples()
    assert np.isnan(one.points)
