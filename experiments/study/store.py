"""What a result folder holds: tables, stroke rows, and where they come from."""

from __future__ import annotations

import functools
import hashlib
import os
import platform
import subprocess
from collections.abc import Iterable
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from experiments.output.tables import fill_table
from experiments.study.settings import Scenario, scenario_fields
from experiments.study.stored import sha256
from sim.records import ENDINGS, GRADES, OUTCOMES, SIDES, STROKE, WINGS

PACKAGES = ("numpy", "scipy", "numba", "simpy", "pandas", "pyarrow", "matplotlib", "pydantic")
ROW_GROUP = 65_536
CODED = {"side": SIDES, "outcome": OUTCOMES, "grade": GRADES, "ending": ENDINGS}
LABELS = ("setting", "place", "level", "opponent", "own_stroke", "policy")
CHOICES_FILE = "choices.csv"
POINTS_FILE, DESIGNED_FILE = "points.csv", "designed.csv"
TEXT = pa.dictionary(pa.int32(), pa.string())


def stroke_schema() -> pa.Schema:
    """Columns of strokes.parquet: the labels of the cell, then the fields of sim.records.STROKE."""
    fields = [pa.field(name, TEXT) for name in LABELS]
    for name in STROKE.names or ():
        kind = pa.int64() if STROKE[name].kind == "i" else pa.float32()
        fields.append(pa.field(name, TEXT if name in CODED or name == "hitter_wing" else kind))
    return pa.schema(fields)


def stroke_table(scenario: Scenario, policy: str, rows: np.ndarray) -> pa.Table:
    """Stroke rows of one cell as a table of `stroke_schema`."""
    labels = {**scenario_fields(scenario), "policy": policy}
    n = len(rows)
    columns = [pa.array([labels[name]] * n, pa.string()).cast(TEXT) for name in LABELS]
    for name in STROKE.names or ():
        values = rows[name]
        if name in CODED:
            columns.append(_coded(values, CODED[name]))
        elif name == "hitter_wing":
            columns.append(_coded((values < 0).astype(int), (WINGS[1], WINGS[-1])))
        elif STROKE[name].kind == "i":
            columns.append(pa.array(values))
        else:
            columns.append(pa.array(values.astype(np.float32), from_pandas=False))
    return pa.Table.from_arrays(columns, schema=stroke_schema())


def _coded(values: np.ndarray, names: tuple[str, ...]) -> pa.Array:
    indices = pa.array(np.ascontiguousarray(values).astype(np.int32))
    return pa.DictionaryArray.from_arrays(indices, pa.array(list(names), pa.string()))


class StrokeFile:
    """Streams stroke rows to a Parquet file in row groups of fixed size."""

    def __init__(self, path: Path) -> None:
        self._writer = pq.ParquetWriter(path, stroke_schema(), compression="zstd")
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


def write_cells(folder: Path, cells: list[dict[str, Any]]) -> None:
    """cells.csv, one cell a line."""
    fill_table(pd.DataFrame(cells), folder / "cells.csv")


def write_choices(folder: Path, rows: list[dict[str, Any]]) -> None:
    """choices.csv, one modelling choice a line."""
    fill_table(pd.DataFrame(rows), folder / CHOICES_FILE)


def write_points(folder: Path, points: list[dict[str, Any]], rows: list[dict[str, Any]]) -> None:
    """points.csv, a line for each point of the factors and level, and designed.csv, their cells."""
    fill_table(pd.DataFrame(points), folder / POINTS_FILE, 6)  # as many as all tables hold
    fill_table(pd.DataFrame(rows), folder / DESIGNED_FILE)


def source_hash() -> str:
    """SHA-256 over the source of the three packages."""
    root = Path(__file__).resolve().parent.parent
    digest = hashlib.sha256()
    for package in ("sim", "strategies", "experiments"):
        for path in sorted((root / package).rglob("*")):
            if path.suffix in (".py", ".toml", ".html"):
                digest.update(path.relative_to(root).as_posix().encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()


def commit() -> str | None:
    """The commit of the checkout that the code runs from, None outside a checkout."""
    root = Path(__file__).resolve().parent.parent
    if not (root / ".git").exists():
        return None
    try:
        done = subprocess.run(
            ["git", "rev-parse", "HEAD"], cwd=root, capture_output=True, text=True, timeout=10
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.strip() or None


def versions() -> dict[str, str]:
    """Versions of the packages that results depend on."""
    return {name: metadata.version(name) for name in PACKAGES}


def system() -> dict[str, str]:
    """The operating system and the processor that this process runs on."""
    return {
        "operating system": platform.platform(),
        "machine": platform.machine(),
        "processor": processor_name(),
        "processors": str(os.cpu_count()),
    }


@functools.cache
def processor_name() -> str:
    """The processor's name as the system gives it."""
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8", "replace").splitlines()
    except OSError:
        lines = []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()


def file_hashes(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """SHA-256 of these files of the folder, by name."""
    return {name: sha256(folder / name) for name in names}
