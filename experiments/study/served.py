"""Whole points that open with a serve, the opponent's or the studied player's, in one frame."""

from __future__ import annotations

import dataclasses

import numpy as np

from sim.array_engine import play
from sim.exchange import Game, Place
from sim.records import STROKE
from sim.world import World
from strategies.shots.serve import serve_places

TURNED = tuple(n for n in STROKE.names or () if n.endswith(("x_m", "y_m", "x_m_s", "y_m_s")))
STARTS = "start_vx_m_s"  # as its record has it, a velocity of 0 has no sign


def whole_points(game: Game, replicates: np.ndarray, serving: bool) -> np.ndarray:
    """STROKE records of the points of these replicates, sorted by replicate and stroke, in the
    studied player's frame.

    The opponent serves, or the studied player (`serving`): to the right court in even replicates,
    to the left one in odd ones.
    """
    played = sides_changed(game) if serving else game
    courts = [replicates[replicates % 2 == odd] for odd in (0, 1)]
    rows = [
        play(played, place, numbers)
        for place, numbers in zip(serve_places(), courts, strict=True)
        if len(numbers)
    ]
    strokes = np.concatenate(rows) if rows else np.empty(0, STROKE)
    strokes = strokes[np.argsort(strokes["replicate"], kind="stable")]
    return turned_strokes(strokes) if serving else strokes


def served_from(replicate: int) -> Place:
    """The server's place in that replicate, in the returner's frame."""
    return serve_places()[replicate % 2]


def sides_changed(game: Game) -> Game:
    """The same game seen from across the net: studied and opponent change their names."""
    return dataclasses.replace(
        game, studied=game.opponent, opponent=game.studied, world=world_across(game.world)
    )


def world_across(world: World) -> World:
    """The world as the opponent sees it: without wind the very same."""
    x, y, z = world.wind_m_s
    return dataclasses.replace(world, wind_m_s=(-x, -y, z)) if x or y else world


def turned_strokes(strokes: np.ndarray) -> np.ndarray:
    """STROKE records seen from across the net, of a game whose sides are changed."""
    out = strokes.copy()
    out["side"] = 1 - strokes["side"]
    for name in TURNED:
        out[name] = -1.0 * strokes[name]
    out[STARTS] += 0.0
    return out
