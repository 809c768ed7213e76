"""Players: a hitter, legs, a hand and a waiting depth; presets by level."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sim.ball import BALLS, USUAL_BALL, Ball
from sim.errors import InputError, named
from sim.hitter import Hitter
from sim.legs import Legs
from sim.level import KM_H as KM_H
from sim.level import Level
from sim.levels import LEVELS
from sim.parameter import ParameterRow, parameter, parameter_rows, require_finite_parameters
from sim.plain_text import checked_line
from sim.repertoire import Repertoire


@dataclass(frozen=True)
class Player:
    """One player. The waiting depth is metres behind the own baseline.

    A player who was measured names the `level` that stands for all that was not, and in `ranges`
    the parameters that were: (name, low, high).

    Raises:
        InputError: a value that is not finite or not allowed, or a name that cannot be shown as it
            is.
    """

    name: str
    legs: Legs = Legs()
    hitter: Hitter = Hitter()
    waits_behind_m: float = parameter(
        1.2, "m", "waiting depth behind the baseline", low=0.0, high=4.0
    )

    level: str = ""
    ranges: tuple[tuple[str, float, float], ...] = ()

    def __post_init__(self) -> None:
        checked_line("the name of a player", self.name)
        require_finite_parameters(self)

    def __repr__(self) -> str:
        level = f", level {self.level}" if self.level else ""
        return (
            f"Player({self.name!r}{level}, {self.hand}-handed, forehand"
            f" {self.hitter.forehand_speed_m_s / KM_H:.0f} km/h, backhand"
            f" {self.hitter.backhand_speed_m_s / KM_H:.0f} km/h, runs up to"
            f" {self.legs.top_speed_m_s:g} m/s)"
        )

    @property
    def base_level(self) -> str:
        """The level whose stated ranges hold for what was not measured."""
        return self.level or self.name

    @property
    def hand(self) -> str:
        return self.legs.hand

    def with_hand(self, hand: str) -> Player:
        """The same player with the racket in the other or the same hand."""
        return dataclasses.replace(self, legs=dataclasses.replace(self.legs, hand=hand))

    def with_equal_wings(self) -> Player:
        """The same player with a backhand equal to the forehand in speed, spin and reach."""
        hitter = dataclasses.replace(
            self.hitter,
            backhand_speed_m_s=self.hitter.forehand_speed_m_s,
            backhand_topspin_rpm=self.hitter.forehand_topspin_rpm,
        )
        legs = dataclasses.replace(self.legs, two_handed_backhand=False, backhand_side_speed=1.0)
        return dataclasses.replace(self, hitter=hitter, legs=legs)


def _player(level: Level) -> Player:
    legs = Legs(**level.values_of(Legs))
    repertoire = Repertoire(**level.values_of(Repertoire))
    hitter = Hitter(**level.values_of(Hitter), repertoire=repertoire)
    return Player(level.name, legs, hitter, **level.values_of(Player))


def changed_parts(someone: Player, values: Mapping[str, Mapping[str, Any]]) -> Player:
    """The player with other values of legs, hitter and repertoire, by the name of the part.

    Raises:
        InputError: a value that is not allowed.
    """
    hitter = someone.hitter
    own = dataclasses.replace(hitter.repertoire, **values.get("repertoire", {}))
    hitter = dataclasses.replace(hitter, repertoire=own, **values.get("hitter", {}))
    legs = dataclasses.replace(someone.legs, **values.get("legs", {}))
    return dataclasses.replace(someone, legs=legs, hitter=hitter)


PLAYERS = {name: _player(level) for name, level in LEVELS.items()}


def checked_hand(hand: str) -> str:
    """The hand that holds the racket.

    Raises:
        InputError: neither right nor left.
    """
    if hand.strip().lower() not in ("right", "left"):
        raise InputError(f"hand is {hand!r}; it must be 'right' or 'left'")
    return hand.strip().lower()


def player(name: str, hand: str = "right") -> Player:
    """The preset of that level.

    Raises:
        InputError: no such level, or a hand that is neither right nor left.
    """
    return PLAYERS[named("player", name, PLAYERS)].with_hand(checked_hand(hand))


def ball_of(someone: Player) -> Ball:
    """The ball that a player plays with, as the level has it; the usual one without a level."""
    level = level_of(someone)
    return BALLS[USUAL_BALL if level is None else level.ball]


def level_of(someone: Player) -> Level | None:
    """The record of the level that stands for what was not measured; None where none is named."""
    return LEVELS.get(someone.base_level)


def player_parameters(someone: Player) -> Iterator[ParameterRow]:
    """The parameter table of a player, with the range, source and status that fit its level.

    What was measured has the range of the measurement and the status "measured".
    """
    level = level_of(someone)
    for part in (someone, someone.legs, someone.hitter, someone.hitter.repertoire):
        for row in parameter_rows(someone.name, part):
            yield _measured_row(someone, row if level is None else level.row(row))


def _measured_row(someone: Player, row: ParameterRow) -> ParameterRow:
    for name, low, high in someone.ranges:
        if name == row.name:
            source = "player file; 90 % range"
            return dataclasses.replace(
                row, low=low, high=high, status="measured", source=source, fitted_to=""
            )
    return row
