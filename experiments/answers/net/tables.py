"""The answer at the net as flat rows: every aim, the named places, the turning point."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.answers.net.answer import MEASURES, NAMED, AtTheNet, NetAnswer
from experiments.answers.net.turning import DISTANCES_M
from experiments.output.tables import write_table

DIGITS = 2
OF_ALL = (*((measure, "landed") for measure in MEASURES),)
BY_KIND = (("missed_pass", "passed"), ("missed_lob", "lobbed"))


def cell_of(answer: NetAnswer, passes: str, found: AtTheNet) -> dict[str, Any]:
    """What tells one cell from another."""
    scene = answer.question.scene
    return {
        "level": scene.player.name,
        "surface": scene.world.surface.name,
        "opponent": found.hitter,
        "passes": passes,
    }


def aims_rows(answers: Sequence[NetAnswer]) -> list[dict[str, Any]]:
    """A row a cell and aim, the named places last."""
    return [row for answer in answers for row in _aims(answer)]


def _aims(answer: NetAnswer) -> Iterator[dict[str, Any]]:
    for passes, found in answer.passes.items():
        for k, (x, y) in enumerate(found.met.aims):
            grid = len(found.met.aims) - len(NAMED)
            row = cell_of(answer, passes, found)
            row |= {"name": "" if k < grid else NAMED[k - grid], "x_m": x, "from_net_m": -y}
            row |= dict(zip(("reached_x_m", "reached_y_m"), found.reached_m[k], strict=True))
            for measure, of in (*OF_ALL, *BY_KIND):
                row[f"{measure}_lost_per_100"] = found.met.lost_per_100(measure, k, of).value
            row["missed_there_per_100"] = found.stood.lost_per_100("missed", k).value
            yield _rounded(row)


def places_rows(answers: Sequence[NetAnswer]) -> list[dict[str, Any]]:
    """A row a cell and named place: what it loses to the best aim, with intervals."""
    out = []
    for answer in answers:
        for passes, found in answer.passes.items():
            for name in NAMED:
                k = found.named(name)
                row = cell_of(answer, passes, found) | {"name": name}
                row |= {"x_m": found.met.aims[k, 0], "from_net_m": -found.met.aims[k, 1]}
                for measure in MEASURES:
                    loss = found.loss(measure, name)
                    for part, end in (("value", ""), ("low", "_low"), ("high", "_high")):
                        row[f"{measure}_loss_per_100{end}"] = getattr(loss, part)
                out.append(_rounded(row))
    return out


def turning_rows(answers: Sequence[NetAnswer]) -> list[dict[str, Any]]:
    """A row a cell, contact and distance from the net."""
    out = []
    for answer in answers:
        for passes, found in answer.passes.items():
            for turning in found.turning:
                for k, distance in enumerate(DISTANCES_M):
                    best = turning.best[k]
                    row = cell_of(answer, passes, found) | {"contact": turning.name}
                    row |= {"from_net_m": distance, "bisector_x_m": turning.bisector_m[k]}
                    row |= {"best_x_m": best.x_m, "low_x_m": best.low_m, "high_x_m": best.high_m}
                    row["missed_per_100"] = 100.0 * (1.0 - best.share)
                    out.append(_rounded(row))
    return out


def _rounded(row: dict[str, Any]) -> dict[str, Any]:
    return {key: _written(value) for key, value in row.items()}


def _written(value: Any) -> Any:
    if not isinstance(value, float):
        return value
    return round(float(value), DIGITS) + 0.0 if math.isfinite(value) else None


def aims_frame(answers: Sequence[NetAnswer]) -> pd.DataFrame:
    """The rows of all aims as a table."""
    return pd.DataFrame(aims_rows(answers), dtype=object)


TABLES = {"net": aims_rows, "places": places_rows, "turning": turning_rows}


def write_tables(answers: Sequence[NetAnswer], folder: Path) -> None:
    """Write each table as CSV into a folder that is there.

    Raises:
        InputError: a file cannot be written.
    """
    for name, rows in TABLES.items():
        write_table(pd.DataFrame(rows(answers), dtype=object), folder / f"{name}.csv")
