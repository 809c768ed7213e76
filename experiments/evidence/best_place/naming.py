"""A point of a design in few words, the same for all levels where its values are given so."""

from __future__ import annotations

from collections.abc import Mapping

from experiments.evidence.sensitivity.naming import Named, with_unit
from experiments.study.factors import Factor, Factors

USUAL = "as it stands"
LESS_MORE = ("less", "more")
SLOWER_FASTER = ("slower", "faster")
TOP_SPEED = "legs.top_speed_m_s"
WHOSE = {"studied": "", "opponent": "opponent ", "both": "both "}


def point_words(factors: Factors, point: int, named: Mapping[str, Named], without: str = "") -> str:
    """What a point changes, such as `15 % slower`; the factor `without` is left out."""
    pairs = zip(factors.all, factors.coordinates[point], strict=True)
    parts = [
        _words(factor, float(coordinate), named[factor.label])
        for factor, coordinate in pairs
        if coordinate == coordinate and factor.label != without
    ]
    return ", ".join(filter(None, parts)) or USUAL


def _words(factor: Factor, at: float, name: Named) -> str:
    """One factor at a coordinate; nothing where that leaves it as it is."""
    if factor.times:
        return _change(factor, name, 100.0 * (factor.times[int(at)] - 1.0), "%")
    if factor.plus:
        return _change(factor, name, factor.plus[int(at)], name.unit)
    if factor.levels:
        value = factor.levels[int(at)]
        return f"{name.words} {value}" if isinstance(value, str) else _valued(name, value)
    if name.low is None or name.high is None:
        raise TypeError("a range without ends")
    return _valued(name, name.low + at * (name.high - name.low))


def _valued(name: Named, value: float) -> str:
    text = f"{value:.4g}".replace("-", "\u2212")
    return f"{name.words} {with_unit(text, name.unit)}"


def _change(factor: Factor, name: Named, by: float, unit: str) -> str:
    if not round(by, 6):
        return ""
    is_speed = factor.name == TOP_SPEED
    way = (SLOWER_FASTER if is_speed else LESS_MORE)[by > 0]
    much = f"{with_unit(f'{abs(by):.4g}', unit)} {way}"
    return f"{WHOSE[factor.of]}{much}" if is_speed else f"{name.words} {much}"
