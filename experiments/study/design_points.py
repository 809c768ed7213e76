"""The points of a study's factors: values for each level, and the game and place of a point."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any

from experiments.study.factor_names import (
    NOT_HERE,
    Stated,
    changed_place,
    changed_side,
    changed_world,
    require_playable,
    stated_of,
)
from experiments.study.factors import Factor, Factors
from sim.exchange import Game, Place

SIDES = ("studied", "opponent")
Usual = Mapping[str, Mapping[str, Stated]]


def usual_of(game: Game, place: Place) -> Usual:
    """What a game's factors usually are, by side."""
    return {side: stated_of(game, place, side) for side in SIDES}


def side_of(factor: Factor, usual: Usual) -> str:
    """The side that a factor is shown for: the studied one, where it is its factor, too."""
    if factor.of == "opponent" or usual["studied"][factor.name] is NOT_HERE:
        return "opponent"
    return "studied"


def values_at(
    factors: Factors, point: int, stated: Mapping[str, Stated], side: str
) -> dict[str, Any]:
    """The values that a point gives to the factors of one side, and to those of no side.

    `side` is "studied" or "opponent", `stated` its usual values and ranges.
    """
    return {
        factor.name: factor.value(coordinate, stated[factor.name])
        for factor, coordinate in zip(factors.all, factors.coordinates[point], strict=True)
        if factor.of in ("both", side)
        and coordinate == coordinate
        and stated[factor.name] is not NOT_HERE
    }


def game_at(
    factors: Factors, point: int, game: Game, place: Place, usual: Usual | None = None
) -> tuple[Game, Place]:
    """The game and the place of a point; equal players stay one object, whose tables are shared.

    `usual` is `usual_of(game, place)`, where many points of them are asked for.

    Raises:
        InputError: a value that cannot be, or values that contradict each other.
    """
    usual = usual or usual_of(game, place)
    own, other = (values_at(factors, point, usual[side], side) for side in SIDES)
    studied, opponent = changed_side(game.studied, own), changed_side(game.opponent, other)
    if opponent.player == studied.player:
        opponent = dataclasses.replace(opponent, player=studied.player)
    for side in (studied, opponent):
        require_playable(side.player)
    world = changed_world(game.world, own)
    changed = dataclasses.replace(game, studied=studied, opponent=opponent, world=world)
    return changed, changed_place(place, own)


def point_rows(factors: Factors, level: str, game: Game, place: Place) -> Iterator[dict[str, Any]]:
    """The points as a table for one level: level, point, role, then a column for each factor."""
    usual = usual_of(game, place)
    for point, role in enumerate(factors.roles):
        row: dict[str, Any] = {"level": level, "point": point, "role": role}
        values = {side: values_at(factors, point, usual[side], side) for side in SIDES}
        for factor in factors.all:
            row[factor.label] = values[side_of(factor, usual)].get(factor.name)
        yield row
