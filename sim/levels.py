"""The levels: one record each, which holds all that is known or assumed of a level.

To add a level, add a record to LEVELS; commands, studies, lists and tests follow it. A plain number
has the general source of its parameter and the usual spread about it, kept inside the general
range (`sim.legs`, `sim.hitter`). `Own` says more; what is not in a record is the general default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sim.ball import USUAL_BALL
from sim.preset import Own, Preset, by_name, owned

KM_H = 1 / 3.6
# This share of a level's value to both sides, where the level does not say its range (assumed).
SPREAD = {
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


@dataclass(frozen=True)
class Level(Preset):
    """One level: its values, the body that they belong to, and what it plays with and where.

    `height_m` is the body height to which reach and contact heights belong, `ball` the ball's name
    in sim.ball, `waits_on` the waiting depth (m) on a surface where it is not the usual one.
    """

    height_m: Own = field(kw_only=True)
    ball: str = USUAL_BALL
    waits_on: Mapping[str, Own] = field(default_factory=dict)


def _level(
    name: str,
    height_m: Own,
    ball: str = USUAL_BALL,
    waits_on: Mapping[str, Own] | None = None,
    **values: float | Own,
) -> Level:
    own = owned(values)
    return Level(name, own, SPREAD, height_m=height_m, ball=ball, waits_on=waits_on or {})


def _assumed(value: float, low: float, high: float, source: str) -> Own:
    return Own(value, low, high, source, "assumed")


def _remembered(value: float, low: float, high: float, source: str) -> Own:
    return Own(value, low, high, source, "memory")


def _speed(value: float, low: float, high: float, source: str, status: str = "assumed") -> Own:
    """A speed in km/h."""
    return Own(value * KM_H, low * KM_H, high * KM_H, source, status)


def _tall(height_m: float) -> Own:
    return Own(height_m, 0.95 * height_m, 1.05 * height_m, "no figure looked up", "assumed")


def _grown(height_m: float, who: str) -> Own:
    source = f"near the middle of growth charts for {who}"
    return _remembered(height_m, 0.92 * height_m, 1.08 * height_m, source)


def _shown(speed_km_h: float) -> Own:
    """A usual speed of professionals, km/h; the usual spread."""
    source = "Kovalchik and Reid 2017, JSSM 16, 489"
    return Own(speed_km_h * KM_H, source=source, status="published")


ADULT_REACH_UP = Own(2.30, 2.1, 2.7)
SCALED = "no figure found; the body's part scaled with body height from the level {} (sim.levels)"
LIKE_JUNIOR, LIKE_CLUB = SCALED.format("elite-junior"), SCALED.format("club-adult")
BATTERY = (
    "German federation's battery, national squads, Fernandez-Fernandez et al. 2014, BJSM 48 Suppl 1"
)
SPRINTS = f"sprint times over 10 and 20 m, clock 0.25 s after the push-off; {BATTERY}"
JUNIOR_FIT = "fitted between the published U14 and U16 sprint times"
JUNIOR_FIGURES = "sprint times of boys under 14 and under 16, BJSM 2014"
YOUNG_RALLY = "no figure found; remembered guesses of rally speed: {}"
BETWEEN = "no figure found; between {}"
SERVE_TEST = "no usual speed found; nine tenths of the fastest serve in a test, {}: " + BATTERY
SECOND = "no figure found; four fifths of the first serve, as at the other levels"
FEMALE_RATIO = "no figure found; nine tenths of club-man, the ratio of the professional presets"
SENIOR_SPRINT = (
    "second hand: 5-7 % of sprint speed lost per decade, more from 65 on (Korhonen, Mero and"
    " Suominen 2003, master sprinters); so 0.80-0.85 of club-adult"
)
OLDER = "no figure found; {} (memory: 0.04-0.08 s more in choice reaction from 65 on)"

LEVELS = by_name(
    _level(
        "club-adult",
        _tall(1.75),
        reaction_s=Own(0.26, 0.22, 0.32),
        top_speed_m_s=Own(6.2, 5.2, 6.8),
        tau_s=Own(0.95, 0.8, 1.1),
        braking_m_s2=Own(3.5, low=3.0),
        comfortable_reach_m=0.80,
        full_reach_m=Own(1.45, low=1.35),
        best_low_m=0.90,
        best_high_m=1.45,
        playable_high_m=ADULT_REACH_UP,
        haste_per_s=0.20,
        waits_behind_m=0.7,
        forehand_speed_m_s=80 * KM_H,
        backhand_speed_m_s=72 * KM_H,
        forehand_topspin_rpm=1400,
        backhand_topspin_rpm=1100,
        direction_sd_deg=Own(4.2, high=5.0),
        depth_sd_m=3.1,
        first_serve_m_s=125 * KM_H,
        second_serve_m_s=100 * KM_H,
    ),
    _level(
        "elite-junior",
        _tall(1.72),
        reaction_s=Own(0.21, 0.18, 0.26),
        top_speed_m_s=Own(7.0, 6.6, 7.5, JUNIOR_FIT, "fitted", JUNIOR_FIGURES),
        tau_s=Own(0.85, 0.7, 0.95, JUNIOR_FIT, "fitted", JUNIOR_FIGURES),
        braking_m_s2=4.5,
        comfortable_reach_m=0.80,
        full_reach_m=1.50,
        best_low_m=0.90,
        best_high_m=1.40,
        playable_high_m=ADULT_REACH_UP,
        haste_per_s=0.30,
        waits_behind_m=1.0,
        forehand_speed_m_s=100 * KM_H,
        backhand_speed_m_s=92 * KM_H,
        forehand_topspin_rpm=2200,
        backhand_topspin_rpm=1800,
        direction_sd_deg=3.0,
        depth_sd_m=2.4,
        first_serve_m_s=155 * KM_H,
        second_serve_m_s=125 * KM_H,
    ),
    _level(
        "college-man",
        _tall(1.83),
        reaction_s=Own(0.20, 0.17, 0.24),
        top_speed_m_s=Own(7.5, 7.2, 8.0),
        tau_s=Own(0.85, 0.75, 0.95),
        braking_m_s2=5.0,
        comfortable_reach_m=0.85,
        full_reach_m=1.60,
        best_low_m=0.95,
        best_high_m=1.50,
        playable_high_m=ADULT_REACH_UP,
        haste_per_s=0.35,
        waits_behind_m=1.2,
        forehand_speed_m_s=112 * KM_H,
        backhand_speed_m_s=103 * KM_H,
        forehand_topspin_rpm=2500,
        backhand_topspin_rpm=2000,
        direction_sd_deg=2.6,
        depth_sd_m=2.2,
        first_serve_m_s=175 * KM_H,
        second_serve_m_s=140 * KM_H,
    ),
    _level(
        "professional-man",
        _tall(1.86),
        waits_on={"clay": Own(2.5)},
        reaction_s=Own(0.18, 0.15, 0.21),
        top_speed_m_s=Own(7.8, 7.4, 8.3),
        tau_s=Own(0.80, 0.7, 0.92),
        braking_m_s2=5.5,
        comfortable_reach_m=0.90,
        full_reach_m=1.65,
        best_low_m=0.95,
        best_high_m=1.50,
        playable_high_m=ADULT_REACH_UP,
        haste_per_s=Own(
            0.55,
            source="fitted to the time between strikes of men on hard courts (Carboch et al. 2019)",
            status="fitted",
            fitted_to="R1a",
        ),
        waits_behind_m=1.5,
        forehand_speed_m_s=_shown(119),
        backhand_speed_m_s=_shown(108),
        forehand_topspin_rpm=2700,
        backhand_topspin_rpm=2200,
        direction_sd_deg=2.1,
        depth_sd_m=1.8,
        first_serve_m_s=186 * KM_H,
        second_serve_m_s=152 * KM_H,
    ),
    _level(
        "professional-woman",
        _tall(1.75),
        reaction_s=Own(0.18, 0.15, 0.22),
        top_speed_m_s=Own(7.0, 6.6, 7.4),
        tau_s=Own(0.80, 0.7, 0.92),
        braking_m_s2=5.0,
        comfortable_reach_m=0.85,
        full_reach_m=1.50,
        best_low_m=0.90,
        best_high_m=1.40,
        playable_high_m=ADULT_REACH_UP,
        haste_per_s=0.45,
        waits_behind_m=1.0,
        forehand_speed_m_s=_shown(111),
        backhand_speed_m_s=_shown(106),
        forehand_topspin_rpm=2300,
        backhand_topspin_rpm=1900,
        direction_sd_deg=2.2,
        depth_sd_m=1.9,
        first_serve_m_s=160 * KM_H,
        second_serve_m_s=132 * KM_H,
    ),
)
