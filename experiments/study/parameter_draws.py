"""Whole parameter sets drawn from the stated ranges, for studies of what the results rest on.

Every parameter that carries a range is drawn, each independently of the others: those of the
players (with the ranges of their level), of the world, its surface and its ball. Parameters of
policies, of shot models and of the extreme drives are not: studies set them on purpose. A world
with tabulated flight makes a table for each set, which takes a moment.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from experiments.scene.player_rules import RULES
from sim.ball import ball_parameters
from sim.chance import checked_seed
from sim.errors import InputError, unknown_name
from sim.parameter import ParameterRow, parameter_rows
from sim.players import Player, player_parameters
from sim.surface import surface_parameters
from sim.world import World

if TYPE_CHECKING:
    import pandas as pd

METHODS = ("sobol", "uniform")
BLOCK = 64  # points at a time; Sobol's sequence is balanced over powers of two
MOST_SETS = 1_000_000
TRIES_A_SET = 50


@dataclass(frozen=True)
class ParameterSet:
    """One draw: the players in the order given, and the world."""

    number: int
    players: tuple[Player, ...]
    world: World

    def rows(self) -> Iterator[ParameterRow]:
        """The parameter table of the set; owners are `player 1 LEVEL` and so on, then `world`."""
        for i, someone in enumerate(self.players, 1):
            for row in player_parameters(someone):
                yield dataclasses.replace(row, owner=f"player {i} {row.owner}")
        yield from world_parameters(self.world)


def world_parameters(world: World) -> Iterator[ParameterRow]:
    """The parameter table of a world with its surface and its ball."""
    yield from parameter_rows("world", world)
    yield from surface_parameters(world.surface)
    yield from ball_parameters(world.ball)


def draw_sets(
    players: Sequence[Player],
    world: World,
    count: int,
    seed: int,
    *,
    method: str = "sobol",
    only: Collection[str] | None = None,
) -> list[ParameterSet]:
    """Draw `count` whole sets around the given players and world.

    `method` is "sobol" (a scrambled Sobol sequence: even cover of all ranges together) or "uniform"
    (independent). `only` names the parameters to draw; the others keep their values. A point that
    breaks RULES is passed over and the next one of the sequence taken, so that set k is the same
    whatever `count`. For two equal sides give one player and use it twice.

    Raises:
        InputError: an unknown method or parameter, a count or seed that cannot be one, or ranges
            that hardly hold a set that keeps the rules.
    """
    if method not in METHODS:
        raise unknown_name("way to draw parameters", method, METHODS)
    if not 1 <= count <= MOST_SETS:
        raise InputError(f"{count} parameter sets asked for; give a number from 1 to {MOST_SETS}")
    usual = ParameterSet(0, tuple(players), world)
    drawn = _to_draw(usual, only)
    sets: list[ParameterSet] = []
    for tries, point in enumerate(_points(len(drawn), checked_seed(seed), method)):
        if len(sets) == count:
            break
        if tries >= TRIES_A_SET * count:
            rules = "; ".join(text for text, _ in RULES)
            raise InputError(f"the ranges hardly hold a set that keeps the rules ({rules})")
        made = _made(usual, drawn, point, len(sets))
        if all(keeps(p) for p in made.players for _, keeps in RULES):
            sets.append(made)
    return sets


def draw_table(sets: Sequence[ParameterSet]) -> pd.DataFrame:
    """One line a parameter and set: set, owner, parameter, value, unit, low, high, status."""
    import pandas as pd  # slow to import

    lines = [
        (s.number, r.owner, r.name, r.value, r.unit, r.low, r.high, r.status)
        for s in sets
        for r in s.rows()
    ]
    names = ["set", "owner", "parameter", "value", "unit", "low", "high", "status"]
    return pd.DataFrame(lines, columns=names)


def _to_draw(usual: ParameterSet, only: Collection[str] | None) -> list[ParameterRow]:
    """The rows to draw, in the order of the table."""
    rows = list(usual.rows())
    names = {row.name for row in rows}
    for name in only or ():
        if name not in names:
            raise unknown_name("parameter", name, names)
    return [row for row in rows if only is None or row.name in only]


def _points(dimensions: int, seed: int, method: str) -> Iterator[np.ndarray]:
    """Points of the unit cube without end."""
    rng = np.random.default_rng(seed)
    if method == "uniform":
        while True:
            yield rng.random(dimensions)
    from scipy.stats import qmc  # slow to import

    sequence = qmc.Sobol(dimensions, scramble=True, rng=rng)
    while True:
        yield from sequence.random(BLOCK)


def _made(
    usual: ParameterSet, drawn: list[ParameterRow], point: np.ndarray, number: int
) -> ParameterSet:
    """The set at a point of the unit cube."""
    values: dict[str, dict[str, float]] = {}
    for row, share in zip(drawn, point, strict=True):
        values.setdefault(row.owner, {})[row.name] = float(row.low + share * (row.high - row.low))
    players = []
    for i, p in enumerate(usual.players, 1):
        own = values.get(f"player {i} {p.name}", {})
        hitter = _changed(p.hitter, own)
        hitter = dataclasses.replace(hitter, repertoire=_changed(hitter.repertoire, own))
        legs = _changed(p.legs, own)
        players.append(dataclasses.replace(_changed(p, own), legs=legs, hitter=hitter))
    w = usual.world
    surface = _changed(w.surface, values.get(w.surface.name, {}))
    ball = _changed(w.ball, values.get("ball", {}))
    world = dataclasses.replace(_changed(w, values.get("world", {})), surface=surface, ball=ball)
    return ParameterSet(number, tuple(players), world)


Thing = TypeVar("Thing")


def _changed(thing: Thing, values: dict[str, float]) -> Thing:
    """The dataclass with those of the values that are its own parameters."""
    some: Any = thing
    own = {f.name for f in dataclasses.fields(some) if "unit" in f.metadata}
    return dataclasses.replace(some, **{k: v for k, v in values.items() if k in own})
