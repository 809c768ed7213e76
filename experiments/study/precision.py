"""The looks of a study with a wished precision: which settings go on, and what is said of them.

Only the widths of intervals decide, at sizes fixed beforehand; the intervals that decide are those
that the tables hold (experiments.statistics.group_sequential). A setting grows as a whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

import pandas as pd

from experiments.output.tables import fill_table, read_table
from experiments.scene.own_code import policy_of
from experiments.statistics.comparison import written
from experiments.statistics.estimates import LEVEL, Difference, paired, quantile
from experiments.statistics.group_sequential import level_each_look
from experiments.statistics.tally import Tally
from experiments.study.design import Study
from experiments.study.folder_files import PRECISION_FILE, sound
from experiments.study.looks import Reached, cap
from experiments.study.setting_table import units_of
from experiments.study.settings import Scenario

SCENE = ("level", "opponent", "place", "own_stroke", "point")


@dataclass(frozen=True)
class Look:
    """The last look at a setting: its size, and the widest of its comparisons.

    `half_width` is that of balls missed fewer than by the reference, in 100; `needed` are the
    replicates that would bring it to the wish if its spread stays what it is (None: no number yet).
    """

    setting: str
    wish: float
    replicates: int
    looks: int
    most_replicates: int
    half_width: float | None
    needed: int | None
    met: bool
    policy: str
    level: str
    opponent: str
    place: str
    own_stroke: str | None
    point: int | None

    @property
    def goes_on(self) -> bool:
        """Whether twice as many are to be played."""
        return not self.met and 2 * self.replicates <= self.most_replicates


def looks_at(
    study: Study, looks: Mapping[str, int], tallies: Mapping[Scenario, Mapping[str, Tally]]
) -> list[Look]:
    """The look at each setting of a study with a precision, after so many looks."""
    reference = policy_of(study.reference).name
    return [
        _look(study, setting, looks[setting], max(found, key=lambda w: w[0]))
        for setting in study.settings
        if (found := list(_widths(study, setting, reference, tallies)))
    ]


Width = tuple[float, Scenario, str, Difference]


def _widths(
    study: Study,
    setting: str,
    reference: str,
    tallies: Mapping[Scenario, Mapping[str, Tally]],
) -> Iterator[Width]:
    """Half-widths in 100 of the comparisons in a setting; endless where no ball landed in."""
    level = level_each_look(study.looks_allowed(setting), LEVEL)
    for scenario, by_policy in tallies.items():
        if scenario.setting == setting and scenario.choice is None:
            for policy, tally in by_policy.items():
                if policy != reference:
                    found = paired(tally, "missed", "balls", level)
                    half = 50.0 * (found.high - found.low)
                    half = half if math.isfinite(half) else math.inf
                    yield half, scenario, policy, found.scaled(100)


def _look(study: Study, setting: str, looks: int, widest: Width) -> Look:
    half, scenario, policy, difference = widest
    first, wish = study.first_replicates(setting), study.precision or math.inf
    number = first * 2 ** (looks - 1)
    level = level_each_look(study.looks_allowed(setting), LEVEL)
    needed = needed_for(difference, number, wish, level) if math.isfinite(half) else None
    return Look(
        setting,
        wish,
        number,
        looks,
        cap(first, study.most_replicates),
        written(half),
        needed,
        half <= wish,
        policy,
        *(getattr(scenario, label) for label in SCENE),
    )


def needed_for(difference: Difference, replicates: int, wish: float, level: float) -> int:
    """The replicates that would bring the half-width to the wish, if the spread stays as it is.

    The variance falls as 1 / n, what one ball weighs too; so the squared half-width is a x + b x^2
    with x the replicates there are over those needed.
    """
    q = quantile(level, difference.units)
    spread, step, least = q * difference.se, q * q * difference.step, wish * wish
    a, b = spread * spread, 0.5 * step * step
    return math.ceil(replicates * (a + math.sqrt(a * a + 4 * b * least)) / (2 * least))


def reached_by(study: Study, looks: Mapping[str, int]) -> dict[str, Reached]:
    """Where the looks of each setting ended: a re-run plays just that, without looking."""
    return {
        setting: Reached(
            replicates=study.first_replicates(setting) * 2 ** (looks[setting] - 1),
            looks=looks[setting],
            most_replicates=cap(study.first_replicates(setting), study.most_replicates),
        )
        for setting in study.settings
    }


def write_precision(folder: Path, looks: Iterable[Look]) -> None:
    """precision.csv: the last look at each setting, and what it says."""
    table = [{**asdict(look), "said": sentence(look)} for look in looks]
    columns = [*Look.__match_args__, "said"]
    fill_table(pd.DataFrame(table, columns=columns), folder / PRECISION_FILE)


def sentences_of(folder: Path) -> list[str]:
    """What the looks of a result folder say; nothing where no precision was wished."""
    path = sound(folder, PRECISION_FILE)
    return [str(said) for said in read_table(path)["said"]] if path.exists() else []


def sentence(look: Look) -> str:
    """What a look says: met, what it would take, or that the cap ends it."""
    units = units_of(look.setting)
    wish = f"the wished {look.wish:g} in 100"
    seen = f"{look.setting}: with {look.replicates:,} {units} a cell"
    if look.half_width is None or look.needed is None:
        width = f"{seen} no ball landed in in a cell ({_cell(look)})"
    else:
        width = f"{seen} the widest interval is within {look.half_width:.3g} in 100 ({_cell(look)})"
    if look.met:
        return f"{width}: {wish} is reached."
    about = "" if look.needed is None else f" would take about {_round(look.needed):,} {units}"
    if look.goes_on:
        wished = f"; {wish}{about}" if about else ""
        return f"{width}{wished}; next look at {2 * look.replicates:,}, {_last(look)}."
    return (
        f"{width}: {wish} is NOT reached, since no look goes beyond {look.most_replicates:,}"
        f" {units}{f'; it{about}' if about else ''}. Raise most_replicates, or wish for less."
    )


def _last(look: Look) -> str:
    """How far the looks may go."""
    first = look.replicates // 2 ** (look.looks - 1)
    most = first * 2 ** ((look.most_replicates // first).bit_length() - 1)
    short = look.needed is not None and look.needed > most
    return f"none beyond {most:,}{', which may not be enough' if short else ''}"


def _cell(look: Look) -> str:
    own = "" if look.own_stroke is None else f"after {look.own_stroke}"
    point = "" if look.point is None else f"point {look.point}"
    parts = (look.policy, look.level, look.opponent, look.place, own, point)
    return ", ".join(part for part in parts if part)


def _round(number: int) -> int:
    """Two digits: it is a guess."""
    digits = max(len(str(number)) - 2, 0)
    return int(math.ceil(number / 10**digits) * 10**digits)
