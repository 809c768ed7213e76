"""Where the verdict turns: what a policy does against the reference over a grid of factors."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pandas as pd

from experiments.evidence.sensitivity.folder import (
    LABELS,
    NUMBERS,
    Comparison,
    DesignedFolder,
    groups,
    reference_of,
)
from experiments.evidence.sensitivity.naming import Named, named_factors, with_unit
from experiments.statistics.comparison import AS_GOOD, LOSES, NOT_DECIDED, WINS
from experiments.study.design import Study
from experiments.study.factor_names import PLACE, SURFACE
from experiments.study.factors import GRID

ACROSS, UP = PLACE[0], "top_speed_m_s"
SCENE = ("place", "level", "opponent", "setting", "own_stroke", "outcome")
BEST = tuple(f"best_{k}" for k in (*NUMBERS, "verdict"))


def is_map(folder: DesignedFolder) -> bool:
    """Whether the design is a grid over two factors or more, all of them numbers."""
    factors = folder.factors.all
    return (
        folder.factors.design == GRID
        and len(factors) > 1
        and all(f.name != SURFACE for f in factors)
        and any(c.is_difference for c in folder.comparisons())
    )


def axes_of(labels: Sequence[str]) -> tuple[str, str]:
    """The factors to draw across and up: contact place and top speed, else the first two."""
    labels = list(labels)
    across = ACROSS if ACROSS in labels else labels[0]
    rest = [label for label in labels if label != across]
    return across, next((label for label in rest if label.endswith(UP)), rest[0])


def turning(folder: DesignedFolder) -> pd.DataFrame:
    """A row for each cell of the grid, scenario and difference in 100 of the first compared policy.

    After the scenario and the factors: `policy` against the reference with its interval and
    verdict; and of all policies compared the `best` by its estimate, with the same.
    """
    found = [c for c in folder.comparisons() if c.has_margin]
    scenes: dict[tuple[str, ...], list[Comparison]] = {}
    for c in found:
        scenes.setdefault(tuple(c.labels[k] for k in SCENE), []).append(c)
    parts = [_scene_rows(folder, group) for group in scenes.values()]
    return pd.concat(parts, ignore_index=True)


def _scene_rows(folder: DesignedFolder, group: list[Comparison]) -> pd.DataFrame:
    """The rows of one scenario: `group` are its policies, the first one first."""
    first = group[0]
    points = folder.points_of(first).drop(columns=["level", "role"])
    scene = pd.DataFrame({k: first.labels[k] for k in SCENE}, index=points.index)
    numbers = [*NUMBERS, "verdict"]
    own = first.cells.loc[points.index, numbers]
    stacked = np.stack([c.cells.loc[points.index, "estimate"].to_numpy(float) for c in group])
    best = stacked.argmax(axis=0)
    rows = [
        group[k].cells.loc[p, numbers].to_list() for k, p in zip(best, points.index, strict=True)
    ]
    table = pd.concat([scene, points, own], axis=1)
    table.insert(len(SCENE), "policy", first.labels["policy"])
    table["best"] = [group[k].labels["policy"] for k in best]
    table[list(BEST)] = pd.DataFrame(rows, index=table.index, columns=list(BEST))
    return table.reset_index()


def boundary(table: pd.DataFrame, labels: Sequence[str], prefix: str = "") -> pd.DataFrame:
    """Where the policy begins to win for good, going outward along the factor drawn across.

    `table` is `turning`'s, `labels` its factors. A row for each line of cells: the scenario, the
    other factors, and `wins_from`, the smallest value across from which on the policy wins in every
    cell; NaN where it does not win in the last one. With `prefix` "best_" it is about the best of
    the policies.
    """
    across, _ = axes_of(labels)
    others = [*SCENE, *(label for label in labels if label != across)]
    rows: list[dict[str, Any]] = []
    for at, line in groups(table, others):
        line = line.sort_values(across)
        wins = (line[f"{prefix}verdict"] == WINS).to_numpy()
        tail = np.logical_and.accumulate(wins[::-1])[::-1]
        from_ = line[across].to_numpy(float)[tail]
        rows.append({**at, "wins_from": from_.min() if len(from_) else np.nan})
    return pd.DataFrame(rows)


def sentences(study: Study, table: pd.DataFrame) -> Iterator[str]:
    """One sentence for each opponent, setting and outcome: where the reference is as good or
    better than the policy."""
    named, reference = named_factors(study, study.level_names()[0]), reference_of(study)
    for scene, cells in groups(table, SCENE):
        counts = {v: cells[cells["verdict"] == v] for v in (LOSES, AS_GOOD, NOT_DECIDED, WINS)}
        policy = cells["policy"].iloc[0]
        words = (
            f"the {policy} wins in {len(counts[WINS])} of {len(cells)} cells",
            _part(f"the {reference} is as good", counts[AS_GOOD], cells, named),
            _part(f"the {reference} wins", counts[LOSES], cells, named),
            _part("not decided", counts[NOT_DECIDED], cells, named),
            _best(cells, reference),
        )
        yield f"{scene_words(scene)}: {'. '.join(w[0].upper() + w[1:] for w in words if w)}."


def _best(cells: pd.DataFrame, reference: str) -> str:
    """In how many cells the best of several policies wins; "" where there is one."""
    names = cells["best"].nunique()
    if names < 2:
        return ""
    won = int((cells["best_verdict"] == WINS).sum())
    return f"the best of the policies tried beats the {reference} in {won}"


def scene_words(scene: dict[str, str]) -> str:
    """Opponent, setting and outcome in words."""
    after = f", after {scene['own_stroke']}" if scene["own_stroke"] else ""
    what = "points" if scene["outcome"].startswith("points") else "balls missed"
    if scene["outcome"].startswith("returned"):
        what = "balls returned"
    return f"{scene['opponent']} opponent, {scene['setting']}{after}, by {what}"


def _part(words: str, cells: pd.DataFrame, whole: pd.DataFrame, named: dict[str, Named]) -> str:
    """In how many cells: those with the opponent in the middle, then the others and over which
    values of the factors these lie, where not over all of them; "" if in none."""
    if cells.empty:
        return ""
    central = cells[cells[ACROSS] == 0.0] if ACROSS in cells else cells.iloc[:0]
    others = cells.drop(central.index)
    parts = [f"{len(central)} with the opponent in the middle"] if len(central) else []
    if len(others):
        spans = [_span(label, name, others, whole) for label, name in named.items()]
        parts.append(", ".join([f"{len(others)} elsewhere", *(s for s in spans if s)]))
    return f"{words} in {len(cells)} ({'; '.join(parts)})"


def _span(label: str, name: Named, cells: pd.DataFrame, whole: pd.DataFrame) -> str:
    """The values of a factor over some cells, "" where they reach over all but the middle."""
    off = whole[whole[label] != 0.0] if label == ACROSS else whole
    low, high = cells[label].min(), cells[label].max()
    if (low, high) == (off[label].min(), off[label].max()):
        return ""
    values = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return f"{name.words} {with_unit(values, name.unit)}"


def factor_labels(table: pd.DataFrame) -> list[str]:
    """The factors among the columns of `turning`'s table."""
    known = {"point", *LABELS, *NUMBERS, "verdict", "best", *BEST}
    return [c for c in table.columns if c not in known]
