"""What a difference from the reference says: wins, loses, as good, or not decided.

As many policies as a study compares, each could win by luck alone. The verdict therefore rests on
intervals that hold together, with 95 %, for all policies compared in one cell in one outcome.
Each is made at the level 0.95^(1/m) for m policies (Sidak 1967, J. Am. Stat. Assoc. 62, 626-633):
for two-sided intervals of jointly normal estimates that holds whatever the correlation, so it needs
no products between the policies, which the tallies do not keep and a max-t method would need. It is
a little sharper than Bonferroni's; stepwise methods such as Holm's give tests, not intervals. For
the same reason a policy picked as the best of those tried may be read by its interval.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from experiments.statistics.estimates import LEVEL, Difference
from experiments.statistics.group_sequential import level_each_look
from sim.arithmetic import exp, log

MARGIN = 0.5
WINS, LOSES, AS_GOOD, NOT_DECIDED = "wins", "loses", "as good", "not decided"
NOT_IN_ALL = ", not in all worlds"  # after one of the first three
COLUMNS = ("pairing_gain", "low_together", "high_together", "verdict")
NOTHING: dict[str, Any] = dict.fromkeys(COLUMNS)


def verdict(low: float | None, high: float | None) -> str:
    """What an interval of a difference in 100 says: as good, wins, loses or not decided.

    As good means inside half a ball (or point) in 100; the margin is fixed beforehand. A better
    policy whose whole interval lies inside the margin is as good, too: better by less than matters.
    """
    if low is None or high is None:
        return NOT_DECIDED
    if low >= -MARGIN and high <= MARGIN:
        return AS_GOOD
    if low > 0:
        return WINS
    if high < 0:
        return LOSES
    return NOT_DECIDED


def verdict_in_worlds(said: str, low: float | None, high: float | None) -> str:
    """The verdict by both intervals, of chance (what was `said` by it) and of worlds (its ends).

    Somebody wins or loses only if both intervals exclude zero on the same side, and is as good only
    if both lie inside the margin. What chance decides in the default world and the worlds that fit
    do not bear out is "wins, not in all worlds" and so on. What chance leaves open stays open: no
    worlds decide it. An interval of worlds that does not exist bears nothing out.
    """
    if said == NOT_DECIDED:
        return said
    ends = (math.nan if low is None else low), (math.nan if high is None else high)
    borne_out = {
        WINS: ends[0] > 0,
        LOSES: ends[1] < 0,
        AS_GOOD: ends[0] >= -MARGIN and ends[1] <= MARGIN,
    }
    return said if borne_out[said] else said + NOT_IN_ALL


def verdict_of(cell: Mapping[Any, Any]) -> str:
    """The verdict of a cell: the stored one, of the intervals that hold together.

    Cells that were written without it are judged by their own interval.
    """
    stored = cell.get("verdict")
    return stored if isinstance(stored, str) else verdict(cell["low"], cell["high"])


def verdict_by_both(cell: Mapping[Any, Any]) -> str:
    """The verdict of a cell by chance and worlds, where the study was played in worlds; else
    `verdict_of` it."""
    stored = cell.get("world_verdict")
    return stored if isinstance(stored, str) else verdict_of(cell)


def level_together(comparisons: int, looks: int = 1) -> float:
    """The level of each of so many intervals that hold together with LEVEL (Sidak).

    Of each, `looks` intervals may be looked at, at sizes that double: those hold together too.
    """
    return level_each_look(looks, shared(LEVEL, comparisons))


def shared(level: float, intervals: int) -> float:
    """The level of each of so many intervals that hold together with `level` (Sidak)."""
    return exp(log(level) / max(intervals, 1))


def compared(difference: Difference, level: float, in_100: bool) -> dict[str, Any]:
    """The columns COLUMNS of one difference; `level` is that of each interval.

    The verdict is that of the ends as they are written; it needs the unit of the margin (in 100).
    """
    wide = difference.at(level)
    low, high = written(wide.low), written(wide.high)
    gain, said = written(difference.pairing_gain), verdict(low, high) if in_100 else None
    return dict(zip(COLUMNS, (gain, low, high, said), strict=True))


def written(value: float) -> float | None:
    """A number as tables hold it: six digits, none for what does not exist, no -0.0."""
    return float(f"{value:.6g}") + 0.0 if math.isfinite(value) else None
