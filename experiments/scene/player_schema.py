"""What a player file holds, checked key by key."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict, field_validator, model_validator

from experiments.scene.file_errors import plain_words
from experiments.scene.player_rules import RULES
from experiments.scene.units import question_of
from sim.errors import InputError, named, unknown_name
from sim.hitter import Hitter
from sim.legs import Legs
from sim.parameter import ParameterRow, parameter_rows
from sim.plain_text import checked_line
from sim.players import PLAYERS, Player, changed_parts
from sim.repertoire import Repertoire

# A number given as text, or true for 1, is a slip of the pen: say so rather than guess.
Number = Annotated[float, Strict()]
Seconds = Annotated[float, Strict(), Field(gt=0, le=60)]
FORM = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
ROWS: dict[str, dict[str, ParameterRow]] = {
    group: {row.name: row for row in parameter_rows(group, thing)}
    for group, thing in (
        ("legs", Legs()),
        ("hitter", Hitter()),
        ("repertoire", Repertoire()),
        ("waiting", Player("")),
    )
}


class Ranged(BaseModel):
    """A value with the ends of its 90 % range."""

    model_config = FORM
    value: Number
    low: Number
    high: Number

    @model_validator(mode="after")
    def _in_order(self) -> Ranged:
        if not self.low <= self.value <= self.high:
            raise InputError(
                f"low is {self.low:g}, value {self.value:g}, high {self.high:g}; they must stand"
                " in this order"
            )
        return self


class Timed(BaseModel):
    """Times over one distance (of a shuttle: between its two lines)."""

    model_config = FORM
    distance_m: Annotated[float, Strict(), Field(ge=1, le=100)]
    times_s: tuple[Seconds, ...] = Field(min_length=1)


class Measured(BaseModel):
    """What was measured, as it was given."""

    model_config = FORM
    timing: Literal["gates", "hand"] | None = None
    timing_error_s: Seconds | None = None
    start_offset_s: tuple[Number, Number] | None = None
    sprints: tuple[Timed, ...] = ()
    shuttles: tuple[Timed, ...] = ()
    height_m: Annotated[float, Strict(), Field(ge=0.9, le=2.4)] | None = None


class PlayerFile(BaseModel):
    """A measured player. `level` stands for all that is not in `legs`, `hitter`, `repertoire` or
    `waiting`."""

    model_config = FORM
    name: Annotated[str, Strict(), Field(min_length=1, max_length=60)]
    level: Annotated[str, Strict()]
    hand: Literal["right", "left"] = "right"
    backhand: Literal["one-handed", "two-handed"] = "two-handed"
    measured: Measured = Measured()
    legs: dict[str, Ranged] = Field(default_factory=dict)
    hitter: dict[str, Ranged] = Field(default_factory=dict)
    repertoire: dict[str, Ranged] = Field(default_factory=dict)
    waiting: dict[str, Ranged] = Field(default_factory=dict)

    @field_validator("name")
    @classmethod
    def _name(cls, value: str) -> str:
        return checked_name(value)

    @field_validator("level")
    @classmethod
    def _level(cls, value: str) -> str:
        return named("level", value, PLAYERS)

    @field_validator("hand", "backhand", mode="before")
    @classmethod
    def _side(cls, value: Any) -> Any:
        return value.strip().lower() if isinstance(value, str) else value

    @field_validator(*ROWS)
    @classmethod
    def _parameters(cls, value: dict[str, Ranged], info: Any) -> dict[str, Ranged]:
        rows = ROWS[info.field_name]
        for name, ranged in value.items():
            if name not in rows:
                raise unknown_name("parameter", name, rows)
            require_sensible(rows[name], ranged)
        return value

    def values(self, group: str) -> dict[str, float]:
        """Parameter and value of a group."""
        return {name: ranged.value for name, ranged in getattr(self, group).items()}

    def ranges(self) -> tuple[tuple[str, float, float], ...]:
        """(parameter, low, high) of all that has a range here."""
        return tuple(
            (name, r.low, r.high) for group in ROWS for name, r in getattr(self, group).items()
        )


def checked_name(name: str) -> str:
    """A player's name: any one line of text that is no level's name.

    Raises:
        InputError: empty, too long, with a control character, or the name of a level.
    """
    shown = name.strip()
    if not shown or len(shown) > 60:
        raise InputError(f"the name has {len(shown)} characters; give 1 to 60")
    checked_line("the name", shown)
    if shown in PLAYERS or shown == "all places":
        raise InputError(f"{shown!r} is the name of a level; give the player another name")
    return shown


def require_sensible(row: ParameterRow, ranged: Ranged) -> None:
    """Refuse values far outside the range that makes sense: by more than its own width.

    Raises:
        InputError: names the parameter, the value and what is allowed.
    """
    width = row.high - row.low
    least = row.low - width
    if row.low > 0:
        least = max(least, 0.25 * row.low)
    for number in (ranged.low, ranged.value, ranged.high):
        if not least <= number <= row.high + width:
            asked = question_of(str(number), row.unit, least, row.high + width)
            raise InputError(
                f"{row.name} is {number:g} {row.unit}; allowed: {least:g} to"
                f" {row.high + width:g} {row.unit} (sensible: {row.low:g} to {row.high:g}){asked}"
            )


def explain(error: Any) -> str:
    """One of pydantic's errors in plain words, with its key and the value given."""
    where = error["loc"]
    if error["type"] in ("model_type", "model_attributes_type") and where[0] in ROWS:
        key, form = ".".join(map(str, where)), "{ value = 1.0, low = 0.9, high = 1.1 }"
        return f"{key} is {error['input']!r}; give a value with its range, such as {form}"
    return plain_words(error, _keys_beside)


def _keys_beside(where: tuple[Any, ...]) -> Iterable[str]:
    """The keys that are allowed where an unknown one stands."""
    if len(where) == 1:
        return PlayerFile.model_fields
    if where[0] == "measured":
        return (Measured if len(where) == 2 else Timed).model_fields
    return Ranged.model_fields


def made(file: PlayerFile, base: Player) -> Player:
    """The player of a file, on the preset of its level.

    Raises:
        InputError: values that do not go together, such as a comfortable reach above the full one.
    """
    body = {"hand": file.hand, "two_handed_backhand": file.backhand == "two-handed"}
    parts = {group: file.values(group) for group in ("hitter", "repertoire")}
    player = dataclasses.replace(
        changed_parts(base, {"legs": {**body, **file.values("legs")}, **parts}),
        name=file.name,
        level=file.level,
        ranges=file.ranges(),
        waits_behind_m=file.values("waiting").get("waits_behind_m", base.waits_behind_m),
    )
    for text, keeps in RULES:
        if not keeps(player):
            raise InputError(f"the values do not go together; needed: {text}")
    return player
