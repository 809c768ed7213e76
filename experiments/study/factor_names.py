"""What a study can vary: names of factors, their usual values and stated ranges, how they act."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from experiments.scene.player_rules import RULES
from sim.ball import Ball, ball_parameters
from sim.envelope import DriveLimits
from sim.errors import InputError
from sim.exchange import Game, Place, Side
from sim.hitter import Hitter
from sim.legs import Legs
from sim.level import SPREAD
from sim.parameter import ParameterRow, parameter_rows
from sim.players import Player, changed_parts, player_parameters
from sim.repertoire import Repertoire
from sim.surface import Surface, surface
from sim.world import World
from strategies.catalogue import POLICIES, SHOT_MODELS

PLAYER_PARTS: dict[str, Any] = {"legs": Legs, "hitter": Hitter, "repertoire": Repertoire}
STROKE_SPEED = "hitter.stroke_speed_share"
SURFACE, DEPTH = "surface", "waiting_depth_m"
PLACE = ("place.x_m", "place.y_m", "place.z_m")
AIR = ("air.altitude_m", "air.temperature_c", "air.relative_humidity")
UNITS = {STROKE_SPEED: "1", SURFACE: "", DEPTH: "m", **dict.fromkeys(PLACE, "m")}
UNITS |= dict(zip(AIR, ("m", "deg C", "1"), strict=True))
# Rallies of studies do not open with a serve, but in the settings returning and serving.
NOT_IN_RALLIES = (
    "hitter.first_serve_m_s",
    "hitter.second_serve_m_s",
    "hitter.first_serve_in",
    "hitter.second_serve_in",
    "hitter.first_serve_topspin_rpm",
    "hitter.second_serve_topspin_rpm",
    "hitter.serve_width_spread_m",
    "hitter.serve_depth_spread_m",
    "hitter.serve_body_share",
    "hitter.serve_height_m",
    "legs.return_haste_share",
    "legs.return_step_m",
    "legs.second_return_step_m",
)


def _names(prefix: str, kind: Any) -> list[str]:
    return [f"{prefix}.{f.name}" for f in dataclasses.fields(kind) if "unit" in f.metadata]


WORLD_PARTS: dict[str, Any] = {"drives": DriveLimits, "surface": Surface, "ball": Ball}
WORLD_PARTS |= {"world": World}
OF_PLAYERS = [n for part, kind in PLAYER_PARTS.items() for n in _names(part, kind)]
OF_WORLD = [n for part, kind in WORLD_PARTS.items() for n in _names(part, kind)]
# Of the shot model that a side hits by, and of the policy that the opponent recovers by.
SHOTS, RECOVERY = "shots", "recovery"
OF_SHOTS = list(dict.fromkeys(n for k in SHOT_MODELS.values() for n in _names(SHOTS, k())))
OF_POLICIES = list(dict.fromkeys(n for k in POLICIES.values() for n in _names(RECOVERY, k())))
OF_DECISIONS = (*OF_SHOTS, *OF_POLICIES)
OF_SIDES = (*OF_PLAYERS, STROKE_SPEED, DEPTH, *_names("drives", DriveLimits), *OF_DECISIONS)
NAMED = (*OF_PLAYERS, STROKE_SPEED, DEPTH, *OF_DECISIONS, *OF_WORLD, SURFACE, *AIR, *PLACE)


@dataclass(frozen=True)
class Stated:
    """The usual value of a factor with the range stated for it, None where there is none."""

    value: float
    low: float | None
    high: float | None
    unit: str


NOT_HERE = Stated(math.nan, None, None, "")  # of a shot model or policy that the side has not


def every_parameter(serves: bool = False) -> list[str]:
    """All factors of players and world with a stated range that rallies depend on, those of serves
    and returns too if points open with one (`serves`).

    Those of shot models and policies depend on which ones a study plays: it names them.
    """
    return [n for n in (*OF_PLAYERS, *OF_WORLD) if serves or n not in NOT_IN_RALLIES]


def stated_of(game: Game, place: Place, of: str) -> dict[str, Stated]:
    """Usual value and range of every factor, for the side `of` ("both": studied).

    A parameter of the players has the range of their level.
    """
    side, world = game.opponent if of == "opponent" else game.studied, game.world
    out = dict.fromkeys(OF_DECISIONS, NOT_HERE)
    for name, row in parameters_by_name(game, side).items():
        out[name] = Stated(row.value, row.low, row.high, row.unit)
    spread = SPREAD["forehand_speed_m_s"]
    out[STROKE_SPEED] = Stated(1.0, 1.0 - spread, 1.0 + spread, "1")
    for name in AIR:
        out[name] = Stated(getattr(world.air, name.removeprefix("air.")), None, None, UNITS[name])
    for name in PLACE:
        out[name] = Stated(getattr(place, name.removeprefix("place.")), None, None, "m")
    out[DEPTH] = Stated(side.waits_behind_m, None, None, "m")
    out[SURFACE] = Stated(math.nan, None, None, "")
    return out


def parameters_by_name(game: Game, side: Side) -> dict[str, ParameterRow]:
    """The rows of the parameter table of a side and the world, by the names that factors have."""
    of_player = {row.name: row for row in player_parameters(side.player)}
    world, out = game.world, {name: of_player[name.partition(".")[2]] for name in OF_PLAYERS}
    parts = {"drives": side.limits, SHOTS: side.shots, RECOVERY: side.policy}
    parts |= {"surface": world.surface, "world": world}
    around = {part: parameter_rows(part, thing) for part, thing in parts.items()}
    for part, rows in {**around, "ball": ball_parameters(world.ball)}.items():
        out |= {f"{part}.{row.name}": row for row in rows}
    return out


def changed_side(side: Side, values: Mapping[str, Any]) -> Side:
    """The side with these values of its factors; the others are left to `changed_world`."""
    own = _parts(values)
    player = changed_parts(side.player, own)
    share, speeds = values.get(STROKE_SPEED, 1.0), ("forehand_speed_m_s", "backhand_speed_m_s")
    faster = {name: share * getattr(player.hitter, name) for name in speeds}
    return dataclasses.replace(
        side,
        player=changed_parts(player, {"hitter": faster}),
        shots=_changed(side.shots, own.get(SHOTS)),
        policy=_changed(side.policy, own.get(RECOVERY)),
        limits=dataclasses.replace(side.limits, **own.get("drives", {})),
        depth_m=values.get(DEPTH, side.depth_m),
    )


def _changed(decision: Any, values: dict[str, Any] | None) -> Any:
    return dataclasses.replace(decision, **values) if values else decision


def changed_world(world: World, values: Mapping[str, Any]) -> World:
    """The world with these values of its factors."""
    own = _parts(values)
    ground = surface(values[SURFACE]) if SURFACE in values else world.surface
    return dataclasses.replace(
        world,
        surface=dataclasses.replace(ground, **own.get("surface", {})),
        ball=dataclasses.replace(world.ball, **own.get("ball", {})),
        air=dataclasses.replace(world.air, **own.get("air", {})),
        **own.get("world", {}),
    )


def changed_game(game: Game, values: Mapping[str, Any]) -> Game:
    """A game of two equal sides with these values on both, and in the world.

    Raises:
        InputError: a value that cannot be, or values that contradict each other.
    """
    side = changed_side(game.opponent, values)
    require_playable(side.player)
    world = changed_world(game.world, values)
    return dataclasses.replace(game, studied=side, opponent=side, world=world)


def changed_place(place: Place, values: Mapping[str, Any]) -> Place:
    """The opponent's contact place with these coordinates."""
    return dataclasses.replace(place, **_parts(values).get("place", {}))


def _parts(values: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Values by the part that they belong to; those that are no field of a part are left out."""
    out: dict[str, dict[str, Any]] = {}
    for name, value in values.items():
        part, dot, field = name.partition(".")
        if dot and name != STROKE_SPEED:
            out.setdefault(part, {})[field] = value
    return out


def require_playable(player: Player) -> None:
    """Refuse a player whose values contradict each other (scene.player_rules).

    Raises:
        InputError: names the rule.
    """
    for words, keeps in RULES:
        if not keeps(player):
            raise InputError(f"a point of the design has no {words}; narrow the ranges")
