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

from experiments.answers.angle.answer import Fan, fan_of
from experiments.answers.angle.picture import draw_fan
from experiments.answers.depth.answer import (
    DEPTHS_M,
    RALLIES,
    Depth,
    DepthQuestion,
    depth_of,
    depths_of,
)
from experiments.answers.depth.picture import draw_depth
from experiments.answers.map.answer import ContactMap, contact_map
from experiments.answers.map.picture import draw_contact_map, draw_standing_map
from experiments.answers.net.answer import NetAnswer, net_answer
from experiments.answers.net.approach import NetQuestion
from experiments.answers.replay.answer import replay_of_players
from experiments.answers.replay.picture import draw_time_line
from experiments.answers.replay.track import RallyTrack, track_of
from experiments.answers.side.answer import SideQuestion, SideResult, side_view
from experiments.answers.side.picture import draw_side
from experiments.answers.spot.answer import Above, SpotResult, above_of, find_spot
from experiments.answers.spot.picture import draw_above, draw_curve, draw_spot
from experiments.balls.spots import placed_situation, spot_of, with_own
from experiments.balls.standing import StandingMap, standing_map, whole_grid
from experiments.drawing.court import draw_court
from experiments.drawing.study_marks import draw_difference, draw_missed, draw_yardstick
from experiments.drawing.style import house_style
from experiments.report.run import run_study
from experiments.scene.defaults import CONTACT_HEIGHT_M, CORNER_M
from experiments.scene.own_code import policy_of
from experiments.scene.own_objects import words_of
from experiments.scene.scene import Scene, scene_of
from experiments.study.columns import columns_of
from experiments.study.design import Study
from experiments.study.file import load_study, parse_study
from experiments.study.folder_files import sound
from experiments.study.result_folder import ResultFolder, shade_curve
from experiments.study.stroke_file import rallies_of
from sim.contracts import RecoveryPolicy
from sim.errors import InputError
from strategies.catalogue import POLICIES, SHOT_MODELS

__all__ = [
    "Results",
    "above",
    "contacts",
    "depth",
    "draw_above",
    "draw_contact_map",
    "draw_court",
    "draw_curve",
    "draw_depth",
    "draw_difference",
    "draw_fan",
    "draw_missed",
    "draw_side",
    "draw_spot",
    "draw_standing_map",
    "draw_time_line",
    "draw_yardstick",
    "fan",
    "house_style",
    "load",
    "net",
    "rally",
    "run",
    "scene",
    "side",
    "spot",
    "standing",
    "study",
]


@dataclass(frozen=True, repr=False)
class Results:
    """A result folder as data frames, each read when it is first asked for."""

    _folder: ResultFolder

    def __repr__(self) -> str:
        title, seed = self.study.get("title", ""), self.study.get("seed")
        return f"Results({str(self.path)!r}: {title}; {len(self.cells)} cells, seed {seed})"

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

    def shades(self, outcome: str = "missed_per_100", **labels: str) -> pd.DataFrame:
        """An outcome over the shade of the yardstick family, for `draw_yardstick`.

        `labels` pick one place, level, opponent, setting and own stroke: place="corner", ...
        """
        members = [self._folder.reference, *self._folder.family]
        return shade_curve(self._folder.pick(**labels), outcome, members)

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
    keys changed: `study(levels=["club-adult"], rallies=200)`. Policies and opponents may be your
    own objects: `study(policies=["middle", Mine(0.3)], reference="middle")`; their code goes into
    the result folder. A file's code is run only from the file's own folder, unless it is allowed
    elsewhere.

    Raises:
        InputError: the file or a value is wrong; which, and what is allowed.
    """
    known = load_study(Path(base) if base else None, allow_code).model_dump(
        mode="json", exclude_none=True
    )
    for key, catalogue in (("policies", POLICIES), ("opponents", SHOT_MODELS)):
        if key in changes:
            changes[key] = [words_of(thing, catalogue) for thing in changes[key]]
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


def scene(
    opponent_m: tuple[float, float] = CORNER_M,
    height_m: float = CONTACT_HEIGHT_M,
    *,
    depth_m: float | None = None,
    **options: Any,
) -> Scene:
    """Who plays where, on what, how deep and by which chance: what every answer is about.

    The opponent strikes from `opponent_m` (x, y in m, y above 0) at `height_m`; `depth_m` is metres
    behind the baseline (the player's own if None). `options` are those of the commands: player,
    opponent_player (levels or player files), hand, opponent_hand, surface, hitter (a name or an
    object), balls, seed, least_in, nearest_landing, without.

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    return scene_of(opponent_m, height_m, depth=depth_m, **options)


def spot(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policies: Sequence[RecoveryPolicy | str] = (),
    **options: Any,
) -> SpotResult:
    """Where to wait in a scene, or while the opponent strikes from a place (x, y).

    `policies` are your own, objects or names, beside those of the catalogue; `options` as `scene`
    takes them. `draw_spot` draws the result, `.frame` is its table.

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    return find_spot(_scene(where, options), with_own(_policies(policies)))


def depth(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policy: RecoveryPolicy | str = "bisector",
    depths_m: tuple[float, float, float] = DEPTHS_M,
    rallies: int = RALLIES,
    **options: Any,
) -> Depth:
    """How far back to wait, by points of whole rallies: the best depth by what the opponent does
    about a player far back. `depths_m` are from, to and step behind the baseline; `draw_depth`.

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    (recovery,) = _policies((policy,))
    return depth_of(DepthQuestion(_scene(where, options), recovery, depths_of(*depths_m), rallies))


def above(result: SpotResult) -> Above:
    """What `draw_above` shows of a spot: fan, best area, balls missed from the middle."""
    return above_of(result)


def fan(
    where: Scene | tuple[float, float] = CORNER_M, *, least_in: float = 0.7, **options: Any
) -> Fan:
    """What the opponent can play from a place, in with a chance of `least_in`; for `draw_fan`."""
    return fan_of(_scene(where, options), least_in)


def side(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    shots: Sequence[str] = ("crosscourt", "short-angle", "high"),
    stand_m: tuple[float, float] | None = None,
    **options: Any,
) -> SideResult:
    """Shots from the side, met from `stand_m` (x, y; the bisector's spot if None): `draw_side`."""
    at = _scene(where, options)
    if stand_m is None:
        x, y = spot_of(policy_of("bisector"), placed_situation(at))
        stand_m = float(x), float(y)
    return side_view(SideQuestion(at, stand_m, shots))


def net(
    contact_m: tuple[float, float, float] = (2.0, -7.5, CONTACT_HEIGHT_M),
    lands_m: tuple[float, float] = (2.4, 9.5),
    **options: Any,
) -> NetAnswer:
    """Where to stand at the net after an approach from a ball (x, y, z) that lands at (x, y).

    `options` as `scene` takes them.

    Raises:
        InputError: a name that is not known, a value out of range, an approach that is not reached.
    """
    return net_answer(NetQuestion(scene(**options), contact_m, lands_m))


def standing(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policies: Sequence[RecoveryPolicy | str] = (),
    **options: Any,
) -> StandingMap:
    """Balls missed from every place to stand, and from policies' spots: `draw_standing_map`."""
    at = _scene(where, options)
    return standing_map(at, _policies(policies), whole_grid(at))


def contacts(
    policy: RecoveryPolicy | str = "bisector",
    than: RecoveryPolicy | str = "middle",
    *,
    step_m: float = 0.5,
    **options: Any,
) -> ContactMap:
    """Two policies for every place that the opponent may strike from: `draw_contact_map`."""
    mine, other = _policies((policy, than))
    return contact_map(_scene(CORNER_M, options), mine, other, step_m)


def rally(number: int = 0, *, seed: int, **options: str | float) -> RallyTrack:
    """One rally of two players as both move: `draw_time_line`. `options` as `replay` takes them."""
    return track_of(replay_of_players(number, seed, **options))  # type: ignore[arg-type]


def _scene(where: Scene | tuple[float, float], options: dict[str, Any]) -> Scene:
    return where if isinstance(where, Scene) else scene(where, **options)


def _policies(policies: Sequence[RecoveryPolicy | str]) -> list[RecoveryPolicy]:
    return [policy_of(p) if isinstance(p, str) else p for p in policies]
