"""What was added to the plain game of drives, each under a name by which it can be left out.

The plain game: every ball is driven after its bounce, whatever the height and the time; a player
moves before seeing the ball only when out of place; an unhurried stroke has the usual speed; serves
are alike at all levels. An addition is left out by values of the players that undo it, so nothing
in the game itself knows of these names.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from typing import Any

from sim.errors import unknown_name
from sim.exchange import Game
from sim.players import Player, changed_parts

# By part of a player: the values that undo the addition.
Undone = Mapping[str, Mapping[str, Any]]
ADDITIONS: dict[str, Undone] = {
    "slice": {"repertoire": {"slice_share": 0.0, "late_slice_weight": 0.0}},
    "high-ball": {"repertoire": {"high_weight": 0.0}},
    "block": {"repertoire": {"block_weight": 0.0}},
    "low-ball": {"repertoire": {"scoop_height_m": 0.0}},
    "drop-shot": {"repertoire": {"drop_share": 0.0}},
    "approach": {"repertoire": {"approach_share": 0.0}, "legs": {"comes_in_within_m": 0.0}},
    "volley": {"legs": {"volley_zone_m": 0.0}},
    "overhead": {"repertoire": {"overhead_from_m": 9.0}},
    "passing-shot": {"repertoire": {"pass_share": 0.0}},
    "lob": {"repertoire": {"lob_share": 0.0}},
    "serve": {
        "hitter": {
            "first_serve_in": 0.64,
            "second_serve_in": 1.0,
            "first_serve_topspin_rpm": 1500.0,
            "second_serve_topspin_rpm": 3200.0,
            "serve_width_spread_m": 0.4,
            "serve_depth_spread_m": 0.6,
            "serve_body_share": 0.15,
            "serve_height_m": 2.8,
        }
    },
    "early-return": {
        "legs": {"return_haste_share": 1.0, "return_step_m": 0.0, "second_return_step_m": 0.0}
    },
    "early-start": {"legs": {"early_share": 0.0, "start_speed_m_s": 0.0}},
    "running-on": {"legs": {"run_on_share": 0.0}},
    "played-speed": {"hitter": {"unhurried_share": 1.0}},
    "speed-errors": {"hitter": {"speed_error_gain": 0.0}},
}


def player_without(someone: Player, additions: Iterable[str]) -> Player:
    """The player who does not do what these additions say.

    Raises:
        InputError: a name that is none of ADDITIONS.
    """
    for name in additions:
        if name not in ADDITIONS:
            raise unknown_name("addition", name, list(ADDITIONS))
        someone = changed_parts(someone, ADDITIONS[name])
    return someone


def without(game: Game, additions: Iterable[str]) -> Game:
    """The game in which neither side does what these additions say."""
    names = tuple(additions)
    sides = (game.studied, game.opponent)
    studied, opponent = (
        dataclasses.replace(side, player=player_without(side.player, names)) for side in sides
    )
    return dataclasses.replace(game, studied=studied, opponent=opponent)
