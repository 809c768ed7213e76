"""`python -m experiments.claims.null`: how often intervals and verdicts cry wolf.

Four policies equal in distribution: one policy under four names, each on balls or rallies of its
own. Whatever is found between them is a false alarm, so the rates that intervals and verdicts state
can be held against those observed, seed by seed, in every setting, on balls and rallies as studies
play them. Twice: once with no chance in common, once with half of the replicates common to all
four, where they agree exactly, as policies that are compared do on most balls.
"""

from __future__ import annotations

import dataclasses
import json
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import click
import numpy as np
import pandas as pd

from experiments.output.files import new_folder, require_new_folder
from experiments.output.progress import progress_of
from experiments.output.tables import fill_table
from experiments.output.terminal import told
from experiments.statistics.comparison import LOSES, WINS, compared, level_together
from experiments.statistics.estimates import LEVEL, paired
from experiments.statistics.tally import Tally, replicate_table
from experiments.study.file import load_study
from experiments.study.folder_files import MANIFEST, file_hashes
from experiments.study.provenance import made_with
from experiments.study.setting_table import SETTINGS, Setting
from experiments.study.settings import strokes_of
from sim.contracts import RecoveryPolicy
from sim.exchange import Game, Place, with_policy
from strategies.recovery.bisector import Bisector

SEEDS, BALLS, RALLIES = 250, 200, 60
STUDY, TABLE = "whole-points", "rates.csv"  # the study whose first level, and a place, are taken
OPPONENT, PLACE, OWN_STROKE = "habit", "corner", "crosscourt"
NAMES = ("first", "second", "third", "fourth")  # the first is the reference
ANY = "any"
OWN, HALF = "own", "half common"
# Sums of a tally as ratios, by outcome: better is above 0; in 100 or not.
OUTCOMES = {
    "missed_fewer_per_100": ("missed", "balls", -100.0),
    "returned_more_per_100": ("not_returned", "balls", -100.0),
    "time_to_spare_more_s": ("spare_s", "balls", 1.0),
    "points_more_per_100": ("points", "one", 100.0),
}
Found = tuple[bool, bool, str | None]  # outside alone, outside together, verdict


@dataclass(frozen=True)
class Null:
    """The experiment: so many seeds, balls and rallies for each policy and seed, by `policies`."""

    seeds: int = SEEDS
    balls: int = BALLS
    rallies: int = RALLIES
    policies: Sequence[RecoveryPolicy] = (Bisector(),) * len(NAMES)

    def replicates(self, setting: Setting) -> int:
        """Balls or rallies of one policy and seed."""
        return self.rallies if setting.is_rally else self.balls


def rates(null: Null, done: Callable[[], object] = lambda: None) -> pd.DataFrame:
    """The observed rates; `done` is called after each setting and seed.

    A row for each setting, kind of chance, outcome and policy: how many of the seeds had its own
    95 % interval outside 0 (`outside_alone`), the interval that holds for all policies together
    (`outside_together`), and the verdicts wins and loses; ANY counts seeds with any of the three.
    """
    counts: dict[tuple[str, str, str, str], np.ndarray] = {}
    for setting in SETTINGS.values():
        for seed in range(1, null.seeds + 1):
            for chance, outcome, found in _one_seed(null, setting, seed):
                for policy, row in _counted(found):
                    key = setting.name, chance, outcome, policy
                    counts[key] = counts.get(key, np.zeros(4, int)) + row
            done()
    return pd.DataFrame([_row(null, *key, found) for key, found in counts.items()])


def _row(
    null: Null, setting: str, chance: str, outcome: str, policy: str, found: np.ndarray
) -> dict[str, Any]:
    alone, together = 1.0 - LEVEL, 1.0 - level_together(len(NAMES) - 1)
    stated = (None, alone) if policy == ANY else (alone, together)
    return {
        "setting": setting,
        "chance": chance,
        "outcome": outcome,
        "policy": policy,
        "seeds": null.seeds,
        "replicates": null.replicates(SETTINGS[setting]),
        **dict(zip(("stated_alone", "stated_together"), stated, strict=True)),
        **dict(zip(("outside_alone", "outside_together", WINS, LOSES), found, strict=True)),
    }


def _one_seed(null: Null, setting: Setting, seed: int) -> Iterator[tuple[str, str, list[Found]]]:
    """For each kind of chance and outcome what is found of the three policies."""
    tables = _tables(null, setting, seed)
    common = (np.arange(len(tables[0])) // 2 % 2 == 0)[:, None]
    kinds = {OWN: tables, HALF: [np.where(common, tables[0], t) for t in tables]}
    for chance, (reference, *others) in kinds.items():
        tallies = [Tally.of(table, reference) for table in others]
        for outcome, (top, bottom, factor) in OUTCOMES.items():
            if setting.is_rally or top != "points":
                in_100 = factor != 1.0
                yield chance, outcome, [_found(t, top, bottom, factor, in_100) for t in tallies]


def _found(tally: Tally, top: str, bottom: str, factor: float, in_100: bool) -> Found:
    difference = paired(tally, top, bottom).scaled(factor)
    said = compared(difference, level_together(len(NAMES) - 1), in_100)
    alone = not difference.low <= 0.0 <= difference.high
    together = not said["low_together"] <= 0.0 <= said["high_together"]
    return alone, together, said["verdict"]


def _counted(found: list[Found]) -> Iterator[tuple[str, np.ndarray]]:
    """What is found of each policy, and of any of them, as ones and zeros."""
    rows = np.array([[a, t, v == WINS, v == LOSES] for a, t, v in found])
    yield from zip(NAMES[1:], rows, strict=True)
    yield ANY, np.asarray(rows.any(axis=0))


def _tables(null: Null, setting: Setting, seed: int) -> list[np.ndarray]:
    """Replicate tables of the policies, each on replicates of its own."""
    game, place = _scene()
    game = dataclasses.replace(game, seed=seed)
    count, out = null.replicates(setting), []
    own_stroke = OWN_STROKE if setting.name == "recovery" else None
    for k, policy in enumerate(null.policies):
        numbers = k * count + np.arange(count)
        strokes = strokes_of(with_policy(game, policy), setting, place, numbers, own_stroke)
        out.append(replicate_table(strokes, numbers, setting.is_rally))
    return out


@cache
def _scene() -> tuple[Game, Place]:
    """Who plays, and where the opponent strikes from."""
    study = load_study(Path(STUDY))
    place = next(p.place for p in study.places if p.name == PLACE)
    return study.game(study.levels[0], OPPONENT, study.reference, 0), place


def write_null(out: Path, null: Null, shown: bool = True) -> pd.DataFrame:
    """Play the experiment into a new folder: its table and a manifest.

    Raises:
        InputError: the folder is there already, or cannot be written.
    """
    require_new_folder(out)
    started, clock = datetime.now(UTC), time.perf_counter()
    progress = progress_of(len(SETTINGS) * null.seeds, 0, shown)
    try:
        table = rates(null, progress.update)
    finally:
        progress.close()
    with new_folder(out) as folder:
        fill_table(table, folder / TABLE, 6)
        manifest = {
            **made_with(),
            "seeds": [1, null.seeds],
            "policies": [policy.name for policy in null.policies],
            "started": started.isoformat(timespec="seconds"),
            "wall_s": round(time.perf_counter() - clock, 1),
            "files": file_hashes(folder, [TABLE]),
        }
        (folder / MANIFEST).write_text(json.dumps(manifest, indent=1) + "\n", "utf-8", newline="\n")
    return table


def text_of(table: pd.DataFrame) -> str:
    """The observed rates in 100 seeds beside the stated ones, a line for each setting."""
    lines = [
        f"{'of 100 seeds':<26}{'95 % interval':>15}{'any of three':>15}{'verdict':>10}",
        f"{'stated':<26}{'5.0':>15}{'5.0':>15}{'5.0':>10}   at most",
    ]
    for (setting, chance), rows in table.groupby(["setting", "chance"], sort=False):
        each, of_any = rows[rows["policy"] != ANY], rows[rows["policy"] == ANY]
        verdicts = of_any[of_any["outcome"].str.endswith("_per_100")]
        shares = (
            (each["outside_alone"] / each["seeds"]).mean(),
            (of_any["outside_together"] / of_any["seeds"]).mean(),
            ((verdicts[WINS] + verdicts[LOSES]) / verdicts["seeds"]).mean(),
        )
        alone, together, said = (f"{100 * share:.1f}" for share in shares)
        lines.append(f"{setting:<13}{chance:<13}{alone:>15}{together:>15}{said:>10}")
    return "\n".join(lines)


@click.command()
@click.option("--out", type=click.Path(path_type=Path), default=Path("results/null"))
@click.option("--seeds", type=click.IntRange(2, 100_000), default=SEEDS, show_default=True)
def main(out: Path, seeds: int) -> None:
    """How often four policies that are equal are told apart: into a new folder OUT."""

    def work() -> str:
        return f"{text_of(write_null(out, Null(seeds=seeds)))}\nRates: {out / TABLE}"

    sys.exit(told(work, "nothing was written"))


if __name__ == "__main__":
    main()
