"""A result folder with made-up numbers, a fixture for tests of pictures and report."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.output.tables import fill_table
from experiments.study.folder_files import DETAILS, REPORT
from experiments.study.result_folder import ResultFolder

PLACES = {"middle": (0.0, 11.885), "corner": (3.115, 11.885), "short wide": (4.8, 6.9)}
SHADES = {"middle": 0.0, "bisector": 0.35} | {
    f"linear-shade {s / 10:.2f}": s / 10 for s in (1, 2, 3, 4)
}
WORDS = {f"linear-shade {s / 10:.2f}": f"linear-shade,shade_m_per_m={s / 10}" for s in (1, 2, 3, 4)}
BEST_SHADE = 0.25
OWN_STROKES = ("crosscourt", "middle")


def write_folder(
    path: Path,
    *,
    settings: Sequence[str] = ("placed", "recovery", "rally"),
    levels: Sequence[str] = ("club-adult", "college-man", "professional-man"),
    opponents: Sequence[str] = ("any-allowed", "habit"),
    policies: Sequence[str] = tuple(SHADES),
    places: Sequence[str] = tuple(PLACES),
    title: str = "A fixture",
) -> Path:
    """Write study.toml, cells.csv and manifest.json of a study whose numbers are made up.

    Missed is a parabola over the shade with its bottom at BEST_SHADE.
    """
    path.mkdir(parents=True)
    lines = [f"title = {json.dumps(title)}", 'question = "Is this a fixture?"', 'surface = "hard"']
    words = [WORDS.get(p, p) for p in policies]
    lines += [f"policies = {json.dumps(words)}", f"opponents = {json.dumps(list(opponents))}"]
    lines += ["depth_m = 1.3", "seed = 1"]
    for name in places:
        x, y = PLACES[name]
        lines += ["[[places]]", f"name = {json.dumps(name)}", f"x_m = {x}", f"y_m = {y}"]
    (path / "study.toml").write_text("\n".join(lines) + "\n", "utf-8")
    rows: list[dict[str, Any]] = []
    for setting in settings:
        for own in OWN_STROKES if setting == "recovery" else (None,):
            for level in levels:
                for opponent in opponents:
                    for place in (*places, *(["all places"] if len(places) > 1 else [])):
                        for policy in policies:
                            labels = dict(
                                policy=policy, place=place, level=level, opponent=opponent
                            )
                            labels |= dict(setting=setting, own_stroke=own)
                            rows += cells(labels)
    write_rows(path, rows)
    manifest = {"version": "0.0", "seed": 1, "commit": None, "packages": {"numpy": "2.0"}}
    manifest |= {"files": {"not-stored.csv": "ab" * 32}, "own_policies": {"own/mine.py": "cd" * 32}}
    (path / "manifest.json").write_text(json.dumps(manifest), "utf-8")
    return path


def pages_of(folder: Path) -> str:
    """All that the report of a folder says: the report, then its details."""
    return "".join((folder / name).read_text("utf-8") for name in (REPORT, DETAILS))


def rows_of(path: Path) -> list[dict[str, Any]]:
    """The cells of a result folder, None for what they do not hold."""
    return ResultFolder.read(path).rows


def write_rows(path: Path, rows: list[dict[str, Any]]) -> None:
    """Write other cells into a folder."""
    fill_table(pd.DataFrame(rows), path / "cells.csv")


def cells(labels: dict[str, Any]) -> list[dict[str, Any]]:
    """The cells of one policy in one scenario."""
    shade = SHADES.get(labels["policy"], 0.2)
    missed = 3.0 + 100.0 * (shade - BEST_SHADE) ** 2
    from_middle = 3.0 + 100.0 * BEST_SHADE**2
    out = {"missed_per_100": (missed, 0.4)}
    place = PLACES.get(labels["place"])
    if place is not None:
        out["spot_x_m"] = (-shade * place[0], 0.0)
        if place[0] != 0:
            out["shade_m_per_m"] = (shade, 0.0)
    if labels["setting"] == "rally":
        out["points_won_per_100"] = (60.0 - missed, 1.0)
    if labels["policy"] != "middle":
        out["missed_fewer_than_middle_per_100"] = (from_middle - missed, 0.2)
        if labels["setting"] == "rally":
            out["points_more_than_middle_per_100"] = (from_middle - missed, 0.7)
    return [
        {**labels, "outcome": name, "estimate": v, "low": v - half, "high": v + half, "n": 100}
        for name, (v, half) in out.items()
    ]
