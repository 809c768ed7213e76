"""What can be chosen, by kind, and the parameters of it all: policies, shots, players, surfaces."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from sim.ball import BALLS, Ball, ball_parameters
from sim.envelope import DriveLimits
from sim.errors import named
from sim.parameter import ParameterRow, parameter_rows
from sim.players import PLAYERS, player_parameters
from sim.surface import SURFACES, surface_parameters
from sim.world import World
from strategies.catalogue import POLICIES, SHOT_MODELS

KINDS = {
    "policies": "Recovery policies",
    "shots": "Shot models",
    "players": "Players",
    "surfaces": "Surfaces",
    "balls": "Balls",
    "studies": "Bundled studies",
    "strokes": "Kinds of stroke",
    "changes": "Editions of the model, and what each changed in its numbers",
    "additions": "Additions to the game of drives, each of which can be left out (--without)",
}
ALSO = {"hitters": "shots"}  # what the options call them
Rows = Iterable[ParameterRow]


def kinds(what: str | None) -> list[str]:
    """The kinds asked for: a key of KINDS, or all.

    Raises:
        InputError: no such kind.
    """
    if what is None:
        return list(KINDS)
    meant = named("kind of thing to list", what, (*KINDS, *ALSO))
    return [ALSO.get(meant, meant)]


def parameters(what: str | None) -> Iterator[ParameterRow]:
    """Parameters of the things of a kind, or of everything, the world and the angle included.

    Raises:
        InputError: no such kind.
    """
    for kind in kinds(what):
        things, rows_of = PARAMETERS.get(kind, ({}, _of_decision))
        for name, thing in things.items():
            yield from rows_of(name, thing)
    if what is None:
        yield from parameter_rows("world", World())
        yield from parameter_rows("extreme drives", DriveLimits())


def _of_ball(ball: Ball) -> Rows:
    return (dataclasses.replace(r, owner=f"{ball.name} ball") for r in ball_parameters(ball))


def _of_decision(name: str, kind: Any) -> Rows:
    return parameter_rows(name, kind())


PARAMETERS: dict[str, tuple[dict[str, Any], Callable[[str, Any], Rows]]] = {
    "policies": (POLICIES, _of_decision),
    "shots": (SHOT_MODELS, _of_decision),
    "players": (PLAYERS, lambda _, player: player_parameters(player)),
    "surfaces": (SURFACES, lambda _, surface: surface_parameters(surface)),
    "balls": (BALLS, lambda _, ball: _of_ball(ball)),
}
