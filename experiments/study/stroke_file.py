"""strokes.parquet: the stroke rows that a study keeps, with the labels of their cell.

The rally table, one row a ball or rally, is made from them.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pyarrow as pa

from experiments.statistics.tally import SETTLED_OFF_S
from experiments.study.row_file import LABELS, TEXT, coded, labels_of
from experiments.study.setting_table import SETTINGS
from experiments.study.settings import Scenario
from sim.kinds import KINDS, SERVES
from sim.records import (
    ENDINGS,
    GOING,
    GRADES,
    OUTCOMES,
    SIDES,
    STROKE,
    STROKE_LIMIT,
    STUDIED,
    WINGS,
    WON_BY_HITTER,
)

CODED = {
    "side": SIDES,
    "outcome": OUTCOMES,
    "grade": GRADES,
    "ending": ENDINGS,
    "kind": KINDS,
}


def stroke_schema() -> pa.Schema:
    """Columns of strokes.parquet: the labels of the cell, then the fields of sim.records.STROKE."""
    fields = [pa.field(name, TEXT) for name in LABELS]
    for name in STROKE.names or ():
        kind = pa.int64() if STROKE[name].kind == "i" else pa.float32()
        fields.append(pa.field(name, TEXT if name in CODED or name == "hitter_wing" else kind))
    return pa.schema(fields)


def stroke_table(scenario: Scenario, policy: str, rows: np.ndarray) -> pa.Table:
    """Stroke rows of one cell as a table of `stroke_schema`."""
    columns = labels_of(scenario, policy, len(rows))
    for name in STROKE.names or ():
        values = rows[name]
        if name in CODED:
            columns.append(coded(values, CODED[name]))
        elif name == "hitter_wing":
            columns.append(coded((values < 0).astype(int), (WINGS[1], WINGS[-1])))
        elif STROKE[name].kind == "i":
            columns.append(pa.array(values))
        else:
            columns.append(pa.array(values.astype(np.float32), from_pandas=False))
    return pa.Table.from_arrays(columns, schema=stroke_schema())


HITTER_WON = [ENDINGS[k] for k in WON_BY_HITTER]


def rallies_of(strokes: pd.DataFrame) -> pd.DataFrame:
    """One row for each ball (placed, recovery) or rally of a stroke table, in its order.

    Columns as in the data dictionary (`columns`), table `rallies`. A study keeps the
    strokes of the first replicates of each cell only (`stroke_rows_per_cell`).
    """
    names = [*LABELS, "replicate"]
    faced = (strokes["side"] == "opponent") & (strokes["outcome"] == "in")
    faced &= ~strokes["kind"].isin([KINDS[k] for k in SERVES])
    rows = strokes[names].assign(
        strokes=1,
        last_strike_s=strokes["strike_time_s"],
        balls=faced.astype(int),
        **{grade: (faced & (strokes["grade"] == grade)).astype(int) for grade in GRADES},
        spare_s=strokes["time_to_spare_s"].clip(lower=-SETTLED_OFF_S).where(faced, 0.0),
        chase_run_m=strokes["chase_run_m"].where(faced, 0.0),
        ending=strokes["ending"].astype(object),
        last_side=strokes["side"].astype(object),
    )
    sums = dict.fromkeys(("strokes", "balls", *GRADES, "spare_s", "chase_run_m"), "sum")
    last = dict.fromkeys(("last_strike_s", "ending", "last_side"), "last")
    grouped = rows.groupby(names, observed=True, dropna=False, sort=False)
    table = grouped.agg(sums | last).reset_index()
    table["mean_time_to_spare_s"] = table["spare_s"] / table["balls"].replace(0, np.nan)
    table["points"] = points_of(table)
    order = [*names, "strokes", "last_strike_s", "balls", *GRADES, "mean_time_to_spare_s"]
    return table[[*order, "chase_run_m", "ending", "last_side", "points"]]


def points_of(table: pd.DataFrame) -> pd.Series:
    """Points of the studied player by rally: 1, 0, 0.5 at the stroke limit, NaN for one ball."""
    hitter_won = table["ending"].isin(HITTER_WON)
    won = hitter_won == (table["last_side"] == SIDES[STUDIED])
    undecided = table["ending"].isin((ENDINGS[GOING], ENDINGS[STROKE_LIMIT]))
    points = won.astype(float).mask(undecided, 0.5)
    return points.where(table["setting"].isin([s.name for s in SETTINGS.values() if s.is_rally]))
