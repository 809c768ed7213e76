"""The interval of worlds of each cell: from sums over halves to columns beside those of chance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from experiments.statistics.comparison import verdict_in_worlds, written
from experiments.statistics.estimates import INDEX
from experiments.statistics.over_worlds import HALVES, OverWorlds, over_worlds
from experiments.statistics.tally import COLUMNS
from experiments.study.design import Study
from experiments.study.outcome_names import fewer_missed, more_points, more_returned, more_time
from experiments.study.settings import Block, BlockResult, Scenario, slice_of, slices
from experiments.study.worlds import basis_of

WORLD_COLUMNS = (
    "world_low",
    "world_high",
    "world_share",
    "world_chance_share",
    "world_verdict",
    "world_basis",
)
# What is summed, over what, in which unit. Of the differences the reference's is taken off.
RATIOS = {
    "missed_per_100": ("missed", "balls", 100.0),
    "set_per_100": ("set", "balls", 100.0),
    "not_returned_per_100": ("not_returned", "balls", 100.0),
    "time_to_spare_s": ("spare_s", "balls", 1.0),
    "run_m": ("run_m", "balls", 1.0),
    "spot_x_m": ("spot_x_m", "one", 1.0),
    "spot_y_m": ("spot_y_m", "one", 1.0),
    "reached_x_m": ("reached_x_m", "one", 1.0),
    "points_won_per_100": ("points", "one", 100.0),
    "strokes_per_rally": ("strokes", "one", 1.0),
}
DIFFERENCES = {
    fewer_missed: ("missed", "balls", -100.0),
    more_returned: ("not_returned", "balls", -100.0),
    more_time: ("spare_s", "balls", 1.0),
    more_points: ("points", "one", 100.0),
}


@dataclass
class HalfSums:
    """The sums over halves of all cells: by scenario and policy, then by the half's number."""

    held: dict[tuple[Scenario, str], dict[int, np.ndarray]] = field(default_factory=dict)

    def add(self, block: Block, result: BlockResult) -> None:
        """Add those of a block; blocks in a fixed order."""
        for policy, table in result.halves.items():
            own = self.held.setdefault((block.scenario, policy), {})
            for row in table:
                number = int(row[0])
                own[number] = own[number] + row[1:] if number in own else row[1:]

    def of_slice(self, scenario: Scenario, policy: str, number: int) -> np.ndarray:
        """The sums of a slice and of its halves, (3, 2 k)."""
        own = self.held[scenario, policy]
        halves = [own[HALVES * number + k] for k in range(HALVES)]
        return np.stack([sum(halves[1:], halves[0]), *halves])


@dataclass(frozen=True)
class CellSums:
    """The sums of one scenario and policy in all worlds, and those of the default world on the same
    replicates, each (worlds, 3, 2 k): of the slice and of its halves."""

    worlds: np.ndarray
    default: np.ndarray


def sums_of(study: Study, sums: HalfSums, scenario: Scenario, policy: str) -> CellSums:
    """The sums of a cell of the study as it stands, over its worlds."""
    worlds = range(study.worlds or 0)
    at = [replace(scenario, point=k) for k in worlds]
    own = [sums.of_slice(s, policy, slice_of(study, s)) for s in at]
    beside = [sums.of_slice(scenario, policy, k) for k in range(slices(study, scenario.setting))]
    return CellSums(np.stack(own), np.stack([beside[slice_of(study, s)] for s in at]))


def values_of(sums: np.ndarray, outcome: str, than: str, x_m: float) -> np.ndarray:
    """An outcome from sums (..., 2 k) of a policy and of the reference `than`; (...).

    `x_m` is the place of the cell. Not a number where nothing is counted.
    """
    k = len(COLUMNS)
    if outcome == "share_in_time":
        return 1.0 - values_of(sums, "missed_per_100", than, x_m) / 100.0
    if outcome == "shade_m_per_m":
        return -values_of(sums, "spot_x_m", than, x_m) / x_m
    if outcome in RATIOS:
        return _ratio(sums[..., :k], *RATIOS[outcome])
    terms = next(terms for name, terms in DIFFERENCES.items() if name(than) == outcome)
    return _ratio(sums[..., :k], *terms) - _ratio(sums[..., k:], *terms)


def _ratio(sums: np.ndarray, top: str, bottom: str, factor: float) -> np.ndarray:
    below = sums[..., INDEX[bottom]]
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(factor * (sums[..., INDEX[top]] / below))


@dataclass(frozen=True)
class Seen:
    """An outcome in the worlds and in the default one on the same replicates, each (worlds, 3): in
    the slice and in its halves."""

    worlds: np.ndarray
    default: np.ndarray

    @classmethod
    def of(cls, cell: CellSums, outcome: str, than: str, x_m: float) -> Seen:
        """An outcome of one cell."""
        return cls(*(values_of(s, outcome, than, x_m) for s in (cell.worlds, cell.default)))

    @classmethod
    def mean(cls, parts: Sequence[Seen]) -> Seen:
        """The mean over places with equal weights, world by world."""
        both = np.stack([[p.worlds for p in parts], [p.default for p in parts]])
        return cls(*both.mean(axis=1))

    def spread(self, estimate: float) -> OverWorlds | None:
        """Over the worlds, given the estimate in the default one from all replicates."""
        halves, control = self.worlds[:, 1:], self.default[:, 1:]
        return over_worlds(self.worlds[:, 0], self.default[:, 0], estimate, halves, control)


def world_columns(cell: Mapping[str, Any], spread: OverWorlds | None) -> dict[str, Any]:
    """The columns WORLD_COLUMNS of a cell, numbers to six digits.

    `world_share`, of a difference: the share of the worlds on the estimate's side of zero.
    """
    row: dict[str, Any] = dict.fromkeys(WORLD_COLUMNS) | {"world_basis": basis_of(cell["level"])}
    if spread is not None and cell["estimate"] is not None:
        row["world_low"], row["world_high"] = written(spread.low), written(spread.high)
        row["world_chance_share"] = written(spread.chance_share)
        if cell["low_together"] is not None:
            row["world_share"] = written(spread.share_beyond_zero(cell["estimate"]))
    if cell["verdict"] is not None:
        ends = row["world_low"], row["world_high"]
        row["world_verdict"] = verdict_in_worlds(cell["verdict"], *ends)
    return row
