"""rallies.parquet: one row a ball or rally of the headline cells, with the labels of its cell."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyarrow as pa

from experiments.study.rally_rows import MET, NONE, SPARE, ZONES
from experiments.study.row_file import LABELS, TEXT, RowFile, coded, labels_of
from experiments.study.setting_table import is_rally
from experiments.study.settings import Scenario

CODED = {"last_from": ZONES, "last_met": MET, "last_spare": SPARE}
NUMBERS = {"points": pa.float32(), "balls": pa.uint16(), "missed": pa.uint8()}
NUMBERS["strokes"] = pa.uint16()
FROM = tuple(f"balls_{zone.replace(' ', '_')}" for zone in ZONES)


def rally_schema() -> pa.Schema:
    """Columns of rallies.parquet: the labels of the cell, then what RALLY records hold."""
    fields = [pa.field(name, TEXT) for name in LABELS]
    fields += [pa.field("replicate", pa.int64())]
    fields += [pa.field(name, kind) for name, kind in NUMBERS.items()]
    fields += [pa.field(name, TEXT) for name in CODED]
    return pa.schema([*fields, *(pa.field(name, pa.uint16()) for name in FROM)])


def rally_table(scenario: Scenario, policy: str, rows: np.ndarray) -> pa.Table:
    """RALLY records of one cell as a table of `rally_schema`; no points where one ball is met."""
    columns = [*labels_of(scenario, policy, len(rows)), pa.array(rows["replicate"])]
    no_points = np.full(len(rows), not is_rally(scenario.setting))
    for name, kind in NUMBERS.items():
        columns.append(pa.array(rows[name], kind, mask=no_points if name == "points" else None))
    columns += [coded(rows[n], names, rows[n] == NONE) for n, names in CODED.items()]
    columns += [pa.array(np.ascontiguousarray(rows["balls_from"][:, k])) for k in range(len(FROM))]
    return pa.Table.from_arrays(columns, schema=rally_schema())


def rally_file(path: Path) -> RowFile:
    """An empty file of rallies; numbers of replicates that follow each other cost nothing in it."""
    others = [name for name in rally_schema().names if name != "replicate"]
    how = {"column_encoding": {"replicate": "DELTA_BINARY_PACKED"}, "use_dictionary": others}
    return RowFile(path, rally_schema(), **how)
