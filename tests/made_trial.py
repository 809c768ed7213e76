"""A trial whose chances are given instead of foretold, and its sheet filled in by chance."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np

from experiments.answers.trial.answer import Trial, TrialQuestion
from experiments.answers.trial.foretold import ACROSS, ALONG, Feed, Side
from experiments.answers.trial.practice import practice_of
from experiments.answers.trial.reading import read_sheet
from experiments.answers.trial.result import Found, judge
from experiments.answers.trial.sheet import sheet_text
from experiments.scene.scene import scene_of
from experiments.statistics.estimates import Difference, Estimate
from sim.exchange import Place
from strategies.recovery.bisector import Bisector

Row = dict[str, str]


def made_trial(
    seed: int = 1,
    across: tuple[float, float] = (0.05, 0.35),
    along: tuple[float, float] = (0.15, 0.05),
    player: str = "college-man",
    **asked: object,
) -> Trial:
    """Fed from places 2 and 4; on each side the shares lost from cone and middle."""
    scene = scene_of(player=player, seed=seed)
    sides = (Side(ACROSS, 0.7, *across), Side(ALONG, 0.3, *along))
    cone, middle = (
        sum(s.weight * getattr(s, n) for s in sides) for n in ("lost_cone", "lost_middle")
    )
    feeds = []
    for number, x_m, cone_x_m in ((2, -3.115, 1.125), (3, 0.0, 0.0), (4, 3.115, -1.5)):
        value = 100 * (middle - cone)
        feeds.append(
            Feed(
                number,
                Place(f"{number}", x_m, 11.885, 1.0),
                cone_x_m,
                Estimate(100 * cone, 0.0, 100.0, 1.0, 4000),
                Estimate(100 * middle, 0.0, 100.0, 1.0, 4000),
                Difference(value, value - 2, value + 2, 1.0, 4000, 4000.0, 0.025, 1.4),
                sides if cone_x_m else (Side("anywhere", 1.0, middle, middle),),
            )
        )
    question = TrialQuestion(scene, Bisector(), practice_of(scene.player), **asked)  # type: ignore[arg-type]
    return Trial(question, tuple(feeds))


def rows_of(text: str) -> list[Row]:
    return list(csv.DictReader(io.StringIO(text)))


def written(rows: list[Row], path: Path) -> Path:
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return path


def filled_rows(
    trial: Trial, rng: np.random.Generator, lost: Callable[[Row], float] | None = None
) -> list[Row]:
    """The sheet with each ball lost by its chance in the trial, or by `lost`."""
    chances = {(f.number, s.to): s for f in trial.feeds for s in f.sides}

    def own(row: Row) -> float:
        side = chances[int(row["place"]), row["to"]]
        return side.lost_cone if row["stand"] == "cone" else side.lost_middle

    rows = rows_of(sheet_text(trial))
    for row in rows:
        reached = rng.random() >= (lost or own)(row)
        row["reached"] = str(int(reached))
        row["returned_in"] = str(int(reached and rng.random() < 0.8))
    return rows


def judged(rows: list[Row], path: Path) -> Found:
    return judge(read_sheet(written(rows, path)))
