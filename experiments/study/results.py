"""A result folder for Python: its files as data frames, each read when it is first asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.study.columns import columns_of
from experiments.study.folder_files import RALLIES, sound
from experiments.study.result_folder import ResultFolder, shade_curve
from experiments.study.stroke_file import rallies_of
from sim.errors import InputError


@dataclass(frozen=True, repr=False)
class Results:
    """A result folder as data frames, each read when it is first asked for."""

    _folder: ResultFolder

    def __repr__(self) -> str:
        title, seed = self.study.get("title", ""), self.study.get("seed")
        return f"Results({str(self.path)!r}: {title}; {len(self.cells)} cells, seed {seed})"

    @property
    def path(self) -> Path:
        """Where the folder is."""
        return self._folder.path

    @property
    def study(self) -> Mapping[str, Any]:
        """The resolved study: what was asked for, the seed included."""
        return self._folder.study

    @property
    def manifest(self) -> Mapping[str, Any]:
        """What was run, when and with which versions."""
        return self._folder.manifest

    @property
    def cells(self) -> pd.DataFrame:
        """One row an estimate: its labels, estimate, low, high and n."""
        return self._folder.cells

    @cached_property
    def strokes(self) -> pd.DataFrame:
        """One row a stroke that the study kept (`stroke_rows_per_cell`); empty if it kept none."""
        path = sound(self.path, "strokes.parquet")
        if not path.exists():
            raise InputError(f"{str(path)!r} is missing; run the study again")
        table = pd.read_parquet(path)
        table["own_stroke"] = table["own_stroke"].astype(object).fillna("")
        return table

    @cached_property
    def rallies(self) -> pd.DataFrame:
        """One row a ball or rally, made from `strokes`."""
        return rallies_of(self.strokes)

    @cached_property
    def rally_rows(self) -> pd.DataFrame:
        """One row for each ball or rally of the headline cells.

        Raises:
            InputError: the study kept none.
        """
        path = sound(self.path, RALLIES)
        if not path.exists():
            raise InputError(f"{str(path)!r} is missing: the study file has no table [headline]")
        return pd.read_parquet(path)

    @property
    def where(self) -> pd.DataFrame:
        """Where the points of the headline cells come from; empty if the study kept none."""
        return self._folder.where

    @cached_property
    def choices(self) -> pd.DataFrame:
        """What each modelling choice does; empty if the study tried none."""
        return self._folder.choices

    @cached_property
    def designed(self) -> pd.DataFrame:
        """One row an estimate at a design point; empty if the study has no factors."""
        return self._folder.designed

    @cached_property
    def points(self) -> pd.DataFrame:
        """Factor values of each design point; empty if the study has no factors."""
        return self._folder.points

    def shades(self, outcome: str = "missed_per_100", **labels: str) -> pd.DataFrame:
        """An outcome over the shade of the yardstick family, for `draw_yardstick`.

        `labels` pick one place, level, opponent, setting and own stroke: place="corner", ...
        """
        members = [self._folder.reference, *self._folder.family]
        return shade_curve(self._folder.pick(**labels), outcome, members)

    @cached_property
    def columns(self) -> pd.DataFrame:
        """Table, column, unit and meaning of every column, and of the outcomes."""
        return pd.DataFrame(columns_of(self.path))
