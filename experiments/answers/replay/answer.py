"""One rally again, event by event: of a study, or of two players named on the command line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from experiments.scene.defaults import CORNER_M, HITTER, OPPONENT_POLICY
from experiments.scene.own_code import policy_of
from experiments.scene.people import opponent_words, without_words
from experiments.scene.scene import scene_of
from experiments.scene.units import point
from experiments.study.served import served_from, sides_changed, turned_strokes
from experiments.study.setting_table import SERVE
from experiments.study.worlds import as_in_study
from sim.chance import checked_seed
from sim.errors import InputError, named, unknown_name
from sim.exchange import Game, Place, with_policy
from sim.records import OPPONENT, SIDES, STROKE_LIMIT, STUDIED, WON_BY_HITTER
from strategies.shots.serve import serve_places

if TYPE_CHECKING:
    from sim.event_engine import Happening

RALLY = "rally"
TURNED = ("x_m", "y_m")  # of a happening
LARGEST_NUMBER = 10_000_000
SERVES = ("serve-right", "serve-left")  # to the right and to the left court
OWN_SERVES = tuple(f"own-{name}" for name in SERVES)


@dataclass(frozen=True)
class Replay:
    """Which rally to play: `replicate` is its address in the game's chance.

    The opponent opens it from `place`; with `serving` the studied player does, from where `place`
    is as the opponent sees it.

    Raises:
        InputError: a number or a seed out of range.
    """

    title: str
    game: Game
    place: Place
    number: int
    first_replicate: int = 0
    serving: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.number <= LARGEST_NUMBER:
            raise InputError(
                f"rally number is {self.number}; it must be from 0 (the first) to {LARGEST_NUMBER}"
            )
        checked_seed(self.game.seed)

    @property
    def replicate(self) -> int:
        return self.first_replicate + self.number

    @property
    def played(self) -> Game:
        """The game as engines play it, which the opponent opens."""
        return sides_changed(self.game) if self.serving else self.game


def replay_of_study(
    path: Path,
    number: int,
    place: str | None,
    level: str | None,
    opponent: str | None,
    policy: str | None,
    seed: int | None,
    allow_code: bool = False,
    setting: str | None = None,
) -> Replay:
    """A rally of a study file or of a result folder, by the labels of its cell.

    What is not given is the study's first (the policy: its reference; the seed: its own; the
    setting: rally, from a place). The policy may be any text that a study takes, or the display
    name that its results show.

    Raises:
        InputError: the study cannot be read, or has no such place, level, opponent, setting or
            seed, or a place is given for points that open with a serve.
    """
    from experiments.study.file import load_study
    from experiments.study.setting_table import is_served
    from experiments.study.settings import REPLICATES_A_PLACE

    study = load_study(path / "study.toml" if path.is_dir() else path, allow_code)
    names = [p.name for p in study.places]
    setting = _among("setting", setting, (RALLY, *filter(is_served, study.settings)))
    if setting != RALLY and place not in (None, SERVE):
        raise InputError(f"points in the setting {setting!r} have no place; leave out --place")
    place = None if setting != RALLY else place
    place = _among("place", place, names)
    known = dict(zip(study.level_names(), study.levels, strict=True))
    level = _among("level", level, known)
    shown = dict(zip(study.opponent_names(), study.opponents, strict=True))
    opponent = _among("opponent", _meant(opponent, shown), study.opponents)
    called = next(name for name, text in shown.items() if text == opponent)
    chosen = policy or study.reference
    chosen = _meant(chosen, {policy_of(t).name: t for t in study.policies}) or chosen
    seed = study.seed if seed is None else seed
    if seed is None:
        raise InputError(
            f"{path} names no seed; give --seed, or a result folder, whose study has one"
        )
    game = study.game(known[level], opponent, chosen, checked_seed(seed))
    if setting != RALLY:
        played = level, game.studied.policy.name, f"{called} opponent", setting
        title = _joined(*played, without_words(study.without))
        return Replay(title, game, served_from(number), number, serving=setting == "serving")
    index = names.index(place)
    played = level, game.studied.policy.name, f"{called} opponent", place
    title = _joined(*played, without_words(study.without))
    return Replay(title, game, study.places[index].place, number, index * REPLICATES_A_PLACE)


def replay_of_players(
    number: int,
    seed: int | None,
    place: str = ",".join(map(str, CORNER_M)),
    policy: str = "middle",
    opponent_policy: str = OPPONENT_POLICY,
    own_shots: str = HITTER,
    world: int | None = None,
    **described: Any,
) -> Replay:
    """A rally of two players; `place` is a text as of `first_place`, or an own serve by its name
    (OWN_SERVES); `world` the number of one that fits the record, None for the default values; the
    others are those of `scene_of`.

    Raises:
        InputError: an unknown name, no seed, or a number out of range.
    """
    if seed is None:
        raise InputError(
            "no seed; give --seed with the number of the run to replay. If there is none yet, as"
            " for a first film, any whole number will do, such as --seed 1: the same number brings"
            " the same balls again"
        )
    scene = scene_of(seed=seed, **described)
    game = with_policy(scene.contest(own_shots, opponent_policy), policy_of(policy))
    played = scene.player.name, game.studied.policy.name, f"{game.opponent.shots.name} opponent"
    if not any(letter.isdigit() for letter in place):
        place = named("--place (X,Y in metres, or a serve)", place, (*SERVES, *OWN_SERVES))
    serving = place in OWN_SERVES
    first = first_place(place.removeprefix("own-") if serving else place, scene.place.z_m)
    if world is not None:
        game = as_in_study(game, first, world, scene.without)
    in_world = "" if world is None else f"in world {world}"
    title = _joined(*played, without_words(scene.without), in_world)
    return Replay(title, game, first, number, serving=serving)


def first_place(text: str, height: float) -> Place:
    """From where the opponent strikes first: X,Y, or a serve by its name.

    Raises:
        InputError: neither of both.
    """
    if text in SERVES:
        return serve_places()[SERVES.index(text)]
    x, y = point("--place", text, "xy", -40.0, 40.0)
    return Place("place", x, y, height)


def _joined(*parts: str) -> str:
    return ", ".join(filter(None, parts))


def _among(what: str, name: str | None, valid: Iterable[str]) -> str:
    """The name, if it is valid; the first valid one for None."""
    names = list(valid)
    if name is None:
        return names[0]
    if name not in names:
        raise unknown_name(f"{what} of the study", name, names)
    return name


def _meant(asked: str | None, texts: Mapping[str, str]) -> str | None:
    """The study's own text (`texts` by display name) that is asked for by display name or, for own
    code, by file and class wherever the file lies now; else what was asked."""
    if asked is None or asked in texts.values():
        return asked
    own = [t for t in texts.values() if ".py:" in t and Path(t).name == Path(asked).name]
    return texts.get(asked) or (own[0] if len(own) == 1 else asked)


def replay_text(replay: Replay) -> str:
    """The rally as lines: who plays, each happening, and who won the point.

    Raises:
        InputError: a policy or shot model of one's own has no use.
    """
    from sim.event_engine import play_rally, trace_lines

    strokes, happenings = play_rally(replay.played, replay.place, replay.replicate)
    if replay.serving:
        strokes, happenings = turned_strokes(strokes), [across_the_net(h) for h in happenings]
    head = f"Rally {replay.number}, seed {replay.game.seed}: {replay.title}"
    frame = "Times in s from the first strike; places (x, y) in m, the studied player at y below 0."
    other = replay.game.opponent
    against = f"Opponent: {opponent_words(other.player, other.shots.name, replay.game.world.ball)}"
    return "\n".join([head, against, frame, "", *trace_lines(happenings), "", point_text(strokes)])


def across_the_net(h: Happening) -> Happening:
    """A happening of a game whose sides are changed, seen from across the net."""
    side = SIDES[1 - SIDES.index(h.side)]
    values = {k: -v if k in TURNED and isinstance(v, float) else v for k, v in h.values.items()}
    if isinstance(started := values.get("started"), str):
        to = {"to the right at": "to the left at", "to the left at": "to the right at"}
        values["started"] = next(
            (started.replace(k, v) for k, v in to.items() if k in started), started
        )
    return replace(h, side=side, values=values)


def point_text(strokes: np.ndarray) -> str:
    """One sentence: how many strokes, and who won the point."""
    last = strokes[-1]
    count = f"{len(strokes)} stroke{'' if len(strokes) == 1 else 's'}"
    if last["ending"] == STROKE_LIMIT:
        return f"After {count} the rally was stopped, undecided."
    hitter_won = last["ending"] in WON_BY_HITTER
    winner = STUDIED if (last["side"] == STUDIED) == hitter_won else OPPONENT
    return f"After {count} the point goes to the {SIDES[winner]} player."
