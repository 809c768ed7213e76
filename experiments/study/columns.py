"""What the columns of a result folder mean, with their units: the data dictionary.

It stands in `data/columns.toml`; each result folder gets the part that it needs as `columns.csv`.
"""

from __future__ import annotations

import dataclasses
import tomllib
from dataclasses import astuple, dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow.parquet as pq

from experiments.output.tables import fill_table
from experiments.study.factor_names import NAMED, PLAYER_PARTS, RECOVERY, SHOTS, UNITS, WORLD_PARTS
from experiments.study.folder_files import ANALYSES, CELLS, COLUMNS, TABLES, held, sound
from experiments.study.setting_table import any_served
from strategies.catalogue import POLICIES, SHOT_MODELS

WITH_FACTORS = ("points", "turning")
IN_WORLDS = "in_worlds"  # more columns of these, where a study was played over worlds
WITH_WORLDS = ("cells", "points")
IN_SERVED, OUTCOMES_SERVED = "in_served", "outcomes_served"  # words where points open with a serve
REFERENCE = "REFERENCE"


@dataclass(frozen=True)
class Column:
    """One column: its table, its name, its unit ("" for words, "1" for a number without) and what
    it means. The table `outcomes` explains the values of the column `outcome` of the cells."""

    table: str
    column: str
    unit: str
    meaning: str


@cache
def dictionary() -> dict[str, dict[str, Column]]:
    """Table to column name to column, for every column that this version writes."""
    text = resources.files("experiments.data").joinpath("columns.toml").read_text("utf-8")
    tables = tomllib.loads(text)
    for table in ("designed", *ANALYSES):
        tables[table] = tables["cells"] | tables[table]
    return {
        table: {name: Column(table, name, *words) for name, words in columns.items()}
        for table, columns in tables.items()
    }


def columns_of(folder: Path) -> list[Column]:
    """The columns of the tables in a result folder, in their order, then the cells' outcomes and
    the rally table that `rallies_of` makes of the strokes.

    A column without an entry (a later version wrote it) has no unit and no meaning.
    """
    files = TABLES | ANALYSES
    there = {table: names_in(held(folder, file)) for table, file in files.items()}
    outcomes, served = list[str](), False
    if held(folder, CELLS).exists():
        cells = pd.read_csv(sound(folder, CELLS), usecols=["outcome", "setting"])
        outcomes, served = list(cells["outcome"].unique()), any_served(cells["setting"].unique())
    there["outcomes"] = outcomes
    there["rallies"] = list(dictionary()["rallies"]) if there["strokes"] else []
    return [found(table, name, served) for table, names in there.items() for name in names]


def names_in(path: Path) -> list[str]:
    """Column names of a CSV or Parquet file; none if it is not there."""
    if not path.exists():
        return []
    if path.suffix == ".parquet":
        return list(pq.read_schema(path).names)
    return list(pd.read_csv(path, nrows=0).columns)


def found(table: str, name: str, served: bool = False) -> Column:
    """The entry of a column; of an outcome also where it names the study's reference policy, and
    of a factor in the table of points. `served`: of a study whose points open with a serve."""
    known = dictionary().get(table, {})
    other = dictionary()[OUTCOMES_SERVED if table == "outcomes" else IN_SERVED]
    if served and name in known and name in other:
        return dataclasses.replace(other[name], table=table)
    if name in known:
        return known[name]
    if table in WITH_WORLDS and name in dictionary()[IN_WORLDS]:
        return dataclasses.replace(dictionary()[IN_WORLDS][name], table=table)
    if table in WITH_FACTORS:
        return Column(table, name, *factor_words(name))
    for general, entry in known.items():
        start, named, end = general.partition(REFERENCE)
        if named and name.startswith(start) and name.endswith(end):
            return Column(table, name, entry.unit, entry.meaning)
    return Column(table, name, "", "")


OTHER_FACTORS = {
    "hitter.stroke_speed_share": "speed of forehand and backhand over the level's own",
    "surface": "surface of the court",
    "waiting_depth_m": "waiting line, metres behind the baseline",
    "air.altitude_m": "height of the court above the sea",
    "air.temperature_c": "temperature of the air",
    "air.relative_humidity": "relative humidity of the air",
    "place.x_m": "ball at the opponent's contact, lateral",
    "place.y_m": "ball at the opponent's contact, from the net",
    "place.z_m": "ball at the opponent's contact, above the ground",
}


def factor_words(label: str) -> tuple[str, str]:
    """Unit and meaning of a factor by the label of its column: a name, or `studied NAME`; both
    empty for one that is not known."""
    name = label.rpartition(" ")[2]
    if name not in NAMED:
        return "", ""
    if name in OTHER_FACTORS:
        return UNITS[name], OTHER_FACTORS[name]
    part, _, field = name.partition(".")
    kinds = {**PLAYER_PARTS, **WORLD_PARTS}
    made: dict[str, Any] = {SHOTS: SHOT_MODELS, RECOVERY: POLICIES}
    among = [type(k()) for k in made[part].values()] if part in made else [kinds[part]]
    for own in (f for kind in among for f in dataclasses.fields(kind) if f.name == field):
        if "unit" in own.metadata:
            return own.metadata["unit"], own.metadata["about"]
    return "", ""


def write_columns(folder: Path) -> Path:
    """Write `columns.csv` for the tables that are in `folder`; returns its path."""
    rows = pd.DataFrame(
        [astuple(c) for c in columns_of(folder)], columns=list(Column.__match_args__)
    )
    fill_table(rows, folder / COLUMNS)
    return folder / COLUMNS
