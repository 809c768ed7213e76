"""A few names for notebooks and scripts: run a study, load its folder, ask for a spot, draw.

    from experiments.notebook import load
    results = load("results/main")
    results.cells.query("policy == 'bisector' and outcome == 'missed_per_100'")

Tables are pandas data frames; `results.columns` says what every column means, with its unit. What
comes out is a model's result, not a measurement.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd
import tomli_w

from experiments.answers.angle.picture import draw_fan
from experiments.answers.map.picture import draw_contact_map, draw_standing_map
from experiments.answers.replay.timeline import draw_time_line
from experiments.answers.side.picture import draw_side
from experiments.answers.spot.above_picture import draw_above
from experiments.answers.spot.picture import draw_curve, draw_spot
from experiments.answers.spot.question import (
    SpotQuestion,
    SpotResult,
    find_spot,
    waiting_depth_m,
    with_own,
)
from experiments.drawing.court import draw_angle, draw_court, draw_court_spots
from experiments.drawing.study_marks import draw_difference, draw_missed, draw_yardstick
from experiments.drawing.style import house_style
from experiments.report.run import run_study
from experiments.scene.defaults import BALLS, CONTACT_HEIGHT_M, HITTER, LEVEL, SURFACE
from experiments.scene.own_code import policy_of, shot_model_of
from experiments.scene.people import players_of, world_of
from experiments.study.columns import columns_of
from experiments.study.design import Study
from experiments.study.file import load_study, parse_study
from experiments.study.hashes import sound
from experiments.study.rallies import rallies_of
from experiments.study.result_folder import ResultFolder
from sim.chance import fresh_seed
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from sim.exchange import Place
from sim.world import TABULATED

__all__ = [
    "Results",
    "draw_above",
    "draw_angle",
    "draw_contact_map",
    "draw_court",
    "draw_court_spots",
    "draw_curve",
    "draw_difference",
    "draw_fan",
    "draw_missed",
    "draw_side",
    "draw_spot",
    "draw_standing_map",
    "draw_time_line",
    "draw_yardstick",
    "house_style",
    "load",
    "run",
    "spot",
    "study",
]


@dataclass(frozen=True)
class Results:
    """A result folder as data frames, each read when it is first asked for."""

    _folder: ResultFolder

    @property
    def path(self) -> Path:
        """Where the folder is."""
        return self._folder.path

    @property
    def study(self) -> Mapping[str, Any]:
        """The resolved study: what was asked for, the seed included."""
        return self._folder.study

    @property
    def manifest(self) -> Mapping[str, Any]:
        """What was run, when and with which versions."""
        return self._folder.manifest

    @property
    def cells(self) -> pd.DataFrame:
        """One row an estimate: its labels, estimate, low, high and n."""
        return self._folder.cells

    @cached_property
    def strokes(self) -> pd.DataFrame:
        """One row a stroke that the study kept (`stroke_rows_per_cell`); empty if it kept none."""
        path = sound(self.path, "strokes.parquet")
        if not path.exists():
            raise InputError(f"{str(path)!r} is missing; run the study again")
        table = pd.read_parquet(path)
        table["own_stroke"] = table["own_stroke"].astype(object).fillna("")
        return table

    @cached_property
    def rallies(self) -> pd.DataFrame:
        """One row a ball or rally, made from `strokes`."""
        return rallies_of(self.strokes)

    @cached_property
    def choices(self) -> pd.DataFrame:
        """What each modelling choice does; empty if the study tried none."""
        return self._folder.choices

    @cached_property
    def designed(self) -> pd.DataFrame:
        """One row an estimate at a design point; empty if the study has no factors."""
        return self._folder.designed

    @cached_property
    def points(self) -> pd.DataFrame:
        """Factor values of each design point; empty if the study has no factors."""
        return self._folder.points

    @cached_property
    def columns(self) -> pd.DataFrame:
        """Table, column, unit and meaning of every column, and of the outcomes."""
        return pd.DataFrame(columns_of(self.path))


def load(folder: str | Path) -> Results:
    """Load a result folder.

    Raises:
        InputError: the folder is not one that a study wrote.
    """
    return Results(ResultFolder.read(Path(folder)))


def study(base: str | Path | None = None, *, allow_code: bool = False, **changes: Any) -> Study:
    """The study of a file, or the bundled study of that name (None: the main one), with some of its
    keys changed: `study(levels=["club-adult"], rallies=200)`. A file's code is run only from the
    file's own folder, unless it is allowed elsewhere.

    Raises:
        InputError: the file or a value is wrong; which, and what is allowed.
    """
    known = load_study(Path(base) if base else None, allow_code).model_dump(
        mode="json", exclude_none=True
    )
    kept = {key: value for key, value in {**known, **changes}.items() if value is not None}
    return parse_study(tomli_w.dumps(kept), "the study")


def run(
    study: Study | str | Path | None = None,
    out: str | Path = "study-results",
    *,
    seed: int | None = None,
    workers: int | None = None,
    overwrite: bool = False,
    progress: bool = True,
) -> Results:
    """Run a study (an object, a study file, a bundled study's name, or None for the main one) into
    `out` and load it.

    On Windows and macOS a script that runs a study on several processes needs the usual
    `if __name__ == "__main__":`; `workers=1` does without.

    Raises:
        InputError: the study or the folder is wrong; what and how to mend it.
    """
    known = study if isinstance(study, Study) else load_study(Path(study) if study else None)
    path = run_study(
        known, Path(out), seed=seed, workers=workers, overwrite=overwrite, progress=progress
    )
    return load(path)


def spot(
    opponent_m: tuple[float, float],
    *,
    player: str = LEVEL,
    opponent_player: str | None = None,
    hitter: str = HITTER,
    policies: Sequence[RecoveryPolicy | str] = (),
    surface: str = SURFACE,
    hand: str | None = None,
    opponent_hand: str | None = None,
    height_m: float = CONTACT_HEIGHT_M,
    depth_m: float | None = None,
    balls: int = BALLS,
    seed: int | None = None,
) -> SpotResult:
    """Where to wait while the opponent strikes from `opponent_m` (x, y in m, y above 0).

    Players are levels or player files; hands are theirs, right for levels, if not given.
    `policies` are your own, objects or names, beside those of the catalogue; `depth_m` is metres
    behind the baseline (the player's own if None). `draw_spot` draws the result.

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    me, other = players_of(player, opponent_player, hand, opponent_hand)
    return find_spot(
        SpotQuestion(
            place=Place("opponent's contact", *opponent_m, height_m),
            player=me,
            opponent=other,
            world=world_of(surface, flight=TABULATED),
            hitter=shot_model_of(hitter),
            policies=with_own([policy_of(p) if isinstance(p, str) else p for p in policies]),
            depth_m=waiting_depth_m(me, surface) if depth_m is None else depth_m,
            balls=balls,
            seed=fresh_seed() if seed is None else seed,
        )
    )
