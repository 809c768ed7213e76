"""Who plays whom, where, and how rallies open: the settings of an environment, and their games."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from experiments.scene.defaults import CONTACT_HEIGHT_M, HITTER, LEVEL, OPPONENT_POLICY, SURFACE
from experiments.scene.scene import scene_of
from experiments.study.served import sides_changed
from experiments.study.worlds import as_in_study
from sim.chance import checked_seed
from sim.contracts import ShotModel
from sim.errors import InputError, unknown_name
from sim.exchange import Game, Place
from sim.records import OPPONENT, STUDIED
from strategies.shots.serve import serve_places

RETURNING, SERVING = "returning", "serving"


@dataclass(frozen=True)
class Settings:
    """What can be set of an environment; players, surfaces and strokes by the names of commands.

    player, opponent_player: levels or player files, the opponent like the player if None; hand,
    opponent_hand: right or left, theirs if None. surface, ball: names. depth_m: where the player
    waits behind the baseline, the level's own if None. hitter, own_shots: what opponent and player
    hit, shot models (the hitter also as an object). opponent_policy: where the opponent recovers
    to. without: additions to leave out.
    opening: "returning" (the opponent serves), "serving" (the player does), or the place (x, y) or
    (x, y, z) in m, y above 0, from where the opponent strikes first.
    world: None for the default values, the number of a world that fits the record, or several, by
    turns.
    seed: root of all chance, a fresh one if None. bisector: observe it, too (it takes time).
    shaped: None for the point alone as reward; a discount from 0 to 1 to add the change of the
    state's worth, which leaves the best policy as it is.
    """

    player: str = LEVEL
    opponent_player: str | None = None
    hand: str | None = None
    opponent_hand: str | None = None
    surface: str = SURFACE
    ball: str | None = None
    depth_m: float | None = None
    hitter: str | ShotModel = HITTER
    own_shots: str = HITTER
    opponent_policy: str = OPPONENT_POLICY
    without: str | Sequence[str] | None = None
    opening: str | Sequence[float] = RETURNING
    world: int | Sequence[int] | None = None
    seed: int | None = None
    bisector: bool = False
    shaped: float | None = None

    @property
    def worlds(self) -> tuple[int | None, ...]:
        """The worlds to play in, by turns."""
        several = isinstance(self.world, Iterable) and not isinstance(self.world, str)
        return tuple(self.world) if several else (self.world,)  # type: ignore[arg-type, return-value]


@dataclass(frozen=True)
class Contest:
    """A game as engines play it: the opponent of `game` opens, from `places` by turns.

    side: who of it is the player that the settings name. world: the number of the world, or None.
    """

    game: Game
    side: int
    places: tuple[Place, ...]
    world: int | None = None

    def with_seed(self, seed: int) -> Contest:
        """The same by other chance."""
        return dataclasses.replace(self, game=dataclasses.replace(self.game, seed=seed))


def settings_of(**values: object) -> Settings:
    """The settings with these values.

    Raises:
        InputError: no such setting, or a seed or a discount out of range.
    """
    known = [field.name for field in dataclasses.fields(Settings)]
    for name in values:
        if name not in known:
            raise unknown_name("setting of the environment", name, known)
    out = Settings(**values)  # type: ignore[arg-type]
    if out.seed is not None:
        checked_seed(whole_number("seed", out.seed))
    if out.shaped is not None and not (is_number(out.shaped) and 0.0 <= out.shaped <= 1.0):
        raise InputError(f"shaped is {out.shaped!r}; give a discount from 0 to 1, or None")
    return out


def whole_number(what: str, value: object) -> int:
    """The value, if it is a whole number.

    Raises:
        InputError: it is none.
    """
    if not isinstance(value, int | np.integer) or isinstance(value, bool):
        raise InputError(f"{what} is {value!r}; give one whole number")
    return int(value)


def is_number(value: object) -> bool:
    """Whether a value is a plain number."""
    kinds = int | float | np.integer | np.floating
    return isinstance(value, kinds) and not isinstance(value, bool)


def contests_of(settings: Settings) -> tuple[Contest, ...]:
    """The contests of these settings, one for each world.

    Raises:
        InputError: an unknown name, or a value out of range.
    """
    if not settings.worlds:
        raise InputError("world is empty; give None, a number, or one or more numbers")
    return tuple(_contests(settings))


def _contests(settings: Settings) -> Iterator[Contest]:
    scene = scene_of(
        player=settings.player,
        opponent_player=settings.opponent_player,
        hand=settings.hand,
        opponent_hand=settings.opponent_hand,
        surface=settings.surface,
        ball=settings.ball,
        depth=settings.depth_m,
        hitter=settings.hitter,
        seed=settings.seed or 0,
        without=settings.without,
    )
    places = places_of(settings.opening)
    usual = scene.contest(settings.own_shots, settings.opponent_policy)
    serving = settings.opening == SERVING
    for number in settings.worlds:
        game = usual
        if number is not None:
            whole = whole_number("world", number)
            game = as_in_study(usual, places[0], whole, scene.without)
        if serving:
            yield Contest(sides_changed(game), OPPONENT, places, number)
        else:
            yield Contest(game, STUDIED, places, number)


def places_of(opening: str | Sequence[float]) -> tuple[Place, ...]:
    """From where the first ball is struck, by turns.

    Raises:
        InputError: no such opening, or a place where nobody strikes.
    """
    if isinstance(opening, str):
        if opening not in (RETURNING, SERVING):
            raise unknown_name("opening", opening, (RETURNING, SERVING))
        return serve_places()
    numbers = tuple(opening) if isinstance(opening, Iterable) else ()
    if len(numbers) not in (2, 3) or not all(map(is_number, numbers)):
        raise InputError(
            f"opening is {opening!r}; give 'returning', 'serving', or a place (x, y) or (x, y, z)"
        )
    x, y, z = (*numbers, CONTACT_HEIGHT_M)[:3]
    return (Place("place", float(x), float(y), float(z)),)
