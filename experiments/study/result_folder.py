"""Reading a result folder: its study, its cells and what the cells hold."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.tables import read_table
from experiments.scene.own_code import located
from experiments.scene.player_file import is_player_file, name_of, opponent_of, player_of
from experiments.statistics.comparison import MARGIN
from experiments.study.folder_files import (
    CELLS,
    CHOICES_FILE,
    DESIGNED_FILE,
    MANIFEST,
    POINTS_FILE,
    STUDY,
    WHERE,
    held,
    require_sound,
    sound,
)
from experiments.study.policy_family import family_of
from sim.additions import player_without
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M
from sim.errors import InputError
from sim.players import Player

ALL_PLACES = "all places"
LABELS = ("policy", "place", "level", "opponent", "setting", "own_stroke", "outcome")
NUMBERS = ("estimate", "low", "high", "n")
DIFFERENCE = "missed_fewer_than_middle_per_100"
THAN = r"^missed_fewer_than_(.+)_per_100$"
HALF_BALL = MARGIN
DEFAULT_DEPTH_M = 1.3


@dataclass(frozen=True)
class ResultFolder:
    """A study's files: the resolved study, the manifest and the cells (own_stroke "" for none).

    Names of levels, places, policies and so on stand in the study's order, as the cells hold them.
    """

    path: Path
    study: dict[str, Any]
    manifest: dict[str, Any]
    cells: pd.DataFrame

    @classmethod
    def read(cls, path: Path) -> ResultFolder:
        """Read a folder.

        Raises:
            InputError: a file is missing, cannot be read or is not what the study wrote.
        """
        try:
            require_sound(path, STUDY, CELLS)
            study = tomllib.loads((path / STUDY).read_text("utf-8"))
            table = read_table(held(path, CELLS), LABELS)
            beside = path / MANIFEST
            manifest = json.loads(beside.read_text("utf-8")) if beside.exists() else {}
        except InputError:
            raise
        except (OSError, ValueError) as error:
            raise InputError(
                f"{str(path)!r} is not a whole result folder: {error};"
                " give a folder that the command `study` wrote"
            ) from None
        return cls(path, study, manifest, cell_table(table, path))

    @cached_property
    def rows(self) -> list[dict[str, Any]]:
        """The cells one by one, None for what they do not hold."""
        return records(self.cells)

    def sides(self, level: str) -> tuple[Player, Player]:
        """The studied player whom the cells name `level`, and the one across the net.

        Raises:
            InputError: no level of that name, or its player file is missing or spoilt.
        """
        texts = [located(str(t), self.path) for t in self.study.get("levels", ())]
        text = next((t for t in texts if name_of(t) == level), level)
        hand = None if is_player_file(text) else self.study.get("hand", "right")
        other = opponent_of(text, self.study.get("opponent_hand", "right"))
        out = self.study.get("without", ())
        return player_without(player_of(text, hand), out), player_without(other, out)

    def names(self, label: str) -> list[str]:
        """What the cells hold under a label, in their order, without "all places" and ""."""
        return [n for n in self.cells[label].unique() if n not in (ALL_PLACES, "")]

    @property
    def middle_level(self) -> str:
        """The level in the middle of the study's list: the one that the pictures show."""
        levels = self.names("level")
        return levels[len(levels) // 2]

    @cached_property
    def policies(self) -> list[str]:
        """All policies, the reference first."""
        names = self.names("policy")
        return sorted(names, key=lambda n: n != self.reference)

    @cached_property
    def reference(self) -> str:
        """The policy that the others are compared with, which the differences name; the first
        where there are none."""
        than = self.cells["outcome"].str.extract(THAN)[0]
        named = than[than.isin(self.names("policy"))]
        return str(named.iloc[0]) if len(named) else next(iter(self.names("policy")), "middle")

    @cached_property
    def family(self) -> dict[str, float]:
        """The yardstick family and its numbers."""
        return family_of(self.policies)

    @property
    def named(self) -> list[str]:
        """The policies that do not belong to the yardstick family, the reference first."""
        return [p for p in self.policies if p not in self.family]

    @cached_property
    def own_depth(self) -> list[str]:
        """The policies that wait off the waiting line at first."""
        deep = self.cells["outcome"] == "spot_y_m"
        return list(dict.fromkeys(self.cells.loc[deep, "policy"]))

    @cached_property
    def places(self) -> dict[str, tuple[float, float, float]]:
        """Place to the ball at contact (x, y, z) in m, for those that both study and cells name."""
        held = self.names("place")
        listed = self.study.get("places", [])
        return {
            p["name"]: (float(p["x_m"]), float(p["y_m"]), float(p.get("z_m", 1.0)))
            for p in listed
            if p["name"] in held
        }

    @property
    def corner(self) -> str | None:
        """The main corner: inside the sidelines, off centre, nearest to the baseline; else the
        first place off centre; None where there is no place off centre."""
        off = {name: at for name, at in self.places.items() if at[0] != 0}
        inside = {name: at for name, at in off.items() if abs(at[0]) <= HALF_WIDTH_M}
        among = inside or off
        return min(among, key=lambda n: abs(among[n][1] - HALF_LENGTH_M), default=None)

    @cached_property
    def choices(self) -> pd.DataFrame:
        """The table of modelling choices, empty if the study tried none."""
        return self._table(CHOICES_FILE)

    @cached_property
    def points(self) -> pd.DataFrame:
        """The design points: level, point, role and a column for each factor; empty without."""
        return self._table(POINTS_FILE)

    @cached_property
    def designed(self) -> pd.DataFrame:
        """The cells of the design points (own_stroke "" for none); empty without factors."""
        return self._table(DESIGNED_FILE, LABELS)

    @cached_property
    def where(self) -> pd.DataFrame:
        """Where the points of the headline cells come from, a row a part; empty without."""
        return self._table(WHERE)

    def _table(self, name: str, texts: Sequence[str] = ()) -> pd.DataFrame:
        """A table of the folder, empty where there is none."""
        path = sound(self.path, name)
        return read_table(path, texts) if path.exists() else pd.DataFrame()

    @property
    def depth_m(self) -> float:
        """Waiting depth behind the baseline."""
        return float(self.study.get("depth_m", DEFAULT_DEPTH_M))

    def pick(self, **labels: str) -> pd.DataFrame:
        """The cells with these labels and a number in them."""
        found = self.cells
        for label, value in labels.items():
            found = found[found[label] == value]
        return found.dropna(subset=["estimate", "low", "high"])


def cell_table(table: pd.DataFrame, path: Path) -> pd.DataFrame:
    """Cells as a table with all columns of the contract.

    Raises:
        InputError: not a table with these columns, or an empty one.
    """
    missing = [name for name in (*LABELS, *NUMBERS) if name not in table.columns]
    if missing or table.empty:
        raise InputError(
            f"{CELLS} in {str(path)!r} has no cells with {', '.join(missing or LABELS)};"
            " give a folder that the command `study` wrote"
        )
    return table.assign(**{name: pd.to_numeric(table[name]) for name in NUMBERS[:3]})


def records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a table of cells, None for an empty one and for no own stroke."""
    plain = table.astype(object).where(table.notna() & (table != ""), None)
    return [{str(name): value for name, value in row.items()} for row in plain.to_dict("records")]


def plateau(curve: pd.DataFrame, more_is_better: bool) -> tuple[float, float]:
    """The shades between which the best stands: those within half in 100 of the best estimate.

    `curve` has the columns shade and estimate.
    """
    sign = 1.0 if more_is_better else -1.0
    value = sign * curve["estimate"]
    good = curve.loc[value >= value.max() - HALF_BALL, "shade"]
    return float(good.min()), float(good.max())


def shade_curve(cells: pd.DataFrame, outcome: str, members: list[str]) -> pd.DataFrame:
    """Estimate, low and high of `outcome` over the shade of `members`, sorted by shade.

    `cells` are those of one place, level, opponent, setting and own stroke.
    """
    shade = cells[cells["outcome"] == "shade_m_per_m"].set_index("policy")["estimate"]
    found = cells[(cells["outcome"] == outcome) & cells["policy"].isin(members)]
    found = found.assign(shade=found["policy"].map(shade)).dropna(subset=["shade"])
    return found.sort_values("shade", kind="stable")
