"""Factors in words: what each is, its unit, usual value and range, and how well it is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from experiments.study.design import Study
from experiments.study.design_points import side_of, usual_of
from experiments.study.factor_names import (
    AIR,
    DEPTH,
    PLACE,
    STROKE_SPEED,
    SURFACE,
    Stated,
    parameters_by_name,
)
from experiments.study.factors import Factor
from sim.parameter import ParameterRow

WORDS = {
    STROKE_SPEED: "ball speed, share of usual",
    DEPTH: "waiting depth behind the baseline",
    SURFACE: "surface",
    "air.altitude_m": "altitude",
    "air.temperature_c": "temperature",
    "air.relative_humidity": "relative humidity",
    "place.x_m": "opponent's contact, off centre",
    "place.y_m": "opponent's contact, from the net",
    "place.z_m": "opponent's contact, height",
    "world.lift_slope": "slope of the ball's lift with spin",
    "world.lift_offset": "offset of the ball's lift with spin",
    "world.gravity_m_s2": "gravity",
    "hitter.aim_margin_sds": "aim kept inside the lines, in own errors",
    "hitter.elevation_share": "share of the depth error from elevation",
    "hitter.forehand_speed_m_s": "usual ball speed, forehand",
    "hitter.backhand_speed_m_s": "usual ball speed, backhand",
    "repertoire.late_width": "how gradually drives give way when late, in quality of contact",
    "shots.speed_spread": "aims: spread of the speed, as a share",
    "shots.margin_share": "aims: margin to the lines over the one that own errors ask for",
    "shots.sharpness_per_m": "aims: how sharply the larger gap is preferred",
    "recovery.shade_m_per_m": "shade, per metre that the other is off centre",
    "surface.restitution": "surface: vertical speed kept at the bounce",
    "surface.grip_rebound": "surface: slip kept while the ball grips",
}
OF_PART = {
    "shots": "aims",
    "recovery": "recovery",
    "drives": "angle",
    "surface": "surface",
    "ball": "ball",
}
COLUMNS = ("factor", "words", "unit", "usual", "low_value", "high_value", "status")
PLAIN = ("", "1", "nan")  # units of what is no more than a number
ASSUMED, SCENE = "assumed", "chosen"


@dataclass(frozen=True)
class Named:
    """A factor in words. `status` is one of sim.parameter.STATUSES, or "chosen" for what belongs to
    the scene that a study plays; `low` and `high` are None for what is no number."""

    label: str
    words: str
    unit: str
    usual: float
    low: float | None
    high: float | None
    status: str
    source: str

    @property
    def axis_text(self) -> str:
        """The words with the unit, as an axis is labelled."""
        return self.words if self.unit in PLAIN else f"{self.words} ({self.unit})"

    def columns(self) -> dict[str, Any]:
        """What tables say of it, by their columns; it has a source, too."""
        values = (self.label, self.words, self.unit, self.usual, self.low, self.high, self.status)
        return dict(zip(COLUMNS, values, strict=True))


def with_unit(text: str, unit: str) -> str:
    """A value with its unit, if it has one."""
    return text if unit in PLAIN else f"{text} {unit}"


def named_factors(study: Study, level: str) -> dict[str, Named]:
    """The factors of a study for a level, by their label: the columns of the table of points."""
    if study.factors is None:
        return {}
    game = study.game(study.level_text(level), study.opponents[0], study.reference, 0)
    usual, out = usual_of(game, study.places[0].place), {}
    for factor in study.factors.all:
        of = side_of(factor, usual)
        stated = usual[of][factor.name]
        side = game.opponent if of == "opponent" else game.studied
        row = parameters_by_name(game, side).get(factor.name)
        out[factor.label] = _named(factor, stated, row)
    return out


def _named(factor: Factor, stated: Stated, row: ParameterRow | None) -> Named:
    low, high = _range(factor, stated)
    status = row.status if row else SCENE if factor.name in (*PLACE, *AIR, SURFACE) else ASSUMED
    whose = {"studied": "own ", "opponent": "opponent's ", "both": ""}[factor.of]
    words = whose + _words(factor.name, row)
    source = row.source if row else ""
    return Named(factor.label, words, stated.unit, stated.value, low, high, status, source)


def _words(name: str, row: ParameterRow | None) -> str:
    if name in WORDS or row is None:
        return WORDS.get(name, name)
    part = OF_PART.get(name.partition(".")[0])
    about = row.about.partition(";")[0].partition(" (see")[0]
    if name.startswith("repertoire.") and name.endswith(("_speed_share", "_error_share")):
        about += " over a drive's"
    return f"{part}: {about}" if part else about


def _range(factor: Factor, stated: Stated) -> tuple[float | None, float | None]:
    if not factor.listed:
        return factor.range(stated)
    values = [factor.value(i, stated) for i in range(factor.listed)]
    numbers = [v for v in values if not isinstance(v, str)]
    return (min(numbers), max(numbers)) if numbers else (None, None)
