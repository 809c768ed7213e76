"""What the methods text says of a study, item by item of the STRESS-DES checklist.

The items stand in `data/stress_des.toml`, their text in `data/report_method.html`, a template; here
are the facts of a result folder and the model's own constants that the text is filled with.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib import resources
from itertools import chain
from typing import Any

import pandas as pd

from experiments.balls.own_drive import OWN_NET_GAP_M
from experiments.statistics.comparison import MARGIN
from experiments.statistics.estimates import LEVEL
from experiments.statistics.tally import SETTLED_OFF_S
from experiments.study import settings as played
from experiments.study.choices import CHOICES
from experiments.study.columns import Column, found
from experiments.study.result_folder import ALL_PLACES, ResultFolder
from experiments.study.setting_table import SETTINGS, USUAL, any_served, is_served
from experiments.study.worlds import replicates_in_world
from sim import flight, flight_table
from sim.air import Air
from sim.belief import DIRECTIONS, Belief
from sim.records import PATH_STEP_S
from sim.stroke_rows import FORCED_BELOW_QUALITY

SIZES = {s.name: s.size_key for s in SETTINGS.values()}
UNKNOWN = "not recorded"


@dataclass(frozen=True)
class Item:
    """One item of the checklist: number, section, name, and what it asks for."""

    number: str
    section: str
    name: str
    asks: str


def checklist() -> dict[str, Item]:
    """The items of the STRESS-DES checklist by number, in their order."""
    text = resources.files("experiments.data").joinpath("stress_des.toml").read_text("utf-8")
    return {row["number"]: Item(**row) for row in tomllib.loads(text)["item"]}


@dataclass(frozen=True)
class Size:
    """How much was played in one setting: cells without the policy, policies, replicates each; in a
    race these are the most, and `raced` are all balls or rallies."""

    setting: str
    scenarios: int
    policies: int
    replicates: int | None
    raced: int | None = None

    @property
    def total(self) -> int | None:
        """Balls or rallies played in all."""
        if self.raced is not None:
            return self.raced
        return None if self.replicates is None else self.scenarios * self.policies * self.replicates


def sizes(results: ResultFolder) -> list[Size]:
    """How much the study played, by setting, as it is and at its design points."""
    cells = results.cells[results.cells["place"] != ALL_PLACES]
    policies = cells.groupby("setting")["policy"].nunique().to_dict()
    out = list(sizes_of(cells, policies, results.study, ""))
    if len(results.designed):
        out += sizes_of(results.designed, policies, results.study, ", design points")
    if worlds := int(results.study.get("worlds", 0)):
        out += [in_worlds(size, worlds, results.study) for size in out]
    return out


def in_worlds(size: Size, worlds: int, study: Mapping[str, Any]) -> Size:
    """How much was played of the same cells in so many worlds."""
    first = int(study[SIZES[size.setting]])
    each = replicates_in_world(first, worlds, study.get("world_rallies"))
    return Size(f"{size.setting}, worlds", size.scenarios * worlds, size.policies, each)


def sizes_of(
    cells: pd.DataFrame, policies: Mapping[Any, int], study: Mapping[str, Any], after: str
) -> Iterator[Size]:
    """A size for each setting of these cells, `policies` being how many were played in it."""
    labels = ["place", "level", "opponent", "own_stroke"]
    labels += ["point"] if "point" in cells.columns else []
    for setting, own in cells.groupby("setting", sort=False):
        yield Size(
            f"{setting}{after}",
            len(own[labels].drop_duplicates()),
            policies.get(setting, 0),
            replicates_of(study, str(setting)),
            sum(raced(study, str(setting))) or None,
        )


def replicates_of(study: Mapping[str, Any], setting: str) -> int | None:
    """Replicates a cell: those that the looks of a wished precision reached, the most that those of
    a race did, else the study's."""
    if in_race := raced(study, setting):
        return max(in_race)
    reached = study.get("reached", {}).get(setting, {})
    found = reached.get("replicates", study.get(SIZES.get(setting, "")))
    return None if found is None else int(found)


def raced(study: Mapping[str, Any], setting: str) -> list[int]:
    """Replicates of each cell and policy of a race in a setting; none without a race."""
    own = (cell["looks"].values() for cell in study.get("raced", ()) if cell["setting"] == setting)
    return [int(study[SIZES[setting]]) * 2 ** (looks - 1) for looks in chain.from_iterable(own)]


CONSTANTS: Mapping[str, Any] = {
    "step_s": flight.STEP_S,
    "table_step_s": flight_table.STEP_S,
    "path_step_s": PATH_STEP_S,
    "forced_below": FORCED_BELOW_QUALITY,
    "cut_s": SETTLED_OFF_S,
    "level": LEVEL,
    "margin": MARGIN,
    "own_x_m": played.OWN_CONTACT_X_M,
    "own_behind_m": played.OWN_CONTACT_BEHIND_M,
    "own_height_m": played.OWN_CONTACT_HEIGHT_M,
    "own_before_m": played.LANDS_BEFORE_CONTACT_M,
    "own_gap_m": OWN_NET_GAP_M,
}


def facts(results: ResultFolder) -> dict[str, Any]:
    """What the template of the methods text needs, under the name `m`."""
    belief, settings = Belief(), results.names("setting")
    return {
        "items": checklist(),
        "outcomes": outcomes(results),
        "sizes": sizes(results),
        "choices": list(CHOICES)[1:] if results.study.get("choices") else [],
        "directions": DIRECTIONS,
        "from_middle": belief.from_middle,
        "from_corner": belief.from_corner,
        "system": results.manifest.get("system", {}),
        "air": Air(),
        "unknown": UNKNOWN,
        "block": {s: n for s, n in played.BLOCK_SIZE.items() if s in settings or s in USUAL},
        "rules": {s: SETTINGS[s].rule for s in settings if s in SETTINGS},
        "starts": {s: SETTINGS[s].start for s in settings if is_served(s)},
        "is_served": any_served(settings),
        **CONSTANTS,
    }


def outcomes(results: ResultFolder) -> list[Column]:
    """The outcomes that the cells hold, explained."""
    served = any_served(results.names("setting"))
    return [found("outcomes", name, served) for name in results.cells["outcome"].unique()]
