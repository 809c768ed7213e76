"""The race of a study in the report: what became of each cell and policy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from experiments.report.findings import after
from experiments.statistics.signed_words import Ends
from experiments.statistics.words import said
from experiments.study.race import BEHIND, BEST, CANNOT, CELL, MAY_BE, NO_BETTER, race_of
from experiments.study.result_folder import ResultFolder
from experiments.study.setting_table import units_of


@dataclass(frozen=True)
class CellRace:
    """How the race of one cell ended: the cell, how far it went, and the policies by their end."""

    cell: str
    played: str
    best: str
    no_better: str
    cannot: str


def races(results: ResultFolder) -> list[CellRace]:
    """The cells of a race, in the study's order; none where there was no race."""
    race = race_of(results.path)
    return [] if race.empty else list(_races(race))


def _races(race: pd.DataFrame) -> Iterator[CellRace]:
    for labels, own in race.groupby(list(CELL), sort=False):
        setting, place, level, opponent, stroke = map(str, labels)
        by_end = {end: own[own["ended"] == end] for end in (BEST, NO_BETTER, MAY_BE, CANNOT)}
        yield CellRace(
            f"{after(setting, stroke or None)}, {place}, {level}, {opponent}",
            f"{own['replicates'].max():,} {units_of(setting)} (look {own['looks'].max()})",
            _names(by_end[BEST]) or f"open: {_names(by_end[MAY_BE])}",
            _names(by_end[NO_BETTER]),
            ", ".join(map(_stopped, by_end[CANNOT].to_dict("records"))),
        )


def _names(rows: pd.DataFrame) -> str:
    return ", ".join(rows["policy"])


def _stopped(row: dict[Any, Any]) -> str:
    """A policy that cannot be the best, how far it played, and behind whom."""
    behind = said(Ends(*(row[name] for name in BEHIND)))
    at = f"look {row['looks']}, {row['replicates']:,}"
    return f"{row['policy']} ({at}: behind {row['than']} by {behind})"
