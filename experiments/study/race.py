"""The looks of a race: who stops in which cell, what is written down, and what is said of it.

Every cell races by itself, by points won, or by balls missed where no points are played. The
reference plays on as long as its cell does, since the verdicts are against it. A look is made once
all blocks of the one before are played, and rests on the sums alone: so the same study and seed
stop the same policies, whoever plays the blocks. From the last sums, the table follows, too: those
of two policies hold the replicates that both played.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.tables import fill_table, read_table
from experiments.scene.own_code import policy_of
from experiments.statistics.comparison import (
    AS_GOOD,
    LOSES,
    MARGIN,
    WINS,
    level_together,
    verdict,
    written,
)
from experiments.statistics.estimates import Difference, paired
from experiments.statistics.racing import More, Standing, standing, surest
from experiments.statistics.tally import Tally
from experiments.study.design import Study
from experiments.study.folder_files import RACE_FILE, sound
from experiments.study.looks import Raced, cap
from experiments.study.precision import sentences_of
from experiments.study.setting_table import is_rally, units_of
from experiments.study.settings import Block, BlockResult, Looks, Scenario, is_raced

CELL = ("setting", "place", "level", "opponent", "own_stroke")
BEST, NO_BETTER, MAY_BE, CANNOT = "best", "no better", "may be best", "cannot be best"
BEHIND = ("behind_per_100", "behind_per_100_low", "behind_per_100_high")
OUTCOMES = {True: ("points", "one", 100.0), False: ("missed", "balls", -100.0)}  # by is_rally


@dataclass
class RaceSums:
    """The tallies of all pairs of policies in the cells that race, and how these stand by them."""

    study: Study
    held: dict[Scenario, dict[tuple[str, str], Tally]] = field(default_factory=dict)

    def add(self, block: Block, result: BlockResult) -> None:
        """Add those of a block; blocks in a fixed order."""
        if not is_raced(self.study, block.scenario):
            return
        reference = policy_of(self.study.reference).name
        own = self.held.setdefault(block.scenario, {})
        pairs = {(name, reference): tally for name, tally in result.tallies.items()}
        for pair, tally in (pairs | result.rivals).items():
            own[pair] = own[pair] + tally if pair in own else tally

    def more(self, scenario: Scenario) -> More:
        """What one policy has more than another one of that cell, in 100."""
        own = self.held[scenario]
        top, bottom, factor = OUTCOMES[is_rally(scenario.setting)]
        rivals = len(self.study.policies_in(scenario.setting)) - 1
        level = level_together(rivals, self.study.looks_allowed(scenario.setting))

        def more(one: str, other: str) -> Difference:
            is_turned = (one, other) not in own
            tally = own[(other, one) if is_turned else (one, other)]
            return paired(tally, top, bottom, level).scaled(-factor if is_turned else factor)

        return more

    def standing(self, scenario: Scenario, made: Mapping[str, int]) -> Standing:
        """How that cell stands among those who played to its last look; the reference is first."""
        playing = [policy for policy, looks in made.items() if looks == max(made.values())]
        within = self.study.race or MARGIN
        return standing(playing, next(iter(made)), self.more(scenario), within)


def begun(study: Study) -> Looks:
    """The looks of a race before its first one: all policies play to it."""
    cells = (Scenario(*cell) for cell in study.cells())
    return {s: dict.fromkeys(study.policies_in(s.setting), 1) for s in cells}


def gone_on(sums: RaceSums, looks: Looks) -> Looks:
    """The looks to play to next: those that were made where nobody goes on."""
    return {scenario: _next(sums, scenario, made) for scenario, made in looks.items()}


def _next(sums: RaceSums, scenario: Scenario, made: Mapping[str, int]) -> Mapping[str, int]:
    """One look more for those of a cell that go on, and for the reference with them."""
    on = sums.standing(scenario, made).going_on(bool(sums.study.race_verdicts))
    last, (reference, *_) = max(made.values()), made
    if not on or last == sums.study.looks_allowed(scenario.setting):
        return made
    return {p: looks + (looks == last and p in {*on, reference}) for p, looks in made.items()}


def written_down(looks: Looks) -> tuple[Raced, ...]:
    """The race as a study file holds it."""
    return tuple(
        Raced(**{label: getattr(s, label) for label in CELL}, looks=dict(made))
        for s, made in looks.items()
    )


def race_rows(sums: RaceSums, looks: Looks) -> Iterator[dict[str, Any]]:
    """A row for each cell and policy: how much it played, how it ended, and behind whom."""
    study = sums.study
    for scenario, made in looks.items():
        more, at, (reference, *_) = sums.more(scenario), sums.standing(scenario, made), made
        first = study.first_replicates(scenario.setting)
        for policy, number in made.items():
            than, ended = at.leader, BEST if at.chosen else MAY_BE
            if policy not in at.left:
                ended = CANNOT
                as_long = [p for p, n in made.items() if n >= number and p != policy]
                than = surest(policy, as_long, more)
            elif at.chosen and policy != at.leader:
                ended = NO_BETTER
            row = {label: getattr(scenario, label) for label in CELL}
            row |= {"policy": policy, "replicates": first * 2 ** (number - 1), "looks": number}
            row |= {"most_replicates": cap(first, study.most_replicates), "ended": ended}
            row |= _behind(policy, than, more)
            yield row | {"verdict": verdict_on(policy, reference, more)}


def _behind(policy: str, than: str, more: More) -> dict[str, Any]:
    """By how much a policy is behind another one; nothing for the leader."""
    if than == policy:
        return dict.fromkeys(("than", *BEHIND))
    found = more(than, policy)
    ends = (found.value, found.low, found.high)
    return {"than": than, **dict(zip(BEHIND, map(written, ends), strict=True))}


def verdict_on(policy: str, reference: str, more: More) -> str | None:
    """The verdict on a policy against the reference; none on that."""
    if policy == reference:
        return None
    found = more(policy, reference)
    return verdict(written(found.low), written(found.high))


def write_race(folder: Path, sums: RaceSums, looks: Looks) -> None:
    """race.csv."""
    fill_table(pd.DataFrame(race_rows(sums, looks)), folder / RACE_FILE)


def race_of(folder: Path) -> pd.DataFrame:
    """The race of a result folder (own_stroke "" for none); empty where there was none."""
    path = sound(folder, RACE_FILE)
    return (
        read_table(path, (*CELL, "policy", "ended", "than", "verdict"))
        if path.exists()
        else pd.DataFrame()
    )


def looks_sentences(folder: Path) -> list[str]:
    """What the looks of a result folder say, of a precision or a race; nothing where there are
    none."""
    return [*sentences_of(folder), *race_sentences(folder)]


def race_sentences(folder: Path) -> list[str]:
    """What a race says in a sentence for each setting; nothing where there was none."""
    race = race_of(folder)
    if race.empty:
        return []
    return [_sentence(setting, own) for setting, own in race.groupby("setting", sort=False)]


def _sentence(setting: Any, race: pd.DataFrame) -> str:
    """How many choices were made in a setting, and what they took."""
    cells = race.groupby(list(CELL), sort=False)
    made, given = race["ended"] == BEST, race["verdict"].isin([WINS, LOSES, AS_GOOD])
    alike, units = len(race) * race["replicates"].max(), units_of(setting)
    said = (
        f"{setting}: the race found the best in {made.sum()} of {cells.ngroups} cells, and a"
        f" verdict on {given.sum()} of {len(race) - cells.ngroups} policies in them, with"
        f" {race['replicates'].sum():,} {units}; all policies as long as the last one would have"
        f" taken {alike:,}."
    )
    most = race["most_replicates"]
    at_cap = (2 * race["replicates"] > most) & (race["verdict"] != "")
    if not (at_cap & ((race["ended"] == MAY_BE) | ~given)).any():
        return said
    return f"{said} No look goes beyond {most.iloc[0]:,}: raise most_replicates to decide the rest."


def progress_words(study: Study, looks: Looks, following: Looks) -> Iterator[str]:
    """What a look came to, in a sentence for each setting that was looked at."""
    last = {s: max(made.values()) for s, made in looks.items()}
    for setting in study.settings:
        own = [s for s in looks if s.setting == setting and last[s] == max(last.values())]
        on = [s for s in own if following[s] != looks[s]]
        left = sum(following[s][p] > n for s in on for p, n in looks[s].items())
        size = study.first_replicates(setting) * 2 ** (max(last.values()) - 1)
        if own:
            yield (
                f"{setting}: after {size:,} {units_of(setting)}, {len(on)} of {len(own)} cells go"
                f" on, with {left} of their {sum(len(looks[s]) for s in on)} policies"
            )
