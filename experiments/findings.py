"""One plain sentence per finding, from the cells of a study alone."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

MARGIN = 0.5
YARDSTICK = "linear-shade "
Cell = dict[str, Any]


def verdict(low: float | None, high: float | None) -> str:
    """What an interval of a difference in 100 says: as good, wins, loses or not decided.

    As good means inside half a ball (or point) in 100; the margin is fixed beforehand.
    """
    if low is None or high is None:
        return "not decided"
    if low >= -MARGIN and high <= MARGIN:
        return "as good"
    if low > 0:
        return "wins"
    if high < 0:
        return "loses"
    return "not decided"


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

    def values(self, label: str) -> list[str]:
        """Values of a label in the order of the study."""
        return list(dict.fromkeys(c[label] for c in self.all if c[label] is not None))


def findings(cells: Iterable[Cell]) -> list[str]:
    """Plain sentences: the cost of the middle, where it wins, the best shade."""
    found = Cells(cells)
    out: list[str] = []
    setting = "rally" if "rally" in found.values("setting") else found.values("setting")[0]
    for level in found.values("level"):
        for opponent in found.values("opponent"):
            out += cost_sentences(found, setting, level, opponent)
    out += verdict_sentences(found, setting)
    out += shade_sentences(found, setting)
    return out


def cost_sentences(found: Cells, setting: str, level: str, opponent: str) -> list[str]:
    """Missed from the middle and from the bisector, from the corner and overall."""
    out = []
    for place in ("corner", "all places"):
        middle = found.get(setting, level, opponent, place, "middle", "missed_per_100")
        other = found.get(setting, level, opponent, place, "bisector", "missed_per_100")
        if middle is None or other is None:
            continue
        where = "with the opponent in the corner" if place == "corner" else "over all places"
        text = (
            f"{level}, {opponent} opponent, {where} ({setting}): recovering to the middle misses"
            f" {interval(middle)} of 100 balls, to the bisector {interval(other)}"
        )
        points = found.get(
            setting, level, opponent, place, "bisector", "points_more_than_middle_per_100"
        )
        if points is not None:
            text += (
                f"; the bisector wins {interval(points, sign=True)} points in 100 more"
                f" ({verdict(points['low'], points['high'])})"
            )
        out.append(text + ".")
    return out


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
            said = verdict(c["low"], c["high"])
            label = f"{c['place']} ({c['level']}, {c['opponent']})"
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
    outcome = "points_won_per_100" if setting == "rally" else "missed_per_100"
    sign = 1.0 if setting == "rally" else -1.0
    for level in found.values("level"):
        for opponent in found.values("opponent"):
            curve = shade_curve(found, setting, level, opponent, outcome)
            if len(curve) < 3:
                continue
            best = max(sign * c["estimate"] for c in curve.values())
            good = [s for s, c in curve.items() if sign * c["estimate"] >= best - MARGIN]
            centre = 0.5 * (min(good) + max(good))
            what = "points won" if setting == "rally" else "balls missed"
            out.append(
                f"{level}, {opponent} opponent: the best shade by {what} over all places is about"
                f" {centre:.2f} m per metre (anything from {min(good):.1f} to {max(good):.1f} is"
                f" within half in 100 of the best tried; the middle is 0)."
            )
    return out


def shade_curve(
    found: Cells,
    setting: str,
    level: str,
    opponent: str,
    outcome: str,
    place: str = "all places",
) -> dict[float, Cell]:
    """The yardstick family's cells by shade; the middle is shade 0."""
    out: dict[float, Cell] = {}
    for policy in found.values("policy"):
        if policy == "middle" or policy.startswith(YARDSTICK):
            c = found.get(setting, level, opponent, place, policy, outcome)
            if c is not None and c["estimate"] is not None:
                shade = 0.0 if policy == "middle" else float(policy.removeprefix(YARDSTICK))
                out[shade] = c
    return out


def interval(c: Cell, sign: bool = False) -> str:
    """`estimate (low to high)` with one decimal."""
    if c["estimate"] is None:
        return "no data"
    mark = "+" if sign else ""
    return f"{c['estimate']:{mark}.1f} ({c['low']:{mark}.1f} to {c['high']:{mark}.1f})"
