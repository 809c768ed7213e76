"""The claims that the pages make: each with the stored folder that it rests on and how to get that.

They stand in `data/claims.toml`; a value is read from the folder's tables.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.claims.tables import (
    RALLY,
    best_shade,
    compared_words,
    markdown,
    read_cells,
    verdicts_in,
)
from experiments.evidence.best_place.words import moved
from experiments.output.tables import read_table
from experiments.report import summary
from experiments.report.findings import interval
from experiments.study.folder_files import ANALYSES, DESIGNED_FILE, POINTS_FILE, held, sound
from experiments.study.result_folder import ALL_PLACES, ResultFolder
from sim.errors import InputError


def of_cell(folder: Path, **labels: Any) -> str:
    """The value of one cell, of whole rallies if not said."""
    return one(ResultFolder.read(folder).cells, labels)


def of_point(folder: Path, **labels: Any) -> str:
    """The value of the one cell with these labels and factors, of whole rallies if not said."""
    return one(designed(folder), labels)


def of_map(folder: Path, **labels: Any) -> str:
    """The value of the one cell of a map with these labels and factors."""
    return one(mapped(folder), labels)


def mapped(folder: Path) -> pd.DataFrame:
    """The cells of a map of where the verdict turns, with the factors' values.

    Raises:
        InputError: there is no such table.
    """
    name = ANALYSES["turning"]
    if not held(folder, name).exists():
        raise InputError(
            f"{str(folder)!r} holds no {name}; a study with a grid of factors writes it"
        )
    return read_table(sound(folder, name))


def one(table: pd.DataFrame, labels: dict[str, Any]) -> str:
    """A cell as estimate, interval and, for a difference, the verdict; with worlds, by both
    intervals, and that of the worlds.

    Raises:
        InputError: there is no such cell, or more than one.
    """
    rows = rows_of(table, **{"setting": RALLY, **labels}).to_dict("records")
    if len(rows) > 1:
        raise InputError(f"{len(rows)} rows with {labels}; name one of them")
    if "_than_" not in rows[0]["outcome"]:
        return interval(rows[0])
    return compared_words(rows[0])


def counts(folder: Path, policy: str, outcome: str, setting: str = RALLY) -> str:
    """How many cells of a policy win, are as good, not decided or lose, all places apart."""
    cells = ResultFolder.read(folder).cells
    cells = rows_of(cells, policy=policy, outcome=outcome, setting=setting)
    return counted(cells[cells["place"] != ALL_PLACES])


def counted(cells: pd.DataFrame) -> str:
    """The verdicts of cells as counts of all."""
    count = summary.counted(cells, by_both=True)
    words = verdicts_in(cells.to_dict("records"))
    parts = [f"{word} {count[word]}" for word in words if count[word]]
    return f"{', '.join(parts)} of {count.total()}"


def best_shades(folder: Path, opponent: str) -> str:
    """The best shade of the yardstick by level, all places."""
    cells = read_cells(folder)
    return ", ".join(f"{v} {best_shade(cells, v, opponent):.1f}" for v in cells.values("level"))


def designed(folder: Path) -> pd.DataFrame:
    """The cells at the points of a study's factors, with the factors' values."""
    points = read_table(sound(folder, POINTS_FILE))
    return read_table(sound(folder, DESIGNED_FILE)).merge(points, on=["level", "point"])


def over_points(folder: Path, policy: str, outcome: str, setting: str = RALLY) -> str:
    """The smallest and the largest estimate over all points, and the verdicts."""
    table = rows_of(designed(folder), policy=policy, outcome=outcome, setting=setting)
    least, most = table["estimate"].min(), table["estimate"].max()
    return f"{least:+.1f} to {most:+.1f}; {counted(table)}"


def turned(folder: Path, setting: str, outcome: str) -> str:
    """The verdicts over the cells of a map."""
    return counted(rows_of(mapped(folder), setting=setting, outcome=outcome))


def of_draws(folder: Path, outcome: str) -> str:
    """How an outcome scatters over whole parameter draws, and how often it is not above zero."""
    row = stored(folder, ANALYSES["draws"], outcome=outcome).iloc[0]
    count = round(row["not_better"] * row["draws"])
    return (
        f"{row['mean']:+.1f}, of 100 draws 90 within {row['low_5']:+.1f} and"
        f" {row['high_95']:+.1f}; not above 0 in {count} of {row['draws']:.0f}"
    )


def most_moving(folder: Path, outcome: str, count: int = 2) -> str:
    """The parameters with the largest shares of the variance, interplay included."""
    table = stored(folder, ANALYSES["sensitivity"], outcome=outcome)
    top = table.sort_values("total", ascending=False).head(count)
    return "; ".join(
        f"{r.words} {r.total:.2f} ({r.total_low:.2f} to {r.total_high:.2f})"
        for r in top.itertuples()
    )


def lost(folder: Path, **labels: str) -> str:
    """Balls that do not come back against one opponent, more than from the best place."""
    row = stored(folder, "losses.csv", **labels).iloc[0]
    interval_said = f"{row['returned_low']:.1f} to {row['returned_high']:.1f}"
    return f"{row['returned_per_100']:.1f} ({interval_said})"


def of_best_place(folder: Path, **labels: Any) -> str:
    """By how much the best place moves at a point of a design."""
    return moved(stored(folder, ANALYSES["best_place"], **labels).iloc[0])


def stored(folder: Path, name: str, **labels: Any) -> pd.DataFrame:
    """The rows of a table of a folder with these values."""
    return rows_of(read_table(sound(folder, name)), **labels)


def rows_of(table: pd.DataFrame, **labels: Any) -> pd.DataFrame:
    """The rows of a table with these values.

    Raises:
        InputError: there are none.
    """
    for name, wanted in labels.items():
        table = table[table[name] == wanted]
    if table.empty:
        raise InputError(f"no row with {labels}; run the study of this claim again")
    return table


READ: dict[str, Callable[..., str]] = {
    "cell": of_cell,
    "point": of_point,
    "map": of_map,
    "counts": counts,
    "best shades": best_shades,
    "over points": over_points,
    "turned": turned,
    "draws": of_draws,
    "most moving": most_moving,
    "lost": lost,
    "moved": of_best_place,
}


@dataclass(frozen=True)
class Claim:
    """One claim: its words, the folder in results/, what is read there and the command for that.

    By `key`, where it has one, a page shows its value.

    Without a command of its own, the folder is a study's and is played again, to the byte, from its
    resolved study.
    """

    words: str
    folder: str
    read: str
    of: dict[str, Any]
    made_by: str = ""
    key: str = ""

    @property
    def command(self) -> str:
        """The command that makes the folder."""
        return self.made_by or f"rally-recovery study results/{self.folder}/study.toml --out again"

    def value(self, folder: Path) -> str:
        """The number with its interval, from such a folder.

        Raises:
            InputError: the folder holds no such number.
        """
        return READ[self.read](folder, **self.of)


def all_claims() -> tuple[Claim, ...]:
    """The claims in the order of the file: whole points, the run, the drill."""
    text = resources.files("experiments.data").joinpath("claims.toml").read_text("utf-8")
    return tuple(Claim(**row) for row in tomllib.loads(text)["claim"])


CLAIMS = all_claims()


def claims_table(results: Path) -> str:
    """All claims as a table: claim, value with its 95 % interval, folder (from a folder beside it).

    Raises:
        InputError: a folder is missing or holds no such number.
    """
    rows = []
    for claim in CLAIMS:
        folder = results / claim.folder
        if not folder.exists():
            raise InputError(f"{str(folder)!r} does not exist; make it by: {claim.command}")
        where = f"[{claim.folder}](../{claim.folder})"
        rows.append((claim.words, claim.value(folder), where))
    return markdown(("claim", "value (95 % interval)", "folder"), rows)
