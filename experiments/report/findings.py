"""One plain sentence per finding, from the cells of a study alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import Any

from experiments.statistics.comparison import MARGIN, verdict_of
from experiments.statistics.signed_words import claim, ends_of, world_words
from experiments.study.setting_table import any_served, is_rally, nearest_to_play

YARDSTICK = "linear-shade "
Cell = dict[str, Any]


class Cells:
    """Look-up of cells by their labels."""

    def __init__(self, cells: Iterable[Cell]) -> None:
        self.all = list(cells)
        self._by = {self._key(c): c for c in self.all}

    @staticmethod
    def _key(c: Cell) -> tuple[Any, ...]:
        names = ("setting", "level", "opponent", "place", "policy", "outcome", "own_stroke")
        return tuple(c[n] for n in names)

    def get(
        self,
        setting: str,
        level: str,
        opponent: str,
        place: str,
        policy: str,
        outcome: str,
        own_stroke: str | None = None,
    ) -> Cell | None:
        """The cell of these labels, or None."""
        return self._by.get((setting, level, opponent, place, policy, outcome, own_stroke))

    def groups(self, setting: str) -> Iterator[tuple[str, str, str | None]]:
        """Level, opponent and own stroke (None but in recovery) of each table of a setting."""
        strokes = self.values("own_stroke") if setting == "recovery" else [None]
        yield from product(self.values("level"), self.values("opponent"), strokes)

    def values(self, label: str) -> list[str]:
        """Values of a label in the order of the study."""
        return list(dict.fromkeys(c[label] for c in self.all if c[label] is not None))


def findings(cells: Iterable[Cell]) -> list[str]:
    """Plain sentences: the cost of the middle, where it wins, the best shade."""
    found = Cells(cells)
    out: list[str] = []
    setting = nearest_to_play(found.values("setting"))
    for level, opponent, own in found.groups(setting):
        out += cost_sentences(found, setting, level, opponent, own)
    out += verdict_sentences(found, setting)
    out += shade_sentences(found, setting)
    return out


def cost_sentences(
    found: Cells, setting: str, level: str, opponent: str, own: str | None = None
) -> list[str]:
    """Missed from the middle and from the bisector, from the corner and overall."""
    out = []
    for place in ("corner", "all places"):
        labels = (setting, level, opponent, place)
        middle = found.get(*labels, "middle", "missed_per_100", own)
        other = found.get(*labels, "bisector", "missed_per_100", own)
        if middle is None or other is None:
            continue
        where = "with the opponent in the corner" if place == "corner" else "over all places"
        text = (
            f"{level}, {opponent} opponent, {where} ({after(setting, own)}): recovering to the"
            f" middle misses {interval(middle)} of 100 balls, to the bisector {interval(other)}"
        )
        points = found.get(*labels, "bisector", "points_more_than_middle_per_100", own)
        if any_served(found.values("setting")):
            points = None  # said once, by the three numbers that are kept apart
        if points is not None and (difference := ends_of(points)) is not None:
            said = claim(verdict_of(points), difference, "the middle", "points in 100")
            beside = world_words(points)
            text += f"; the bisector {said}{f', {beside}' if beside else ''}"
        out.append(text + ".")
    return out


def after(setting: str, own_stroke: str | None) -> str:
    """The setting, in recovery with the own stroke before it."""
    return setting if own_stroke is None else f"{setting} after {own_stroke}"


def verdict_sentences(found: Cells, setting: str) -> list[str]:
    """Where the middle is as good or better than the bisector, by balls missed."""
    places: dict[str, list[str]] = {}
    for c in found.all:
        if (
            c["outcome"] == "missed_fewer_than_middle_per_100"
            and c["policy"] == "bisector"
            and c["setting"] == setting
            and c["place"] != "all places"
        ):
            said = verdict_of(c)
            own = "" if c["own_stroke"] is None else f", after {c['own_stroke']}"
            label = f"{c['place']} ({c['level']}, {c['opponent']}{own})"
            places.setdefault(said, []).append(label)
    words = {
        "loses": "The middle misses fewer balls than the bisector",
        "as good": "The middle is as good as the bisector (inside half a ball in 100)",
        "wins": "The bisector misses fewer balls than the middle",
        "not decided": "Not decided between the middle and the bisector",
    }
    total = sum(len(v) for v in places.values())
    return [
        f"{text}, by balls missed ({setting}), in {len(places[said])} of {total} cells:"
        f" {'; '.join(places[said])}."
        for said, text in words.items()
        if said in places
    ]


def shade_sentences(found: Cells, setting: str) -> list[str]:
    """The best shade of the yardstick family over all places, with its plateau."""
    out = []
    outcome = "points_won_per_100" if is_rally(setting) else "missed_per_100"
    sign = 1.0 if is_rally(setting) else -1.0
    for level, opponent, own in found.groups(setting):
        curve = shade_curve(found, setting, level, opponent, outcome, own_stroke=own)
        if len(curve) < 3:
            continue
        best = max(sign * c["estimate"] for c in curve.values())
        good = [s for s, c in curve.items() if sign * c["estimate"] >= best - MARGIN]
        centre = 0.5 * (min(good) + max(good))
        what = "points won" if is_rally(setting) else "balls missed"
        out.append(
            f"{level}, {opponent} opponent ({after(setting, own)}): the best shade by {what} over"
            f" all places is about {centre:.2f} m per metre ({plateau_words(good)} within half in"
            f" 100 of the best tried; the middle is 0)."
        )
    return out


def plateau_words(shades: list[float]) -> str:
    """The shades that are as good as the best, as the start of a sentence."""
    low, high = min(shades), max(shades)
    return f"anything from {low:g} to {high:g} is" if low < high else f"no other than {low:g} is"


def shade_curve(
    found: Cells,
    setting: str,
    level: str,
    opponent: str,
    outcome: str,
    place: str = "all places",
    own_stroke: str | None = None,
) -> dict[float, Cell]:
    """The yardstick family's cells by shade; the middle is shade 0."""
    out: dict[float, Cell] = {}
    for policy in found.values("policy"):
        if policy == "middle" or policy.startswith(YARDSTICK):
            c = found.get(setting, level, opponent, place, policy, outcome, own_stroke)
            if c is not None and c["estimate"] is not None:
                shade = 0.0 if policy == "middle" else float(policy.removeprefix(YARDSTICK))
                out[shade] = c
    return out


def interval(c: Mapping[Any, Any], sign: bool = False) -> str:
    """`estimate (low to high)` with one decimal."""
    if c["estimate"] is None:
        return "no data"
    mark = "+" if sign else ""
    return f"{c['estimate']:{mark}.1f} ({c['low']:{mark}.1f} to {c['high']:{mark}.1f})"
