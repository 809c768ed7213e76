"""batches.parquet: the sums over batches of replicates, with the labels of their cell."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from experiments.study.batches import SUMS
from experiments.study.settings import Scenario
from experiments.study.stroke_file import LABELS, TEXT

AS_IT_STANDS = -1  # the point of the study as it stands, once read
SCHEMA = pa.schema(
    [pa.field("point", pa.int32())]
    + [pa.field(name, TEXT) for name in LABELS]
    + [pa.field("batch", pa.int32())]
    + [pa.field(name, pa.float32()) for name in SUMS]
)


def write_batches(held: Mapping[tuple[Scenario, str], dict[int, np.ndarray]], path: Path) -> None:
    """Write the sums SUMS that are held by scenario, policy and batch, if there are any."""
    keys = [(key, number) for key, own in held.items() for number in sorted(own)]
    if not keys:
        return
    sums = np.array([held[key][number] for key, number in keys])
    columns = {
        "point": [scenario.point for (scenario, _), _ in keys],
        **{k: [getattr(s, k) for (s, _), _ in keys] for k in LABELS if k != "policy"},
        "policy": [policy for (_, policy), _ in keys],
        "batch": [number for _, number in keys],
        **{name: sums[:, i] for i, name in enumerate(SUMS)},
    }
    plain = [pa.array(columns[f.name]).cast(f.type) for f in SCHEMA]
    pq.write_table(pa.Table.from_arrays(plain, schema=SCHEMA), path, compression="zstd")


def read_batches(path: Path) -> pd.DataFrame:
    """The table that `write_batches` wrote: "" for no own stroke."""
    table = pd.read_parquet(path)
    point = table["point"].fillna(AS_IT_STANDS).astype(int)
    return table.assign(point=point, **{k: table[k].astype(object).fillna("") for k in LABELS})
