"""What a run keeps of its headline cells: a row a rally, and where the points come from."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from experiments.output.tables import fill_table
from experiments.scene.own_code import policy_of
from experiments.study.design import Study
from experiments.study.folder_files import RALLIES, WHERE
from experiments.study.rally_file import rally_file, rally_table
from experiments.study.settings import BlockResult, Scenario
from experiments.study.where import PartSums, where_rows


class KeptRallies:
    """Writes rallies.parquet and where.csv of a study; nothing where it names no headline."""

    def __init__(self, study: Study, folder: Path) -> None:
        self._study, self._folder = study, folder
        self._file = None if study.headline is None else rally_file(folder / RALLIES)
        self._sums = PartSums(policy_of(study.reference).name)

    def add(self, scenario: Scenario, result: BlockResult) -> None:
        """Take in a block; those of a scenario in the order of their replicates."""
        self._sums.add(scenario, result)
        for policy, rows in result.rallies.items():
            if self._file is not None:
                self._file.add(rally_table(scenario, policy, rows))

    def close(self) -> None:
        """Close the file of rallies."""
        if self._file is not None:
            self._file.close()

    def write_where(self) -> None:
        """Write where the points come from, where the headline has some that are played out."""
        if rows := list(where_rows(self._study, self._sums)):
            fill_table(pd.DataFrame(rows), self._folder / WHERE)
