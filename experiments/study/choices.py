"""Modelling choices: what the main finding would be if the model were made otherwise.

Each choice changes one thing for both sides. A study that asks for them plays the same rallies
under each, for all its policies, and lists what going back to the middle then costs.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import partial
from typing import Any

from experiments.statistics.comparison import compared, level_together
from experiments.statistics.estimates import Estimate, paired, share
from experiments.statistics.tally import Tally
from experiments.study.policy_family import family_of
from sim.additions import ADDITIONS, without
from sim.exchange import Game
from sim.meeting import EARLIEST, MOST_TIME, NEAREST
from sim.players import Player, changed_parts

ChangeGame = Callable[[Game], Game]


def with_players(change: Callable[[Player], Player]) -> ChangeGame:
    """The game with both players changed."""

    def changed(game: Game) -> Game:
        studied, opponent = (
            dataclasses.replace(side, player=change(side.player))
            for side in (game.studied, game.opponent)
        )
        return dataclasses.replace(game, studied=studied, opponent=opponent)

    return changed


def with_part(part: str, **values: float) -> ChangeGame:
    """The game with these values for a part of both players: legs or hitter."""

    def changed(player: Player) -> Player:
        return changed_parts(player, {part: values})

    return with_players(changed)


legs, hitter = partial(with_part, "legs"), partial(with_part, "hitter")


def rule(number: int) -> ChangeGame:
    """The game with another rule for the meeting point."""
    return lambda game: dataclasses.replace(game, rule=number)


AS_IT_IS = "as it is"
CHOICES: dict[str, ChangeGame] = {
    AS_IT_IS: lambda game: game,
    "every ball reached comes back": legs(
        control_time_s=0.0, control_reach_loss=0.0, control_height_loss=0.0
    ),
    "half the balls reached 0.1 s early come back": legs(control_time_s=0.144),
    "replies do not weaken": hitter(
        stretched_speed_loss=0.0, stretched_depth_loss_m=0.0, stretched_error_gain=0.0
    ),
    "recovery always at full effort": legs(recovery_effort=1.0, hurried_effort=1.0),
    "recovery never hurries": legs(hurried_effort=0.5),
    "no stop for the split step": legs(ready_speed_m_s=9.0),
    "a full stop for the split step": legs(ready_speed_m_s=0.0, run_on_share=0.0),
    "being wrong-footed costs no reaction": legs(split_gain_s=0.0),
    "nobody guesses": legs(guess_share=0.0, early_share=0.0),
    "balls are met as early as they can be": rule(EARLIEST),
    "balls are met as near as they can be": rule(NEAREST),
    "balls are met with most time in hand": rule(MOST_TIME),
    "meeting a rising ball costs nothing": legs(rise_cost=0.0),
    "a fast ball is as easy as a slow one": legs(pace_half_m_s=1e9),
    "players wait for an easy ball": legs(haste_per_s=0.1),
    "hitters keep half the margin": hitter(aim_margin_sds=0.65),
    **{f"without {name}": partial(without, additions=(name,)) for name in ADDITIONS},
    "only drives, without all of these": partial(without, additions=tuple(ADDITIONS)),
}


def choice_row(choice: str, tallies: dict[str, Tally], reference: str) -> dict[str, Any]:
    """One row of choices.csv, from the tallies of the policies by display name.

    Missed per 100 and points more than the reference per 100, each with its 95 % interval, for the
    reference, the bisector and the best of the shades (by points); of the differences the verdict
    that holds for all policies together, and so for the one picked as the best.
    """
    row: dict[str, Any] = {"choice": choice, "reference": reference}
    missed = {n: share(t, "missed", "balls").scaled(100) for n, t in tallies.items()}
    row |= _columns("reference_missed_per_100", missed[reference])
    points = {n: paired(t, "points", "one").scaled(100) for n, t in tallies.items()}
    best = max(family_of(tallies), key=lambda n: points[n].value, default=None)
    for column, name in (("bisector", "bisector"), ("best_shade", best)):
        if name is None or name not in tallies:
            continue
        if column == "best_shade":
            row["best_shade"] = name
        row |= _columns(f"{column}_missed_per_100", missed[name])
        row |= _columns(f"{column}_points_more_per_100", points[name])
        said = compared(points[name], level_together(len(tallies) - 1), in_100=True)
        row[f"{column}_points_more_per_100_verdict"] = said["verdict"]
    return row


def _columns(name: str, e: Estimate) -> dict[str, float]:
    parts = (("", e.value), ("_low", e.low), ("_high", e.high))
    return {f"{name}{end}": float(f"{value:.6g}") for end, value in parts}
