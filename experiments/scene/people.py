"""The world and the players that words and numbers describe."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from typing import Any

from experiments.scene.player_file import opponent_of, player_of
from experiments.scene.told_units import ball_speed
from sim.additions import ADDITIONS
from sim.air import Air
from sim.ball import USUAL_BALL, Ball
from sim.ball import ball as ball_named
from sim.envelope import DriveLimits
from sim.errors import InputError, named
from sim.players import KM_H, Player, ball_of, level_of
from sim.surface import surface as surface_named
from sim.world import INTEGRATED, World


def world_of(
    surface: str,
    me: Player | None = None,
    ball: str | None = None,
    drag_coefficient: float | None = None,
    air_density: float | None = None,
    ball_mass: float | None = None,
    ball_diameter: float | None = None,
    altitude: float | None = None,
    temperature: float | None = None,
    wind: tuple[float, float, float] | None = None,
    flight: str = INTEGRATED,
) -> World:
    """The world with what was given in place of its defaults.

    Where no ball is named, it is the one that `me`, the studied player, plays with.

    Raises:
        InputError: an unknown surface or ball, or both a density and what it follows from.
    """
    if air_density is not None and (altitude is not None or temperature is not None):
        raise InputError("--air-density already says it; leave out --altitude and --temperature")
    usual = USUAL_BALL if me is None else ball_of(me).name
    kind = ball_named(usual if ball is None else ball)
    kind = dataclasses.replace(kind, **given(mass_kg=ball_mass, diameter_m=ball_diameter))
    air = Air(**given(altitude_m=altitude, temperature_c=temperature))
    return World(
        surface=surface_named(surface),
        ball=kind,
        air=air,
        flight=flight,
        **given(drag_coefficient=drag_coefficient, air_density_kg_m3=air_density, wind_m_s=wind),
    )


def players_of(
    player: str,
    opponent_player: str | None = None,
    hand: str | None = None,
    opponent_hand: str | None = None,
) -> tuple[Player, Player]:
    """Both players by the names of their levels, or by player files.

    An opponent who is not named is one like the player.
    """
    other = opponent_of(player, opponent_hand)
    if opponent_player is not None:
        other = player_of(opponent_player, opponent_hand)
    return player_of(player, hand), other


def waiting_depth_m(player: Player, surface: str) -> float:
    """Where that player waits on that surface, metres behind the baseline."""
    measured = any(name == "waits_behind_m" for name, _, _ in player.ranges)
    level = level_of(player)
    there = level and level.waits_on.get(surface_named(surface).name)
    return player.waits_behind_m if measured or not there else there.value


def limits_of(least_in: float | None = None, nearest_landing: float | None = None) -> DriveLimits:
    """The limits of the drives between which the angle is drawn, with what was given.

    Raises:
        InputError: a limit that is not allowed, or both.
    """
    if least_in is not None and nearest_landing:
        raise InputError(
            "--least-in counts the opponent's error, --nearest-landing does not; give one of them"
        )
    return DriveLimits(**given(least_in=least_in, nearest_landing_m=nearest_landing))


ALL = "all"


def left_out(names: str | Iterable[str] | None) -> tuple[str, ...]:
    """The additions (sim.additions) to leave out: their names, or one text of them with commas.

    The word `all` stands for all of them.

    Raises:
        InputError: a name that is none of them, or one that stands twice.
    """
    texts = names.split(",") if isinstance(names, str) else list(names or ())
    known = tuple(named("addition to leave out", text, (*ADDITIONS, ALL)) for text in texts)
    for name in known:
        if known.count(name) > 1:
            raise InputError(f"{name!r} stands twice among what is left out; give each once")
    return tuple(ADDITIONS) if ALL in known else known


def without_words(additions: Sequence[str]) -> str:
    """What is left out of the game, in words; else nothing."""
    if len(additions) == len(ADDITIONS):
        return "both with drives alone"
    return f"both without {', '.join(additions)}" if additions else ""


def opponent_words(opponent: Player, hitter: str, ball: Ball, without: Sequence[str] = ()) -> str:
    """Against whom an answer is: who, with which hand, what he hits, how fast, with which
    ball, where it is not the usual one, and what is left out of the game, if anything."""
    who = f"{opponent.name}, {opponent.hand}-handed, {hitter}; {speed_words(opponent)}"
    return "; ".join(filter(None, (who, ball_words(ball), without_words(without))))


def ball_words(ball: Ball) -> str:
    """With which ball is played, where it is not the usual one; else nothing."""
    return "" if ball.name == USUAL_BALL else f"with the {ball.name} ball"


def speed_words(someone: Player) -> str:
    """The usual speeds of a player off the racket, in words."""
    return ", ".join(f"{wing} {ball_speed(v * KM_H)}" for wing, v in speeds_km_h(someone).items())


def speeds_km_h(someone: Player) -> dict[str, float]:
    """The usual speeds of a player off the racket by wing, in km/h."""
    hitter = someone.hitter
    speeds = {"forehand": hitter.forehand_speed_m_s, "backhand": hitter.backhand_speed_m_s}
    return {wing: round(v / KM_H, 1) for wing, v in speeds.items()}


def opponent_json(opponent: Player, ball: Ball, without: Sequence[str] = ()) -> dict[str, Any]:
    """The same of an opponent as numbers."""
    speeds = {f"opponent_{wing}_km_h": v for wing, v in speeds_km_h(opponent).items()}
    out = {"opponent_player": opponent.name, "opponent_hand": opponent.hand, **speeds}
    out |= {} if ball.name == USUAL_BALL else {"ball": ball.name}
    return out | ({"without": list(without)} if without else {})


def given(**values: Any) -> dict[str, Any]:
    """The values that were given."""
    return {key: value for key, value in values.items() if value is not None}
