"""A few names for notebooks and scripts: run a study, load its folder, ask for a spot, draw.

    from experiments.notebook import load
    results = load("results/main")
    results.cells.query("policy == 'bisector' and outcome == 'missed_per_100'")

Tables are pandas data frames; `results.columns` says what every column means, with its unit. What
comes out is a model's result, not a measurement.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from experiments.scene.defaults import CONTACT_HEIGHT_M, CORNER_M, DEPTH_RALLIES, DEPTHS_M
from sim.public import fetcher

if TYPE_CHECKING:
    from experiments.answers.angle.answer import Fan
    from experiments.answers.angle.picture import draw_fan
    from experiments.answers.depth.answer import Depth
    from experiments.answers.depth.picture import draw_depth
    from experiments.answers.map.answer import ContactMap
    from experiments.answers.map.picture import draw_contact_map, draw_standing_map
    from experiments.answers.misread.answer import Misread
    from experiments.answers.misread.picture import misread_figure
    from experiments.answers.net.answer import NetAnswer
    from experiments.answers.replay.picture import draw_time_line
    from experiments.answers.replay.track import RallyTrack
    from experiments.answers.side.answer import SideResult
    from experiments.answers.side.picture import draw_side
    from experiments.answers.spot.answer import Above, SpotResult
    from experiments.answers.spot.picture import draw_above, draw_curve, draw_spot
    from experiments.answers.trial.answer import Trial
    from experiments.answers.trial.picture import draw_trial
    from experiments.balls.standing import StandingMap
    from experiments.drawing.court import draw_court
    from experiments.drawing.study_marks import draw_difference, draw_missed, draw_yardstick
    from experiments.drawing.style import house_style
    from experiments.scene.scene import Scene
    from experiments.study.design import Study
    from experiments.study.results import Results
    from sim.contracts import RecoveryPolicy, ShotModel

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
    "draw_trial",
    "draw_yardstick",
    "fan",
    "house_style",
    "load",
    "misread",
    "misread_figure",
    "net",
    "rally",
    "run",
    "scene",
    "side",
    "spot",
    "standing",
    "study",
    "trial",
]
# What is heavy to import is imported where it is used: each function imports its own answer when it
# is called, and a name that is only handed on is fetched when it is first asked for.
_HANDED_ON = {
    "Results": "study.results",
    "draw_above": "answers.spot.picture",
    "draw_contact_map": "answers.map.picture",
    "draw_court": "drawing.court",
    "draw_curve": "answers.spot.picture",
    "draw_depth": "answers.depth.picture",
    "draw_difference": "drawing.study_marks",
    "draw_fan": "answers.angle.picture",
    "draw_missed": "drawing.study_marks",
    "draw_side": "answers.side.picture",
    "draw_spot": "answers.spot.picture",
    "draw_standing_map": "answers.map.picture",
    "draw_time_line": "answers.replay.picture",
    "draw_trial": "answers.trial.picture",
    "draw_yardstick": "drawing.study_marks",
    "house_style": "drawing.style",
    "misread_figure": "answers.misread.picture",
}
__getattr__ = fetcher(__name__, _HANDED_ON, within="experiments")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


def load(folder: str | Path) -> Results:
    """Load a result folder.

    Raises:
        InputError: the folder is not one that a study wrote.
    """
    from experiments.study.result_folder import ResultFolder
    from experiments.study.results import Results

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
    import tomli_w

    from experiments.scene.own_objects import words_of
    from experiments.study.file import load_study, parse_study
    from experiments.study.headline import LABEL_OF
    from strategies.catalogue import POLICIES, SHOT_MODELS

    known = load_study(Path(base) if base else None, allow_code).model_dump(
        mode="json", exclude_none=True
    )
    for key, catalogue in (("policies", POLICIES), ("opponents", SHOT_MODELS)):
        if key in changes:
            changes[key] = [words_of(thing, catalogue) for thing in changes[key]]
    if changes.keys() & {"policies", *LABEL_OF}:
        known.pop("headline", None)  # its cells need not be there any more
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
    from experiments.report.run import run_study
    from experiments.study.design import Study
    from experiments.study.file import load_study

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
    from experiments.scene.scene import scene_of

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
    from experiments.answers.spot.answer import find_spot
    from experiments.balls.spots import with_own

    return find_spot(_scene(where, options), with_own(_policies(policies)))


def depth(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policy: RecoveryPolicy | str = "bisector",
    depths_m: tuple[float, float, float] = DEPTHS_M,
    rallies: int = DEPTH_RALLIES,
    **options: Any,
) -> Depth:
    """How far back to wait, by points of whole rallies: the best depth by what the opponent does
    about a player far back. `depths_m` are from, to and step behind the baseline; `draw_depth`.

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    from experiments.answers.depth.answer import DepthQuestion, depth_of, depths_of

    (recovery,) = _policies((policy,))
    return depth_of(DepthQuestion(_scene(where, options), recovery, depths_of(*depths_m), rallies))


def misread(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policy: RecoveryPolicy | str = "bisector",
    taken_for: Sequence[ShotModel | str] = (),
    rallies: int = 1500,
    **options: Any,
) -> Misread:
    """What a spot is worth if contact, habits or own legs are misjudged; for `misread_figure`.

    `taken_for` are hitters that the opponent is taken for; `options` as `scene` takes them.

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    from experiments.answers.misread.answer import MisreadQuestion, misread_of
    from experiments.scene.own_code import shot_model_of

    (recovery,) = _policies((policy,))
    hitters = [shot_model_of(h) if isinstance(h, str) else h for h in taken_for]
    return misread_of(MisreadQuestion(_scene(where, options), recovery, hitters, rallies))


def above(result: SpotResult) -> Above:
    """What `draw_above` shows of a spot: fan, best area, balls missed from the middle."""
    from experiments.answers.spot.answer import above_of

    return above_of(result)


def fan(
    where: Scene | tuple[float, float] = CORNER_M, *, least_in: float = 0.7, **options: Any
) -> Fan:
    """What the opponent can play from a place, in with a chance of `least_in`; for `draw_fan`."""
    from experiments.answers.angle.answer import fan_of

    return fan_of(_scene(where, options), least_in)


def side(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    shots: Sequence[str] = ("crosscourt", "short-angle", "high"),
    stand_m: tuple[float, float] | None = None,
    **options: Any,
) -> SideResult:
    """Shots from the side, met from `stand_m` (x, y; the bisector's spot if None): `draw_side`."""
    from experiments.answers.side.answer import SideQuestion, side_view
    from experiments.balls.spots import placed_situation, spot_of
    from experiments.scene.own_code import policy_of

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
    from experiments.answers.net.answer import net_answer
    from experiments.answers.net.approach import NetQuestion

    return net_answer(NetQuestion(scene(**options), contact_m, lands_m))


def trial(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policy: RecoveryPolicy | str = "bisector",
    counts: str = "reached",
    places: Sequence[int] = (),
    **options: Any,
) -> Trial:
    """How many fed balls show on court what a cone at the policy's spot brings: `draw_trial`.

    `counts` is reached or returned, `places` are numbers of the places to feed from (1 left to 5
    right; none: the scene's own and its mirror image).

    Raises:
        InputError: a name that is not known, or a value out of range.
    """
    from experiments.answers.trial.answer import TrialQuestion, plan_trial
    from experiments.answers.trial.practice import practice_of

    at, (recovery,) = _scene(where, options), _policies((policy,))
    practice = practice_of(at.player)
    return plan_trial(TrialQuestion(at, recovery, practice, counts, tuple(places)))


def standing(
    where: Scene | tuple[float, float] = CORNER_M,
    *,
    policies: Sequence[RecoveryPolicy | str] = (),
    **options: Any,
) -> StandingMap:
    """Balls missed from every place to stand, and from policies' spots: `draw_standing_map`."""
    from experiments.balls.standing import standing_map, whole_grid

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
    from experiments.answers.map.answer import contact_map

    mine, other = _policies((policy, than))
    return contact_map(_scene(CORNER_M, options), mine, other, step_m)


def rally(number: int = 0, *, seed: int, **options: str | float) -> RallyTrack:
    """One rally of two players as both move: `draw_time_line`. `options` as `replay` takes them."""
    from experiments.answers.replay.answer import replay_of_players
    from experiments.answers.replay.track import track_of

    return track_of(replay_of_players(number, seed, **options))  # type: ignore[arg-type]


def _scene(where: Scene | tuple[float, float], options: dict[str, Any]) -> Scene:
    from experiments.scene.scene import Scene
    from sim.errors import InputError

    if not isinstance(where, Scene):
        return scene(where, **options)
    if options:
        raise InputError(
            f"{', '.join(options)}: the scene that was given says that already; give it to"
            " scene(...), or a place (x, y) in the scene's stead"
        )
    return where


def _policies(policies: Sequence[RecoveryPolicy | str]) -> list[RecoveryPolicy]:
    from experiments.scene.own_code import policy_of

    return [policy_of(p) if isinstance(p, str) else p for p in policies]
