"""From what was measured to a player file."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from experiments.answers.player.timed_runs import (
    TIMINGS,
    Cloud,
    Timing,
    averaged,
    evidence,
    fit_shuttles,
    fit_sprints,
    mean_of,
    prior_of,
    range_of,
)
from experiments.scene.people import given
from experiments.scene.player_file import checked
from experiments.scene.player_schema import PlayerFile
from sim.errors import InputError, unknown_name
from sim.levels import LEVELS
from sim.players import PLAYERS, player

HAND_TO_STRINGS_M = 0.55
SPREAD = 0.05  # players of one height differ by this share to both sides (assumed)
REACHES = ("comfortable_reach_m", "full_reach_m")
CONTACT_HEIGHTS = ("best_low_m", "best_high_m")
Times = Mapping[float, Sequence[float]]
SPEEDS = ("forehand_speed_m_s", "backhand_speed_m_s")
STROKE_SPREAD = 0.05  # a usual speed as told, to both sides (assumed)
RATIO_SPREAD = 0.1  # the one that follows from it by the level's ratio (assumed)
WAITING_SPREAD_M = 0.3  # a waiting depth as told, to both sides (assumed)
DIGITS = 4


def of_height(level: str, height_m: float) -> dict[str, tuple[float, float, float]]:
    """Value, low and high of the reaches and of the best contact heights for that height.

    The body's part of the level's values is scaled by height over the level's own: lengths of the
    body go with height (Drillis and Contini 1966 as in Winter's Biomechanics, from memory: upper
    arm 0.186, forearm 0.146, hand 0.108, half the shoulders 0.129 of the height; hip at 0.530,
    shoulder at 0.818). The racket's part of a reach stays: from the hand to the middle of the
    strings it is 0.55 m (of a racket of 0.685 m; the rules allow 0.737 m, from memory).
    """
    ratio, legs = height_m / LEVELS[level].height_m.value, PLAYERS[level].legs
    values = {n: _scaled(getattr(legs, n), HAND_TO_STRINGS_M, ratio) for n in REACHES}
    values |= {n: _scaled(getattr(legs, n), 0.0, ratio) for n in CONTACT_HEIGHTS}
    return {n: (v, v * (1 - SPREAD), v * (1 + SPREAD)) for n, v in values.items()}


def _scaled(length_m: float, fixed_m: float, ratio: float) -> float:
    return fixed_m + (length_m - fixed_m) * ratio


@dataclass(frozen=True)
class Measures:
    """What a player or coach measured; times in seconds by distance in metres.

    Raises:
        InputError: nothing measured, an unknown level or timing, or a value out of range.
    """

    name: str
    level: str
    hand: str = "right"
    backhand: str = "two-handed"
    timing: str = "gates"
    timing_error_s: float | None = None
    start_offset_s: tuple[float, float] | None = None
    sprints: Times = field(default_factory=dict)
    shuttles: Times = field(default_factory=dict)
    height_m: float | None = None
    forehand_speed_m_s: float | None = None
    backhand_speed_m_s: float | None = None
    waits_behind_m: float | None = None

    def __post_init__(self) -> None:
        player(self.level, self.hand)
        if self.timing not in TIMINGS:
            raise unknown_name("way of timing", self.timing, TIMINGS)
        told = (self.height_m, self.forehand_speed_m_s, self.backhand_speed_m_s)
        if not self.timed and all(v is None for v in (*told, self.waits_behind_m)):
            raise InputError(
                "nothing was measured; give at least one of --sprint, --shuttle, --height,"
                " --forehand-speed, --backhand-speed, --waits"
            )

    @property
    def timed(self) -> bool:
        return bool(self.sprints or self.shuttles)

    @property
    def clock(self) -> Timing:
        """How times were taken, with what was said of it."""
        known = given(error_s=self.timing_error_s, offset_s=self.start_offset_s)
        return dataclasses.replace(TIMINGS[self.timing], **known)


@dataclass(frozen=True)
class Estimate:
    """The player file, and what is believed of the legs as weighted points.

    `braking_left` is the width of the braking's range over that before the shuttle; None without
    one.
    """

    file: PlayerFile
    measures: Measures
    legs: Cloud
    braking_left: float | None = None


def estimate(measures: Measures) -> Estimate:
    """Work out a player file.

    Raises:
        InputError: times that do not belong together, or values that no player has.
    """
    m = measures
    cloud = fit_sprints(averaged(m.sprints, m.clock), m.clock, prior_of(m.level))
    legs: dict[str, tuple[float, float, float]] = {}
    left = None
    if m.shuttles:
        cloud, braking, left = fit_shuttles(cloud, averaged(m.shuttles, m.clock), m.level)
        legs["braking_m_s2"] = _believed(braking, cloud.weight)
    if m.timed:
        legs["top_speed_m_s"] = _believed(cloud.top_speed_m_s, cloud.weight)
        legs["tau_s"] = _believed(cloud.tau_s, cloud.weight)
    if m.height_m is not None:
        legs |= of_height(m.level, m.height_m)
    table = {
        "name": m.name,
        "level": m.level,
        "hand": m.hand,
        "backhand": m.backhand,
        "measured": _measured(m),
        "legs": {name: rounded(*some) for name, some in legs.items()},
        "hitter": _strokes(m),
        "waiting": _waiting(m),
    }
    file = checked(table, "what was measured")
    return Estimate(file, m, cloud, left)


def _believed(values: np.ndarray, weight: np.ndarray) -> tuple[float, float, float]:
    low, high = range_of(values, weight)
    return min(max(mean_of(values, weight), low), high), low, high


def rounded(value: float, low: float, high: float) -> dict[str, float]:
    """A value with its range, as a player file writes it."""
    ends = zip(("value", "low", "high"), (value, low, high), strict=True)
    return {name: round(float(v), DIGITS) for name, v in ends}


def _strokes(m: Measures) -> dict[str, dict[str, float]]:
    """Usual speeds: as told; of a wing that was not told, with the other it keeps the level's ratio
    to that one."""
    told = given(**{name: getattr(m, name) for name in SPEEDS})
    spreads = dict.fromkeys(told, STROKE_SPREAD)
    if other := untold_speed(m):
        (known,) = told
        usual = PLAYERS[m.level].hitter
        told[other] = told[known] * getattr(usual, other) / getattr(usual, known)
        spreads[other] = RATIO_SPREAD
    return {
        name: rounded(told[name], *((1 + way * spreads[name]) * told[name] for way in (-1, 1)))
        for name in SPEEDS
        if name in told
    }


def untold_speed(m: Measures) -> str | None:
    """The usual speed that follows from the other wing's, which alone was told."""
    untold = [name for name in SPEEDS if getattr(m, name) is None]
    return untold[0] if len(untold) == 1 else None


def _waiting(m: Measures) -> dict[str, dict[str, float]]:
    told = given(waits_behind_m=m.waits_behind_m)
    by = WAITING_SPREAD_M
    return {name: rounded(v, max(0.0, v - by), v + by) for name, v in told.items()}


def _measured(m: Measures) -> dict[str, object]:
    """The [measured] table: what was given, and the clock where there was one."""
    out: dict[str, object] = {}
    if m.timed:
        clock = m.clock
        out = {"timing": m.timing, "timing_error_s": clock.error_s}
        out["start_offset_s"] = list(clock.offset_s)
    for name in ("sprints", "shuttles"):
        if times := getattr(m, name):
            out[name] = [
                {"distance_m": float(d), "times_s": [float(t) for t in times[d]]}
                for d in sorted(times)
            ]
    return out | ({} if m.height_m is None else {"height_m": round(m.height_m, DIGITS)})


def level_shares(measures: Measures) -> dict[str, float]:
    """How well each level's stated range foretells the sprint times, as shares that sum to 1.

    Empty without sprint times, or where no level does.
    """
    times = averaged(measures.sprints, measures.clock)
    found = {n: evidence(times, measures.clock, prior_of(n)) if times else 0.0 for n in PLAYERS}
    total = sum(found.values())
    return {level: value / total for level, value in found.items()} if total > 0 else {}
