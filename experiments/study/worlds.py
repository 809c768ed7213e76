"""Worlds that fit the professional record: whole sets of values of factors, read from a file.

A file of worlds is a CSV: one row a world, the column `world` numbered from 0, then a column for
each factor by its name (experiments.study.factor_names), for both sides. The values are those of
professional men on a hard court, whom the record is of; rows stand in random order, so the first N
are as good as any N. A study over worlds is played in each of them beside the default world.

For all others there is no record, and a world is carried over by its relation to the professional
default: their own value times the ratio of the world's value to the default (plus the world's value
where the default is 0), kept inside their stated range. That is extrapolation, and is called so.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import model_validator

from experiments.scene.defaults import OPPONENT_POLICY, SURFACE
from experiments.scene.own_code import policy_of, shot_model_of
from experiments.scene.people import world_of
from experiments.scene.player_file import player_of
from experiments.study import factor_names as of
from experiments.study.design_points import game_at
from experiments.study.factor_names import NOT_HERE, Stated, stated_of
from experiments.study.factors import Factor, Factors
from sim.additions import ADDITIONS
from sim.court import HALF_LENGTH_M
from sim.errors import InputError, unknown_name
from sim.exchange import Game, Place, Side
from sim.parameter import parameter_rows
from sim.people_files import decimal, read_text
from strategies.catalogue import SHOT_MODELS

FILE = "worlds.csv"
NUMBER = "world"
OF_RECORD, OF_RECORD_SHOTS = "professional-man", "attentive"
FITS, EXTRAPOLATED = "fits the record", "extrapolated"
WORLDS = "worlds"
FEWEST = 2
FEWEST_REPLICATES = 20  # a cell and world, where the study does not say how many
MOST_BYTES = 20_000_000
ALLOWED = [n for n in of.NAMED if n not in (*of.AIR, *of.PLACE, of.SURFACE)]
# Where players wait and recover to belongs to a world; a study sets it on purpose, and keeps it.
OF_STUDIES = (*of.OF_POLICIES, of.DEPTH)


def packaged() -> Path:
    """The file of worlds that comes with the program.

    Raises:
        InputError: none came with it.
    """
    path = Path(str(resources.files("experiments.data").joinpath(FILE)))
    if not path.exists():
        raise InputError("no file of worlds came with the program; name one as worlds_file")
    return path


def worlds_path(file: str | None) -> Path:
    """The file of worlds of a study: the one that it names, else the one that is shipped."""
    return packaged() if file is None else Path(file)


@dataclass(frozen=True)
class Worlds:
    """The worlds of a file: names of the factors, and a row of their values for each world."""

    names: tuple[str, ...]
    rows: tuple[tuple[float, ...], ...]


def read_worlds(path: Path) -> Worlds:
    """Read and check a file of worlds.

    Raises:
        InputError: it cannot be read, or a name or value in it cannot be one (which and where).
    """
    where = f"file of worlds {str(path)!r}"
    try:
        text = read_text(path, where, MOST_BYTES)
    except FileNotFoundError:
        raise InputError(f"{where} does not exist; check the path") from None
    except OSError as error:
        raise InputError(f"{where} cannot be read: {error.strerror}") from None
    lines = [line for line in csv.reader(text.splitlines()) if line]
    head = [cell.strip() for cell in lines[0]] if lines else []
    if head[:1] != [NUMBER] or len(head) < 2:
        raise InputError(f"{where} must begin with the column {NUMBER!r}, then factors by name")
    _require_names(head[1:], where)
    if len(lines) - 1 < FEWEST:
        raise InputError(f"{where} holds {len(lines) - 1} worlds; allowed: {FEWEST} or more")
    rows = tuple(_row(k, head, line, where) for k, line in enumerate(lines[1:]))
    return Worlds(tuple(head[1:]), rows)


def _require_names(found: Sequence[str], where: str) -> None:
    for name in found:
        if name not in ALLOWED:
            raise InputError(f"{where}: {unknown_name('factor of a world', name, ALLOWED)}")
        if found.count(name) > 1:
            raise InputError(f"{where}: the column {name!r} stands twice; give each once")


def _sane(name: str) -> tuple[float, float]:
    """The stated range of a factor, its ends twice as far from 0, or half as far, outward."""
    stated = usual().get(name, NOT_HERE)
    if stated.low is None or stated.high is None:
        return -math.inf, math.inf
    return min(2.0 * stated.low, 0.5 * stated.low), max(2.0 * stated.high, 0.5 * stated.high)


def _row(number: int, head: Sequence[str], line: Sequence[str], where: str) -> tuple[float, ...]:
    """The values of one world, seen to be numbers near the professional's stated ranges.

    A calibration may leave a range for a reason; a slip of the pen goes farther.
    """
    if len(line) != len(head) or line[0].strip() != str(number):
        raise InputError(
            f"{where}: row {number + 1} must hold world {number} and {len(head) - 1} values; it"
            f" holds {line[0].strip()[:20]!r} and {len(line) - 1}"
        )
    out = []
    for name, text in zip(head[1:], line[1:], strict=True):
        value, (low, high) = decimal(text, math.isfinite), _sane(name)
        if value is None or not low <= value <= high:
            raise InputError(
                f"{where}: world {number} has {name} {text.strip()[:40]!r}; allowed: a number from"
                f" {low:g} to {high:g}"
            )
        out.append(value)
    return tuple(out)


@cache
def usual() -> Mapping[str, Stated]:
    """Value and range of every factor for those whom the record is of: professional men on a hard
    court, hitting as they do where nothing is said."""
    who = player_of(OF_RECORD)
    side = Side(who, policy_of(OPPONENT_POLICY), shot_model_of(OF_RECORD_SHOTS))
    place = Place("middle", 0.0, HALF_LENGTH_M)
    out = stated_of(Game(side, side, world_of(SURFACE, who), 0), place, "studied")
    for model in SHOT_MODELS.values():
        for row in parameter_rows(of.SHOTS, model()):
            if out.get(name := f"{of.SHOTS}.{row.name}", NOT_HERE) is NOT_HERE:
                out[name] = Stated(row.value, row.low, row.high, row.unit)
    return out


class FactorOfWorlds(Factor):
    """A factor whose listed values are those of the worlds; `usual` is the professional default."""

    usual: float

    def value(self, coordinate: float, stated: Stated) -> float | str:
        """The value in the world of that number, for whom `stated` is: see the module's words."""
        return self.carried(coordinate, stated)[0]

    def carried(self, coordinate: float, stated: Stated) -> tuple[float, bool]:
        """The value, and whether it was stopped at an end of the stated range."""
        world = float(self.levels[int(coordinate)])
        if stated.value == self.usual:
            return world, False
        related = stated.value * (world / self.usual) if self.usual else stated.value + world
        low = -math.inf if stated.low is None else min(stated.low, stated.value)
        high = math.inf if stated.high is None else max(stated.high, stated.value)
        kept = min(max(related, low), high)
        return kept, kept != related


class DesignOfWorlds(Factors):
    """The design whose points are worlds: point k gives every factor its value in world k."""

    @model_validator(mode="after")
    def _sound(self) -> DesignOfWorlds:
        return self

    def rows(self) -> list[tuple[str, Any]]:
        count = len(self.vary[0].levels)
        return [(f"world {k}", np.full(len(self.vary), float(k))) for k in range(count)]


def design_of(file: str | None, count: int, without: tuple[str, ...]) -> DesignOfWorlds:
    """The design of the first `count` worlds of a file; what a study does without is left out.

    Raises:
        InputError: the file is none, holds fewer worlds, or nothing but what is left out.
    """
    path = worlds_path(file)
    try:
        state = path.stat()
    except OSError:
        read_worlds(path)
        raise
    return _design(path, (state.st_mtime_ns, state.st_size), count, without)


@lru_cache(maxsize=8)
def _design(
    path: Path, state: tuple[int, int], count: int, without: tuple[str, ...]
) -> DesignOfWorlds:
    held = read_worlds(path)
    if count > len(held.rows):
        raise InputError(
            f"worlds is {count}; allowed: {FEWEST} to {len(held.rows)}, as many as"
            f" {str(path)!r} holds"
        )
    out = {f"{part}.{n}" for a in without for part, own in ADDITIONS[a].items() for n in own}
    vary = tuple(
        FactorOfWorlds(name=name, levels=values, usual=usual()[name].value)
        for name, values in zip(held.names, zip(*held.rows[:count], strict=True), strict=True)
        if name not in out and name not in OF_STUDIES
    )
    if not vary:
        raise InputError(f"all factors in {str(path)!r} are those that the study does without")
    return DesignOfWorlds(design=WORLDS, vary=vary)


def game_in_world(game: Game, number: int) -> Game:
    """A game of two equal sides in a world that came with the program: all that belongs to it, and
    so where they wait and, by a linear shade, recover to.

    Raises:
        InputError: there is no such world.
    """
    held = _shipped_with(number)
    stated = stated_of(game, Place("anywhere", 0.0, HALF_LENGTH_M), "opponent")
    values = {}
    for name, value in zip(held.names, held.rows[number], strict=True):
        if stated[name] is not NOT_HERE:
            own = usual()[name].value
            factor = FactorOfWorlds(name=name, of="opponent", levels=(value,), usual=own)
            values[name] = factor.value(0, stated[name])
    return of.changed_game(game, values)


def as_in_study(game: Game, place: Place, number: int, without: tuple[str, ...] = ()) -> Game:
    """A game in a world that came with the program as a study over worlds plays it, which sets on
    purpose how deep players wait and where they recover to.

    Raises:
        InputError: there is no such world.
    """
    held = _shipped_with(number)
    return game_at(design_of(None, len(held.rows), without), number, game, place)[0]


def _shipped_with(number: int) -> Worlds:
    """The worlds that came with the program, seen to hold that one."""
    held = _shipped()
    if not 0 <= number < len(held.rows):
        raise InputError(f"world is {number}; allowed: 0 to {len(held.rows) - 1}, or none")
    return held


@cache
def _shipped() -> Worlds:
    return read_worlds(packaged())


def replicates_in_world(first: int, worlds: int, asked: int | None) -> int:
    """Balls or rallies of a cell in each of so many worlds, where the study plays `first`."""
    return min(first, asked or max(-(-first // worlds), FEWEST_REPLICATES))


def basis_of(level: str) -> str:
    """What the worlds are for a level: they fit its record, or are extrapolated from another's."""
    return FITS if level == OF_RECORD else EXTRAPOLATED


def stopped_at(design: DesignOfWorlds, world: int, stated: Mapping[str, Stated]) -> int:
    """How many values of a world were stopped at an end of a stated range."""
    factors: Iterator[Any] = iter(design.vary)
    return sum(
        f.carried(world, stated[f.name])[1] for f in factors if stated[f.name] is not NOT_HERE
    )
