"""Rows of cells in Parquet files: labels of their cell, coded texts, row groups of fixed size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from experiments.study.settings import Scenario

ROW_GROUP = 65_536
LABELS = ("setting", "place", "level", "opponent", "own_stroke", "policy")
TEXT = pa.dictionary(pa.int32(), pa.string())


def labels_of(scenario: Scenario, policy: str, count: int) -> list[pa.Array]:
    """The columns LABELS of that many rows of a cell."""
    labels = {**asdict(scenario), "policy": policy}
    return [pa.array([labels[name]] * count, pa.string()).cast(TEXT) for name in LABELS]


def coded(values: np.ndarray, names: Sequence[str], none: np.ndarray | None = None) -> pa.Array:
    """The names with these numbers; nothing where `none`."""
    indices = pa.array(np.ascontiguousarray(values).astype(np.int32), mask=none)
    return pa.DictionaryArray.from_arrays(indices, pa.array(list(names), pa.string()))


class RowFile:
    """Streams rows to a Parquet file in row groups of fixed size."""

    def __init__(self, path: Path, schema: pa.Schema, **how: Any) -> None:
        self._writer = pq.ParquetWriter(path, schema, compression="zstd", **how)
        self._waiting: list[pa.Table] = []
        self.rows = 0

    def add(self, table: pa.Table) -> None:
        """Append rows."""
        self._waiting.append(table)
        self.rows += table.num_rows
        if sum(t.num_rows for t in self._waiting) >= ROW_GROUP:
            whole = pa.concat_tables(self._waiting).unify_dictionaries().combine_chunks()
            full = whole.num_rows - whole.num_rows % ROW_GROUP
            self._writer.write_table(whole.slice(0, full), row_group_size=ROW_GROUP)
            self._waiting = [whole.slice(full)]

    def close(self) -> None:
        """Write what is waiting and close the file."""
        if self._waiting:
            whole = pa.concat_tables(self._waiting).unify_dictionaries().combine_chunks()
            self._writer.write_table(whole, row_group_size=ROW_GROUP)
        self._writer.close()
