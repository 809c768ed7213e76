"""The best shade and the best depth at each point of a design, and how far from the usual ones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from experiments.evidence.best_place.curves import BOTH, Found, best_on, mean_of
from experiments.evidence.best_place.naming import USUAL, point_words
from experiments.evidence.sensitivity.folder import DesignedFolder, groups
from experiments.evidence.sensitivity.naming import Named, named_factors
from experiments.study.batch_file import AS_IT_STANDS, read_batches
from experiments.study.batches import FEWEST, depth_label, shades_of
from experiments.study.design import Study
from experiments.study.factor_names import PLACE
from experiments.study.factors import ONE, Factors
from experiments.study.folder_files import BATCHES_FILE, sound
from experiments.study.setting_table import is_rally

SCENE = ("level", "place", "opponent", "setting", "own_stroke")
MISSED, POINTS = "missed_per_100", "points_won_per_100"
SHADE, DEPTH = "shade", "depth"
ALL_OPPONENTS = "all opponents"
SHADE_COLUMNS = ("shade_m_per_m", "shade_low_m_per_m", "shade_high_m_per_m")
MOVED = ("moved_m", "moved_low_m", "moved_high_m")
MOVED_SHADE = ("moved_m_per_m", "moved_low_m_per_m", "moved_high_m_per_m")


@dataclass(frozen=True, eq=False)
class Best:
    """The best place at a point: `found` in metres, `off_m` how far the opponent is off centre
    there (NaN of depths), `words` what the point changes."""

    found: Found
    off_m: float
    words: str


# The curves of one kind, by point, the usual one first; a curve over depths runs over several
# points, of which it has the first.
Bests = dict[int, Best]
Kind = tuple[str, str]  # axis, and whose curve it is: the family, or a policy


@dataclass(frozen=True, eq=False)
class Scene:
    """The batches of one scene: those of a point in the rows of `at[point]`."""

    labels: Mapping[str, str]
    at: Mapping[int, pd.DataFrame]

    @classmethod
    def of(cls, labels: Mapping[str, str], batches: pd.DataFrame) -> Scene:
        return cls(
            labels,
            {
                labels["point"]: own.pivot(index="batch", columns="policy")
                for labels, own in groups(batches, ["point"])
            },
        )

    def counts(
        self, outcome: str, point: int, policies: list[str]
    ) -> tuple[np.ndarray, np.ndarray]:
        """What was kept or won, and of how many, (batches, policies) each."""
        sums = self.at[point]
        one, balls, missed, points = (
            sums[name][policies].to_numpy(float) for name in ("one", "balls", "missed", "points")
        )
        return (points, one) if outcome == POINTS else (balls - missed, balls)


@dataclass(frozen=True, eq=False)
class OfLevel:
    """What the curves of a level need: the study, and the points with their values."""

    study: Study
    factors: Factors
    points: pd.DataFrame
    level: str

    @cached_property
    def named(self) -> dict[str, Named]:
        """The factors in words."""
        return named_factors(self.study, self.level)

    def bests(self, scene: Scene, outcome: str) -> dict[Kind, Bests]:
        """All best places of a scene by one outcome."""
        shades, depth = shades_of(self.study), depth_label(self.study)
        out: dict[Kind, Bests] = {}
        if shades:
            family = f"shades {min(shades.values()):g} to {max(shades.values()):g}"
            out[SHADE, family] = self._by_shade(scene, outcome, shades)
        if depth is not None:
            for policy in scene.at[AS_IT_STANDS]["one"].columns:
                out[DEPTH, str(policy)] = self._by_depth(scene, outcome, str(policy), depth)
        return {kind: bests for kind, bests in out.items() if bests}

    def _by_shade(self, scene: Scene, outcome: str, shades: Mapping[str, float]) -> Bests:
        """The best shade at each point where the opponent is off centre."""
        out = Bests()
        for point in sorted(scene.at):
            off_m = self._off_m(scene.labels["place"], point)
            if off_m == 0.0:
                continue
            counts = scene.counts(outcome, point, list(shades))
            places_m = off_m * np.array(list(shades.values()))
            found = best_on(places_m, *counts, self.study.seed or 0)
            usual = point == AS_IT_STANDS
            words = USUAL if usual else point_words(self.factors, point, self.named)
            out[point] = Best(found, off_m, words)
        return out

    def _off_m(self, place: str, point: int) -> float:
        """How far the opponent is off centre; of whole points, at the first place that is."""
        own = [p.x_m for p in self.study.places if p.name == place]
        off = own or [p.x_m for p in self.study.places if p.x_m] or [0.0]
        if point != AS_IT_STANDS and PLACE[0] in self.points:
            value = float(self.points[PLACE[0]].loc[point])
            return abs(off[0] if math.isnan(value) else value)
        return abs(off[0])

    def _by_depth(self, scene: Scene, outcome: str, policy: str, label: str) -> Bests:
        """The best depth of a policy for each set of values of the other factors."""
        out = Bests()
        others = [k for k in self.points.columns if k not in (label, "level", "role")]
        usual = pd.DataFrame({label: [self.named[label].usual]}, index=[AS_IT_STANDS])
        table = pd.concat([usual, self.points[[*others, label]]]).dropna(subset=[label])
        for _, rows in table.groupby(others, sort=False, dropna=False) if others else [((), table)]:
            rows = rows.drop_duplicates(label).sort_values(label)
            if len(rows) < FEWEST:
                continue
            at = [scene.counts(outcome, int(p), [policy]) for p in rows.index]
            kept, of = (np.hstack(parts) for parts in zip(*at, strict=True))
            found = best_on(rows[label].to_numpy(float), kept, of, self.study.seed or 0)
            words = point_words(self.factors, int(rows.index.max()), self.named, label)
            out[int(rows.index.min())] = Best(found, math.nan, words)
        return dict(sorted(out.items(), key=lambda item: item[1].words != USUAL))


def best_places(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each best place: of each scene and outcome, by shade and by depth, at each point.

    The first is the usual one, from which the others' moves are told; after the opponents come all
    of them, the mean with equal weights.
    """
    batches = read_batches(sound(folder.path, BATCHES_FILE))
    rows: list[dict[str, Any]] = []
    for labels, own in groups(batches, [k for k in SCENE if k != "opponent"]):
        points = folder.points[folder.points["level"] == labels["level"]].set_index("point")
        of_level = OfLevel(folder.study, folder.factors, points, labels["level"])
        scenes = [Scene.of({**labels, **who}, part) for who, part in groups(own, ["opponent"])]
        for outcome in (POINTS, MISSED) if is_rally(labels["setting"]) else (MISSED,):
            bests = [of_level.bests(scene, outcome) for scene in scenes]
            for scene, by_kind in zip(scenes, bests, strict=True):
                rows += _rows(scene.labels, outcome, by_kind)
            if len(scenes) > 1:
                everybody = {**labels, "opponent": ALL_OPPONENTS}
                rows += _rows(everybody, outcome, _together(bests))
    return pd.DataFrame(rows)


def _together(bests: Sequence[Mapping[Kind, Bests]]) -> dict[Kind, Bests]:
    """The mean over scenes with equal weights."""
    first = bests[0]
    return {
        kind: {
            point: Best(mean_of([b[kind][point].found for b in bests]), one.off_m, one.words)
            for point, one in own.items()
        }
        for kind, own in first.items()
    }


def _rows(
    labels: Mapping[str, str], outcome: str, by_kind: Mapping[Kind, Bests]
) -> Iterator[dict[str, Any]]:
    """The rows of a scene, each kind of best place by itself."""
    scene = {name: labels[name] for name in SCENE}
    for (axis, policy), bests in by_kind.items():
        usual = next(iter(bests.values()))
        for point, best in bests.items():
            head = {"outcome": outcome, "axis": axis, "policy": policy}
            own = {"point": None if point == AS_IT_STANDS else point, "words": best.words}
            yield {**scene, **head, **own, **_numbers(best, outcome), **_moved(best, usual)}


def _numbers(best: Best, outcome: str) -> dict[str, Any]:
    """Where the best place is, in metres and as a shade."""
    found = best.found
    share = found.share if outcome == POINTS else 1.0 - found.share
    low, high = found.interval_m
    shade = [v / best.off_m for v in (found.best_m, low, high)]
    return {
        "best_m": found.best_m,
        "low_m": low,
        "high_m": high,
        "plateau_low_m": found.low_m,
        "plateau_high_m": found.high_m,
        "top_m": found.top_m,
        "top_per_100": 100.0 * share,
        "at_end": found.at_end,
        **dict(zip(SHADE_COLUMNS, shade, strict=True)),
    }


def _moved(best: Best, usual: Best) -> dict[str, Any]:
    """How far it is from the usual one; nothing of that itself, nor where any place is as good."""
    moved, shade = (math.nan,) * 3, (math.nan,) * 3
    if best is not usual and BOTH not in (best.found.at_end, usual.found.at_end):
        moved = best.found.moved_m(usual.found)
        own, other = (b.found.scaled(1.0 / b.off_m) for b in (best, usual))
        shade = own.moved_m(other)
    return {
        "than": "" if best is usual else usual.words,
        **dict(zip(MOVED, moved, strict=True)),
        **dict(zip(MOVED_SHADE, shade, strict=True)),
    }


def told_points(study: Study) -> list[int]:
    """The points worth a word: where factors vary one at a time both ends of each, else all."""
    if study.factors is None:
        return []
    at = study.factors.coordinates
    if study.factors.design != ONE:
        return list(range(len(at)))
    out = []
    for factor, own in zip(study.factors.all, at.T, strict=True):
        listed = np.array(factor.times or factor.plus or factor.levels or (0.0, 1.0))
        order = np.argsort(listed) if listed.dtype.kind == "f" else np.arange(len(listed))
        points = np.flatnonzero(np.isfinite(own))
        out += [int(points[order[0]]), int(points[order[-1]])]
    return out
