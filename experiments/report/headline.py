"""summary.json: what a program wants first of a study; the cells themselves stand in cells.csv."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from experiments.report.findings import findings
from experiments.report.method import replicates_of
from experiments.report.parameters import parameter_table, status_counts
from experiments.report.summary import View, answer, counted
from experiments.statistics.comparison import MARGIN
from experiments.study.file_names import CELLS, COLUMNS, MANIFEST, STUDY, SUMMARY
from experiments.study.precision import sentences_of
from experiments.study.result_folder import ALL_PLACES, NUMBERS, ResultFolder, records
from sim.whole_file import write_whole

SCENE = ("policy", "level", "opponent", "place", "own_stroke")
TOGETHER = ("low_together", "high_together", "verdict")
FILES = {"cells": CELLS, "columns": COLUMNS, "study": STUDY, "versions": MANIFEST}


def write_summary(folder: Path) -> None:
    """Write `folder`/summary.json from the tables of the folder, one headline cell a line.

    Raises:
        InputError: the folder is not one that a study wrote.
    """
    text = json.dumps(summary(ResultFolder.read(folder)), indent=1, allow_nan=False)
    write_whole(folder / SUMMARY, f"{text}\n".encode())


def summary(results: ResultFolder) -> dict[str, Any]:
    """Question, seed, answer and findings in words, the headline in numbers and what they rest on:
    replicates by setting, and the parameters by how well they are known."""
    study = results.study
    _, total, statuses = status_counts(parameter_table(results))[-1]
    return {
        **{key: study.get(key) for key in ("title", "question", "seed")},
        "answer": answer(results),
        "headline": headline(results),
        "findings": [*findings(results.rows), *sentences_of(results.path)],
        "rests_on": {
            "replicates": {s: replicates_of(study, s) for s in results.names("setting")},
            "parameters": {"all": total, **statuses},
        },
        "files": FILES,
    }


def headline(results: ResultFolder) -> dict[str, Any] | None:
    """The difference that decides, in the setting nearest to play: the policy that is set against
    the reference in every cell, the other named ones over all places, and how often each wins.

    None where nothing is compared."""
    view = View.of(results)
    if view is None:
        return None
    cells = view.cells(outcome=view.outcome)
    where = ALL_PLACES if ALL_PLACES in set(cells["place"]) else view.place
    overall = (cells["place"] == where) & cells["policy"].isin(results.named)
    shown = cells[(cells["policy"] == view.policy) | overall]
    kept = [name for name in (*SCENE, *NUMBERS, *TOGETHER) if name in shown.columns]
    return {
        "setting": view.setting,
        "outcome": view.outcome,
        "policy": view.policy,
        "reference": results.reference,
        "margin": MARGIN,
        "verdicts": dict(verdicts(cells)),
        "cells": records(shown[kept]),
    }


def verdicts(cells: pd.DataFrame) -> Iterator[tuple[str, dict[str, int]]]:
    """How often each policy wins, loses and so on, the mean over places left out."""
    for policy, own in cells[cells["place"] != ALL_PLACES].groupby("policy", sort=False):
        yield str(policy), dict(counted(own))
