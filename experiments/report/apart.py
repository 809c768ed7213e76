"""Three numbers kept apart, of a study of whole points that open with a serve.

Whole points as they are played come first, then what follows own strokes, then the ball met from
the spot. Beside every points figure stands the share of balls reached in time.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from experiments.report.findings import YARDSTICK, Cell, Cells
from experiments.report.glossary import is_own
from experiments.statistics.comparison import verdict_of
from experiments.statistics.signed_words import claim, ends_of, world_words
from experiments.study.outcome_names import fewer_missed, more_points
from experiments.study.result_folder import ALL_PLACES
from experiments.study.setting_table import (
    FROM_SPOT,
    RECOVERED,
    SERVE,
    SETTINGS,
    WHOLE_POINTS,
    any_served,
    is_rally,
    is_served,
)

POINTS, IN_TIME = "points_won_per_100", "share_in_time"
NUMBERS = {
    WHOLE_POINTS: "Whole points as they are played",
    RECOVERED: "What follows own strokes",
    FROM_SPOT: "The first ball met from the spot",
}
# What each number is for.
PURPOSE = {
    WHOLE_POINTS: "the score: what a policy is worth in play",
    RECOVERED: "the run: what is left once the legs must get there in time",
    FROM_SPOT: "the drill: a ball fed to a player who waits at the spot; no score",
}
SHORT = {"down-the-line": "line"}
FEWER = re.compile(f"^{fewer_missed('(.+)')}$")


@dataclass(frozen=True)
class Figure:
    """A figure of one of the numbers: its short head, and which cells hold it.

    In time is a share, so that it is given in 100 by `factor`.
    """

    head: str
    setting: str
    own_stroke: str | None
    place: str
    outcome: str

    @property
    def factor(self) -> float:
        return 100.0 if self.outcome == IN_TIME else 1.0

    @property
    def words(self) -> str:
        """The head in full."""
        after = f" after {self.own_stroke}" if self.own_stroke else ""
        where = "" if self.place == SERVE else f", {self.place}"
        what = "in time" if self.outcome == IN_TIME else "points won"
        return f"{self.setting}{after}{where}: {what}"


def heading(number: str) -> str:
    """One of the numbers in words, with what it is for."""
    return f"{NUMBERS[number]} ({PURPOSE[number].partition(':')[0]})"


def figures(found: Cells) -> dict[str, list[Figure]]:
    """The figures by number, whole points first; nothing for a study without a serve."""
    held = found.values("setting")
    if not any_served(held):
        return {}
    out: dict[str, list[Figure]] = {}
    for number in NUMBERS:
        for setting in (s for s in held if s in SETTINGS and SETTINGS[s].number == number):
            out.setdefault(number, []).extend(_figures(found, setting))
    return out


def _figures(found: Cells, setting: str) -> Iterator[Figure]:
    """Points won, where points are played, and the balls reached in time beside them."""
    place = place_of(found, setting)
    if is_rally(setting):
        yield Figure(setting, setting, None, place, POINTS)
        yield Figure("in time", setting, None, place, IN_TIME)
        return
    strokes = list(dict.fromkeys(c["own_stroke"] for c in found.all if c["setting"] == setting))
    for own in strokes:
        yield Figure(SHORT.get(own, own) if own else setting, setting, own, place, IN_TIME)


def place_of(found: Cells, setting: str) -> str:
    """The place that a setting's figure is of: all places together, if there are more."""
    held = list(dict.fromkeys(c["place"] for c in found.all if c["setting"] == setting))
    return next((p for p in (ALL_PLACES, "corner") if p in held), held[0])


def apart_sentences(cells: Iterable[Cell], level: str | None = None) -> Iterator[str]:
    """One sentence for each number, level (or the given one) and opponent: the named policy against
    the reference, whole points first; nothing for a study without a serve."""
    found = Cells(cells)
    reference = next((m[1] for c in found.all if (m := FEWER.match(c["outcome"]))), None)
    if reference is None:
        return
    policy = named([p for p in found.values("policy") if p != reference])
    for number, of in figures(found).items():
        parts = {(f.setting, f.own_stroke, f.place): None for f in of}
        for at in [level] if level else found.values("level"):
            for opponent in found.values("opponent"):
                said = [
                    _compared(found, part, (at, opponent), (policy, reference)) for part in parts
                ]
                if told := "; ".join(filter(None, said)):
                    yield f"{at}, {opponent} opponent. {heading(number)}: {told}."


def named(policies: Sequence[str]) -> str:
    """The policy that sentences speak of: the first of one's own, else the bisector, else the first
    that is no yardstick."""
    ranks = [(not is_own(p), p != "bisector", p.startswith(YARDSTICK)) for p in policies]
    return policies[ranks.index(min(ranks))]


def _compared(
    found: Cells,
    part: tuple[str, str | None, str],
    who: tuple[str, str],
    policies: tuple[str, str],
) -> str:
    """What a policy wins or reaches more than the reference, and the share in time of both."""
    (setting, own, place), (policy, reference) = part, policies
    outcome = (more_points if is_rally(setting) else fewer_missed)(reference)
    cell = found.get(setting, *who, place, policy, outcome, own)
    if cell is None or (difference := ends_of(cell)) is None:
        return ""
    noun, verb = ("points in 100", "wins") if is_rally(setting) else ("balls in 100", "reaches")
    said = claim(verdict_of(cell), difference, f"the {reference}", noun, verb)
    beside = f", {worlds}" if (worlds := world_words(cell)) else ""
    after = f" after {own}" if own else ""
    where = "" if is_served(setting) else f", {place}"
    cells = (found.get(setting, *who, place, p, IN_TIME, own) for p in policies)
    shares = [None if c is None else c["estimate"] for c in cells]
    return f"{setting}{after}{where}, the {policy} {said}{beside}, {in_time(shares, reference)}"


def in_time(shares: Iterable[float | None], reference: str) -> str:
    """What a policy and the reference reach in time, these shares, for beside a difference."""
    mine, others = ("none" if s is None else f"{100 * s:.1f}" for s in shares)
    return f"with {mine} of 100 balls reached in time (the {reference} {others})"


def scaled(cells: pd.DataFrame, factor: float) -> pd.DataFrame:
    """Cells with their numbers times a factor."""
    ends = [n for n in ("estimate", "low", "high", "world_low", "world_high") if n in cells]
    return cells.assign(**{name: factor * cells[name] for name in ends})
