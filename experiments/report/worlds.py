"""What is said of a study over worlds: how many, how much in each, whose record they fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from experiments.report.method import SIZES
from experiments.study.folder_files import SUMMARY, table_of
from experiments.study.result_folder import ResultFolder
from experiments.study.setting_table import units_of
from experiments.study.worlds import EXTRAPOLATED, basis_of, replicates_in_world

LABELS = ("level", "point", "role", "basis", "stopped")  # columns of points.csv that are no factor


def in_worlds(results: ResultFolder) -> bool:
    """Whether the study was played over worlds."""
    return bool(results.study.get("worlds"))


def shown_level(results: ResultFolder, level: str) -> str:
    """A level as it is shown: with worlds it says so if they are extrapolated for it."""
    if not in_worlds(results) or basis_of(level) != EXTRAPOLATED:
        return level
    return f"{level} (worlds {EXTRAPOLATED})"


def worlds_of(results: ResultFolder) -> dict[str, Any] | None:
    """The worlds in numbers: how many, from which file, replicates of a cell in each, and by level
    what they are, how many values a world sets and how many of all were stopped at an end of a
    stated range; None for a study without worlds. Of a folder whose points are left out, the
    numbers that its summary holds, None if it holds none."""
    if not in_worlds(results):
        return None
    study, points = results.study, results.points
    if points.empty:
        return table_of(results.path / SUMMARY).get("worlds")
    count = int(study["worlds"])
    factors = [name for name in points.columns if name not in LABELS]
    levels = {
        str(level): {
            "basis": str(own["basis"].iloc[0]),
            "values": int(own[factors].notna().to_numpy().sum()),
            "stopped": int(own["stopped"].sum()),
        }
        for level, own in points.groupby("level", sort=False)
    }
    return {
        "count": count,
        "file": study["worlds_file"],
        "factors": len(factors),
        "replicates": {s: replicates(study, s) for s in results.names("setting")},
        "levels": levels,
    }


def replicates(study: Mapping[str, Any], setting: str) -> int:
    """Balls or rallies of a cell in each world."""
    first = int(study[SIZES[setting]])
    return replicates_in_world(first, int(study["worlds"]), study.get("world_rallies"))


def sentences(results: ResultFolder) -> Iterator[str]:
    """What a reader must know of the worlds; nothing for a study without them."""
    found = worlds_of(results)
    if found is None:
        return
    each = ", ".join(f"{s} {n:,} {units_of(s)}" for s, n in found["replicates"].items())
    yield (
        f"Two intervals: that of chance, and that of {found['count']} worlds, sets of"
        f" {found['factors']} values that fit the professional record ({found['file']}); each"
        f" plays a part of the study's replicates a cell: {each}. The interval of worlds holds 95"
        " of 100 of them, chance taken out as far as it surely is chance."
    )
    for level, own in found["levels"].items():
        if own["basis"] == EXTRAPOLATED:
            yield (
                f"{level}: worlds {EXTRAPOLATED}. There is no record of such players; values are"
                " carried over by their relation to the professional default, and"
                f" {own['stopped']} of {own['values']} stopped at an end of their stated range."
            )
