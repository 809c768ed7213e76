"""The assumptions that a conclusion rests on: what moves the difference by more than the margin."""

from __future__ import annotations

import pandas as pd

from experiments.evidence.sensitivity.folder import LABELS, DesignedFolder
from experiments.evidence.sensitivity.naming import named_factors
from experiments.evidence.sensitivity.one_by_one import PERHAPS, SURELY

FILE = "assumptions.csv"
COLUMNS = ("factor", "words", "unit", "low_value", "high_value", "status", "source")
OWN = ("effect", "moves", "turns")


def assumptions(folder: DesignedFolder, table: pd.DataFrame) -> pd.DataFrame:
    """The rows of `one_by_one` or `together` whose factor moves a difference in 100 by more than
    the margin, surely or perhaps, the largest effect of an outcome first.

    `effect` is the spread between the ends of the range, or the standard deviation that is left
    when all other factors are known; `turns` the verdicts at the ends that are not that of the
    study as it stands ("" where ends were not played by themselves).
    """
    table = table[table["moves"].isin((SURELY, PERHAPS))].copy()
    if "turns" not in table:
        table["turns"] = ""
    effect = table["spread"] if "spread" in table else table["moves_by"]
    named = named_factors(folder.study, folder.study.level_names()[0])
    table = table.assign(effect=effect, source=table["factor"].map(lambda f: named[f].source))
    return table[[*LABELS, *COLUMNS, *OWN]].reset_index(drop=True)
