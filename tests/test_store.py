"""Result folders: whole or absent; stroke rows with units; files that read back."""

from __future__ import annotations

import csv
import hashlib
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest
from tiny_study import only

from experiments.output.tables import fill_table
from experiments.study import row_file
from experiments.study.folder_files import file_hashes
from experiments.study.provenance import commit, source_hash, versions
from experiments.study.row_file import LABELS, RowFile
from experiments.study.settings import Scenario, blocks, evaluate
from experiments.study.stroke_file import CODED, stroke_schema, stroke_table
from sim.records import STROKE

SCENARIO = Scenario("rally", "corner", "club-adult", "habit")
UNITS = ("_m", "_s", "_m_s")
WITHOUT_UNIT = {"hitter_quality", "reply_quality", "reply_chance", "recovery_effort"}  # from 0 to 1


@pytest.fixture(scope="module")
def rows() -> np.ndarray:
    study = only("rally")
    return evaluate(study, 3, blocks(study)[0]).rows[0][1]


# --- stroke rows ------------------------------------------------------------------------------


def test_columns_carry_their_unit() -> None:
    schema = stroke_schema()
    assert schema.names == [*LABELS, *(STROKE.names or ())]
    for field in schema:
        if str(field.type) == "float":
            assert field.name.endswith(UNITS) or field.name in WITHOUT_UNIT
    assert {n for n in schema.names if str(schema.field(n).type) == "int64"} == {
        "replicate",
        "stroke",
    }


def test_rows_read_back_as_they_were(tmp_path: Path, rows: np.ndarray) -> None:
    table = stroke_table(SCENARIO, "middle", rows).to_pandas()
    assert (table["policy"] == "middle").all() and (table["place"] == "corner").all()
    assert table["own_stroke"].isna().all()
    for name in STROKE.names or ():
        if name in CODED:
            assert list(table[name]) == [CODED[name][v] for v in rows[name]]
        elif name == "hitter_wing":
            want = {1: "forehand", -1: "backhand"}
            assert list(table[name]) == [want[v] for v in rows[name]]
        else:
            np.testing.assert_allclose(table[name], rows[name], rtol=1e-7)
    assert set(table["side"]) == {"studied", "opponent"}


def write_in_pieces(path: Path, rows: np.ndarray, sizes: list[int]) -> None:
    file = RowFile(path, stroke_schema())
    for part in np.split(rows, np.cumsum(sizes)[:-1]):
        file.add(stroke_table(SCENARIO, "middle", part))
    file.close()
    assert file.rows == len(rows)


def test_row_groups_have_a_fixed_size(
    tmp_path: Path, rows: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So the bytes do not depend on how the rows came in."""
    monkeypatch.setattr(row_file, "ROW_GROUP", 16)
    many = np.tile(rows, 60 // len(rows) + 1)[:53]
    for i, sizes in enumerate(([53], [20, 20, 13], [1] * 53, [16, 37])):
        write_in_pieces(tmp_path / f"{i}.parquet", many, list(sizes))
    meta = pq.ParquetFile(tmp_path / "0.parquet").metadata
    assert [meta.row_group(i).num_rows for i in range(meta.num_row_groups)] == [16, 16, 16, 5]
    assert len({(tmp_path / f"{i}.parquet").read_bytes() for i in range(4)}) == 1


def test_a_file_without_rows_can_be_read(tmp_path: Path) -> None:
    RowFile(tmp_path / "none.parquet", stroke_schema()).close()
    table = pd.read_parquet(tmp_path / "none.parquet")
    assert len(table) == 0 and "time_to_spare_s" in table


# --- the other files --------------------------------------------------------------------------


def test_cells_stand_in_their_table(tmp_path: Path) -> None:
    cells = [
        {"policy": "middle", "own_stroke": None, "outcome": "run_m", "estimate": 1 / 3, "n": 7},
        {"policy": "a, b", "own_stroke": "middle", "outcome": "run_m", "estimate": None, "n": 0},
    ]
    fill_table(pd.DataFrame(cells), tmp_path / "cells.csv")
    text = (tmp_path / "cells.csv").read_bytes()
    first, second = csv.DictReader(text.decode().splitlines())
    assert (first["policy"], second["policy"]) == ("middle", "a, b")
    assert float(first["estimate"]) == 1 / 3 and second["estimate"] == ""
    assert (first["own_stroke"], second["own_stroke"]) == ("", "middle")
    assert b"\r" not in text


def test_hashes_are_those_of_the_files(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "a.py").write_bytes(b"a")
    (tmp_path / "b").write_bytes(b"b")
    assert file_hashes(tmp_path, ["b", "own/a.py"]) == {
        "b": hashlib.sha256(b"b").hexdigest(),
        "own/a.py": hashlib.sha256(b"a").hexdigest(),
    }


def test_the_manifest_can_name_code_and_packages() -> None:
    assert source_hash() == source_hash() and len(source_hash()) == 64
    assert source_hash() != hashlib.sha256().hexdigest()  # some source was found
    assert versions()["numpy"] == np.__version__
    found = commit()
    assert found is None or (len(found) == 40 and int(found, 16) >= 0)
