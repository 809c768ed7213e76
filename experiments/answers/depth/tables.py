"""Depth: the answers as flat rows, for CSVs and JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.answers.depth.adaptive import Adapted
from experiments.answers.depth.answer import AtDepth, Case, Depth
from experiments.output.tables import write_table
from experiments.statistics.estimates import Estimate
from experiments.statistics.signed_words import verdict_on_loss

DIGITS = 2
DEPTHS, BEST, ADAPTIVE = "depths", "best", "adaptive"


def tables_of(
    answers: Sequence[Depth], adaptive: Sequence[Sequence[Adapted]] = ()
) -> dict[str, list[dict[str, Any]]]:
    """The tables by name: a row a cell, case and depth; a cell and case; a cell and policy."""
    found = [(_cell(one), case) for one in answers for case in one.cases.values()]
    out = {
        DEPTHS: [cell | _depth_row(case, row) for cell, case in found for row in case.rows],
        BEST: [cell | _best_row(case) for cell, case in found],
    }
    if adaptive:
        pairs = zip(answers, adaptive, strict=True)
        out[ADAPTIVE] = [_cell(one) | _policy_row(row) for one, rows in pairs for row in rows]
    return out


def depth_table(answers: Sequence[Depth]) -> pd.DataFrame:
    """The first of them as a data frame."""
    return pd.DataFrame(tables_of(answers)[DEPTHS], dtype=object)


def write_tables(tables: Mapping[str, Sequence[Mapping[str, Any]]], folder: Path) -> None:
    """Write each table as CSV into a folder that is there; each file whole or not at all.

    Raises:
        InputError: a file cannot be written.
    """
    for name, rows in tables.items():
        write_table(pd.DataFrame(rows, dtype=object), folder / f"{name}.csv")


def depth_json(
    answers: Sequence[Depth], adaptive: Sequence[Sequence[Adapted]] = ()
) -> dict[str, Any]:
    """Who plays in the first cell, what was played, and the tables."""
    question = answers[0].question
    return {
        **question.scene.numbers,
        "policy": question.policy.name,
        "own_shots": question.own_shots,
        "opponent_policy": question.opponent_policy,
        "rallies": question.each * 3,
        **tables_of(answers, adaptive),
    }


def _cell(found: Depth) -> dict[str, Any]:
    scene = found.question.scene
    return {
        "player": scene.player.name,
        "surface": scene.world.surface.name,
        "hitter": scene.hitter.name,
        "policy": found.question.policy.name,
    }


def _depth_row(case: Case, row: AtDepth) -> dict[str, Any]:
    return {
        "case": case.name,
        "depth_m": row.depth_m,
        "drop_when_far": row.short.drop,
        "approach_when_far": row.short.approach,
        **_flat("points_per_100", row.points),
        **_flat("points_more_per_100", row.more),
        **_flat("reached_per_100", row.reached),
        **_flat("returned_per_100", row.returned),
        **{f"{way}_per_100": _rounded(e.value) for way, e in row.ways.items()},
        **_flat("opponent_quality", row.quality),
        **_flat("opponent_drop_shots_per_100", row.drops),
        "rallies": row.points.n,
    }


def _best_row(case: Case) -> dict[str, Any]:
    best, reached = case.best, case.rows[case.most_reached]
    return {
        "case": case.name,
        "best_depth_m": _rounded(best.depth_m),
        "best_depth_low_m": _rounded(best.interval_m[0]),
        "best_depth_high_m": _rounded(best.interval_m[1]),
        "range_from_m": _rounded(best.low_m),
        "range_to_m": _rounded(best.high_m),
        "top_m": _rounded(best.top_m),
        "points_at_top_per_100": _rounded(best.points_per_100),
        "usual_depth_m": _rounded(case.usual_m),
        **_flat("usual_loses_per_100", case.usual_loses),
        "usual_against_best": verdict_on_loss(case.usual_loses),
        "most_reached_depth_m": _rounded(reached.depth_m),
        **_flat("most_reached_loses_per_100", case.most_reached_loses),
        "most_reached_against_best": verdict_on_loss(case.most_reached_loses),
    }


def _policy_row(row: Adapted) -> dict[str, Any]:
    return {
        "recovery": row.policy,
        "fixed_depth_m": row.fixed_depth_m,
        "mean_depth_m": _rounded(row.depth_m),
        "drop_when_far": row.short.drop,
        "approach_when_far": row.short.approach,
        **_flat("points_per_100", row.points),
        **_flat("points_more_per_100", row.points_more),
        **_flat("reached_per_100", row.reached),
        **_flat("reached_more_per_100", row.reached_more),
        "rallies": row.points.n,
    }


def _flat(name: str, e: Estimate) -> dict[str, float]:
    ends = {name: e.value, f"{name}_low": e.low, f"{name}_high": e.high}
    return {key: _rounded(value) for key, value in ends.items()}


def _rounded(value: float) -> float:
    return round(value, DIGITS) + 0.0
