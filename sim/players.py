"""Players: a hitter, legs, a hand and a waiting depth; presets by level."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

from sim.errors import InputError, unknown_name
from sim.hitter import Hitter
from sim.legs import Legs
from sim.parameter import ParameterRow, parameter, parameter_rows, require_finite_parameters
from sim.plain_text import checked_line

KM_H = 1 / 3.6


@dataclass(frozen=True)
class Player:
    """One player. The waiting depth is metres behind the own baseline.

    A player who was measured names the `level` that stands for all that was not, and in `ranges`
    the parameters that were: (name, low, high).

    Raises:
        InputError: a value that is not finite or not allowed, or a name that cannot be shown as it
            is.
    """

    name: str
    legs: Legs = Legs()
    hitter: Hitter = Hitter()
    waits_behind_m: float = parameter(
        1.2, "m", "waiting depth behind the baseline", low=0.0, high=4.0
    )

    level: str = ""
    ranges: tuple[tuple[str, float, float], ...] = ()

    def __post_init__(self) -> None:
        checked_line("the name of a player", self.name)
        require_finite_parameters(self)

    @property
    def base_level(self) -> str:
        """The level whose stated ranges hold for what was not measured."""
        return self.level or self.name

    @property
    def hand(self) -> str:
        return self.legs.hand

    def with_hand(self, hand: str) -> Player:
        """The same player with the racket in the other or the same hand."""
        return dataclasses.replace(self, legs=dataclasses.replace(self.legs, hand=hand))

    def with_equal_wings(self) -> Player:
        """The same player with a backhand equal to the forehand in speed, spin and reach."""
        hitter = dataclasses.replace(
            self.hitter,
            backhand_speed_m_s=self.hitter.forehand_speed_m_s,
            backhand_topspin_rpm=self.hitter.forehand_topspin_rpm,
        )
        legs = dataclasses.replace(self.legs, two_handed_backhand=False, backhand_side_speed=1.0)
        return dataclasses.replace(self, hitter=hitter, legs=legs)


# Values and ranges by level: low, value, high; a single number has no range of its own.
LEVELS = ("club-adult", "elite-junior", "college-man", "professional-man", "professional-woman")
LEG_VALUES: dict[str, tuple[float, ...]] = {
    "reaction_s": (0.26, 0.21, 0.20, 0.18, 0.18),
    "top_speed_m_s": (6.2, 7.0, 7.5, 7.8, 7.0),
    "tau_s": (0.95, 0.85, 0.85, 0.80, 0.80),
    "braking_m_s2": (3.5, 4.5, 5.0, 5.5, 5.0),
    "comfortable_reach_m": (0.80, 0.80, 0.85, 0.90, 0.85),
    "full_reach_m": (1.45, 1.50, 1.60, 1.65, 1.50),
    "best_low_m": (0.90, 0.90, 0.95, 0.95, 0.90),
    "best_high_m": (1.45, 1.40, 1.50, 1.50, 1.40),
    "haste_per_s": (0.20, 0.30, 0.35, 0.45, 0.45),
}
HITTER_VALUES: dict[str, tuple[float, ...]] = {
    "forehand_speed_m_s": tuple(v * KM_H for v in (80, 100, 112, 119, 111)),
    "backhand_speed_m_s": tuple(v * KM_H for v in (72, 92, 103, 108, 106)),
    "forehand_topspin_rpm": (1400, 2200, 2500, 2700, 2300),
    "backhand_topspin_rpm": (1100, 1800, 2000, 2200, 1900),
    "direction_sd_deg": (4.2, 3.0, 2.6, 2.1, 2.2),
    "depth_sd_m": (3.1, 2.4, 2.2, 1.8, 1.9),
    "first_serve_m_s": tuple(v * KM_H for v in (125, 155, 175, 186, 160)),
    "second_serve_m_s": tuple(v * KM_H for v in (100, 125, 140, 152, 132)),
}
WAITS_BEHIND_M = (0.7, 1.0, 1.2, 1.5, 1.0)
PROFESSIONAL_CLAY_WAIT_M = 2.5
KOVALCHIK = "Kovalchik and Reid 2017, JSSM 16, 489"
HASTE_FIT = "fitted to the time between strikes of men on hard courts (Carboch et al. 2019)"
JUNIOR_FIT = "fitted between the published U14 and U16 sprint times"
JUNIOR_FIGURES = "sprint times of boys under 14 and under 16, BJSM 2014"
LEVEL_RANGES: dict[str, tuple[tuple[float, float], ...]] = {
    "reaction_s": ((0.22, 0.32), (0.18, 0.26), (0.17, 0.24), (0.15, 0.21), (0.15, 0.22)),
    "top_speed_m_s": ((5.2, 6.8), (6.6, 7.5), (7.2, 8.0), (7.4, 8.3), (6.6, 7.4)),
    "tau_s": ((0.8, 1.1), (0.7, 0.95), (0.75, 0.95), (0.7, 0.92), (0.7, 0.92)),
}
# Where a level has no range of its own: this share of its value to both sides, inside the general
# range (assumed; the general range covers all levels, and a club player is not drawn from it).
LEVEL_SPREAD = {
    "braking_m_s2": 0.27,
    "comfortable_reach_m": 0.10,
    "full_reach_m": 0.09,
    "best_low_m": 0.08,
    "best_high_m": 0.07,
    "haste_per_s": 0.33,
    "first_serve_m_s": 0.08,
    "second_serve_m_s": 0.08,
    "forehand_speed_m_s": 0.08,
    "backhand_speed_m_s": 0.08,
    "forehand_topspin_rpm": 0.20,
    "backhand_topspin_rpm": 0.20,
    "direction_sd_deg": 0.20,
    "depth_sd_m": 0.20,
    "waits_behind_m": 0.40,
}


def _preset(index: int) -> Player:
    def pick(values: dict[str, tuple[float, ...]]) -> dict[str, float]:
        return {name: float(row[index]) for name, row in values.items()}

    return Player(
        name=LEVELS[index],
        legs=Legs(**pick(LEG_VALUES)),  # type: ignore[arg-type]
        hitter=Hitter(**pick(HITTER_VALUES)),
        waits_behind_m=WAITS_BEHIND_M[index],
    )


PLAYERS = {name: _preset(i) for i, name in enumerate(LEVELS)}


def player(name: str, hand: str = "right") -> Player:
    """The preset of that level.

    Raises:
        InputError: no such level, or a hand that is neither right nor left.
    """
    if name not in PLAYERS:
        raise unknown_name("player", name, PLAYERS)
    if hand not in ("right", "left"):
        raise InputError(f"hand is {hand!r}; it must be 'right' or 'left'")
    return PLAYERS[name].with_hand(hand)


def player_parameters(someone: Player) -> Iterator[ParameterRow]:
    """The parameter table of a player, with the range, source and status that fit its level.

    What was measured has the range of the measurement and the status "measured".
    """
    for part in (someone, someone.legs, someone.hitter):
        for row in parameter_rows(someone.name, part):
            yield _measured_row(someone, _level_row(someone.base_level, row))


def _measured_row(someone: Player, row: ParameterRow) -> ParameterRow:
    for name, low, high in someone.ranges:
        if name == row.name:
            source = "player file; 90 % range"
            return dataclasses.replace(
                row, low=low, high=high, status="measured", source=source, fitted_to=""
            )
    return row


def _level_row(level: str, row: ParameterRow) -> ParameterRow:
    if level in LEVELS:
        low, high = _level_range(level, row)
        row = dataclasses.replace(row, low=low, high=high)
    if level.startswith("professional") and row.name in (
        "forehand_speed_m_s",
        "backhand_speed_m_s",
    ):
        return dataclasses.replace(row, status="published", source=KOVALCHIK)
    if level == "elite-junior" and row.name in ("top_speed_m_s", "tau_s"):
        return dataclasses.replace(
            row, status="fitted", source=JUNIOR_FIT, fitted_to=JUNIOR_FIGURES
        )
    if level == "professional-man" and row.name == "haste_per_s":
        return dataclasses.replace(row, status="fitted", source=HASTE_FIT, fitted_to="R1a")
    return row


def _level_range(level: str, row: ParameterRow) -> tuple[float, float]:
    """The range of a level's parameter: its own, else about the preset's value, else the general.

    About the preset's value and not the row's, so that a player changed by a study keeps the range.
    """
    index = LEVELS.index(level)
    if row.name in LEVEL_RANGES:
        return LEVEL_RANGES[row.name][index]
    share = LEVEL_SPREAD.get(row.name)
    if share is None:
        return row.low, row.high
    values = {**LEG_VALUES, **HITTER_VALUES, "waits_behind_m": WAITS_BEHIND_M}[row.name]
    usual = float(values[index])
    return max(row.low, usual * (1 - share)), min(row.high, usual * (1 + share))
