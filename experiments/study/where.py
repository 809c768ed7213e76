"""Where points come from: what is lost and missed, split in four ways, each of which adds up.

A lost point is put down to the last ball that the studied player had to recover to: to the place
where the opponent struck it, to its number in the rally, to how it was met, to the time to spare.
A point that was lost before there was such a ball is put down to the serve (in a rally that opens
with a drive there is none). So the points that a policy wins more than the reference are, split by
split, the sum of those that it loses less often part by part; and as a missed ball is a last ball,
the balls missed fewer of 100 are the sum over the parts, too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from experiments.scene.own_code import policy_of
from experiments.statistics.comparison import written
from experiments.statistics.estimates import LEVEL, Estimate, paired, ratio, share
from experiments.statistics.group_sequential import level_each_look
from experiments.statistics.tally import Tally
from experiments.study.design import Study
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.rally_rows import MET, NONE, SPARE, ZONES
from experiments.study.setting_table import is_rally
from experiments.study.settings import BlockResult, Scenario

PLACE, BALL = "place of the opponent", "ball of the rally"
MEETING, TIME = "how it was met", "time to spare"
AT_SERVE = "at the serve"
BALLS = ("first", "second", "third", "fourth or later")
SPLITS = {
    split: (*parts, AT_SERVE)
    for split, parts in ((PLACE, ZONES), (BALL, BALLS), (MEETING, MET), (TIME, SPARE))
}
PARTS = [(split, part) for split, parts in SPLITS.items() for part in parts]
LOST_HERE, MISSED_HERE, BALLS_HERE = (
    "lost_here_per_100",
    "missed_here_per_100",
    "balls_here_per_100",
)


def part_column(what: str, split: str, part: str) -> str:
    """The column of a part in the tables of parts: a count's name, then the part's."""
    return f"{what}: {split}: {part}"


COLUMNS = (
    *("one", "balls"),
    *(part_column(what, *part) for what in ("points", "missed") for part in PARTS),
    *(part_column("balls", PLACE, zone) for zone in ZONES),
)


def part_table(rows: np.ndarray) -> np.ndarray:
    """One row a rally, columns COLUMNS, from its RALLY records: points lost in a part count -1."""
    of = {
        PLACE: rows["last_from"],
        BALL: np.minimum(rows["balls"].astype(int), len(BALLS)) - 1,
        MEETING: rows["last_met"],
        TIME: rows["last_spare"],
    }
    here = np.hstack([_marked(of[split], len(parts)) for split, parts in SPLITS.items()])
    parts = [here * value[:, None] for value in (rows["points"] - 1.0, rows["missed"])]
    counts = np.stack([np.ones(len(rows)), rows["balls"]], axis=1)
    return np.hstack([counts, *parts, rows["balls_from"]])


def _marked(number: np.ndarray, parts: int) -> np.ndarray:
    """Which part of a split each rally belongs to, (n, parts); NONE to the last, at the serve."""
    return np.where(number == NONE, parts - 1, number)[:, None] == np.arange(parts)


class PartSums:
    """The sums of the headline cells: by scenario, then by policy."""

    def __init__(self, reference: str) -> None:
        self._reference = reference
        self.held: dict[Scenario, dict[str, Tally]] = {}

    def add(self, scenario: Scenario, result: BlockResult) -> None:
        """Add those of a block of rallies; blocks in a fixed order."""
        if not is_rally(scenario.setting) or not result.rallies:
            return
        so_far = self.held.setdefault(scenario, {})
        tables = {policy: part_table(rows) for policy, rows in result.rallies.items()}
        for policy, table in tables.items():
            tally = Tally.of(table, tables[self._reference], columns=COLUMNS)
            so_far[policy] = so_far[policy] + tally if policy in so_far else tally


def where_rows(study: Study, sums: PartSums) -> Iterator[dict[str, Any]]:
    """The rows of where.csv in a fixed order; parts in which nothing was lost are left out."""
    reference = policy_of(study.reference).name
    for scenario, by_policy in sums.held.items():
        level = level_each_look(study.looks_allowed(scenario.setting), LEVEL)
        for split, part in PARTS:
            if not any(_sum_of(t, part_column("points", split, part)) for t in by_policy.values()):
                continue
            for policy, tally in by_policy.items():
                than = None if policy == reference else reference
                for outcome, found in estimates(tally, split, part, than, level).items():
                    yield _row(policy, scenario, split, part, outcome, found)


def _sum_of(tally: Tally, column: str) -> float:
    """What the policy and the reference have of a count together."""
    k = tally.columns.index(column)
    return float(tally.own[0, k] + tally.reference[0, k])


def estimates(
    tally: Tally, split: str, part: str, than: str | None, level: float = LEVEL
) -> dict[str, Estimate]:
    """All outcomes of one part by name; `than` names the reference, None for that itself."""
    points, missed, balls = (part_column(w, split, part) for w in ("points", "missed", "balls"))
    out: dict[str, Estimate] = {LOST_HERE: ratio(tally, points, "one", level).scaled(-100)}
    if balls in COLUMNS:
        out[BALLS_HERE] = ratio(tally, balls, "one", level).scaled(100)
        out[MISSED_HERE] = share(tally, missed, balls, level).scaled(100)
    if than is not None:
        out[more_points(than)] = paired(tally, points, "one", level).scaled(100)
        if _sum_of(tally, missed):
            out[fewer_missed(than)] = paired(tally, missed, "balls", level).scaled(-100)
    return out


def _row(
    policy: str, scenario: Scenario, split: str, part: str, outcome: str, found: Estimate
) -> dict[str, Any]:
    """One row of where.csv."""
    labels: Mapping[str, Any] = {"split": split, "part": part, "outcome": outcome}
    numbers = {"estimate": found.value, "low": found.low, "high": found.high}
    own = {name: getattr(scenario, name) for name in ("place", "level", "opponent", "setting")}
    return {
        "policy": policy,
        **own,
        **labels,
        **{name: written(value) for name, value in numbers.items()},
        "n": int(found.n),
    }
