"""What of a player's legs is varied, from which value to which, and legs with that value."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from sim.errors import named
from sim.legs import Legs
from sim.parameter import ParameterRow
from sim.players import Player, player_parameters

SPEED_STEP_M_S, MOST_SPEED_STEPS = 0.25, 4
SLOWEST_M_S = 2.0
SLOW, USUAL, FAST = -1.0, 0.0, 1.0


@dataclass(frozen=True)
class Varied:
    """One thing about the legs: its name on the command line, in words and its unit.

    `parts` are parameters of Legs, each with the direction (+1 or -1) in which more of it is
    better; with several, the value is a place in their ranges: -1 the slow end, 0 the player's
    own values, 1 the fast end.
    """

    name: str
    words: str
    unit: str
    parts: tuple[tuple[str, int], ...]

    @property
    def is_bundle(self) -> bool:
        return len(self.parts) > 1


TOP_SPEED = Varied("top-speed", "top speed", "m/s", (("top_speed_m_s", 1),))
ACCELERATION = Varied("acceleration", "time constant of the sprint", "s", (("tau_s", -1),))
REACTION = Varied("reaction", "reaction time", "s", (("reaction_s", -1),))
REACH = Varied("reach", "full reach", "m", (("full_reach_m", 1),))
TOGETHER = Varied(
    "together",
    "place in the range from slow (-1) to fast (1)",
    "1",
    TOP_SPEED.parts + ACCELERATION.parts + REACTION.parts + REACH.parts,
)
VARIED = {v.name: v for v in (TOP_SPEED, ACCELERATION, REACTION, REACH, TOGETHER)}


def varied(name: str) -> Varied:
    """The thing of that name.

    Raises:
        InputError: no such thing; says which there are.
    """
    return VARIED[named("part of the legs to vary", name, VARIED)]


def own_value(what: Varied, player: Player) -> float:
    """The player's own value."""
    return USUAL if what.is_bundle else float(getattr(player.legs, what.parts[0][0]))


def stated_range(what: Varied, player: Player) -> tuple[float, float]:
    """The range stated for the player's level, (low, high), widened to hold the player's own value.

    For a player who was measured it is the level's that the player file names.
    """
    if what.is_bundle:
        return SLOW, FAST
    return _range(what.parts[0][0], player)


def _range(name: str, player: Player) -> tuple[float, float]:
    unmeasured = dataclasses.replace(player, ranges=())
    row: ParameterRow = next(r for r in player_parameters(unmeasured) if r.name == name)
    return min(row.low, row.value), max(row.high, row.value)


def values_of(what: Varied, player: Player) -> np.ndarray:
    """The values to try, ascending, the player's own among them.

    Top speeds go a metre a second to both sides, in quarters; of the others five: both ends of the
    stated range, the player's own, and the halves between them.
    """
    own = own_value(what, player)
    if what is TOP_SPEED:
        steps = np.arange(-MOST_SPEED_STEPS, MOST_SPEED_STEPS + 1)
        speeds = own + SPEED_STEP_M_S * steps
        return np.asarray(speeds[(speeds >= SLOWEST_M_S) | (steps == 0)])
    low, high = stated_range(what, player)
    return np.unique([low, 0.5 * (low + own), own, 0.5 * (own + high), high])


def legs_with(what: Varied, player: Player, value: float) -> Legs:
    """The player's legs with that value; the comfortable reach goes along with the full one."""
    if what.is_bundle:
        changed = {name: _part(name, better, player, value) for name, better in what.parts}
    else:
        changed = {what.parts[0][0]: value}
    longer = changed.get("full_reach_m", player.legs.full_reach_m) / player.legs.full_reach_m
    changed["comfortable_reach_m"] = player.legs.comfortable_reach_m * longer
    return dataclasses.replace(player.legs, **changed)  # type: ignore[arg-type]


def _part(name: str, better: int, player: Player, place: float) -> float:
    """A parameter at a place of its range, -1 the slow end to 1 the fast one."""
    own, (low, high) = float(getattr(player.legs, name)), _range(name, player)
    end = high if better * place > 0 else low
    return own + abs(place) * (end - own)
