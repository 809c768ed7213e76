"""The case against the claim: read from the stored folders, the most damaging first."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pandas as pd
import pytest

from experiments.claims.against import Attack, attacks, estimate, ordered, page
from experiments.study.folder_files import held
from sim.errors import InputError

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "results"
MEASURED = [a for a in attacks() if a.left]


def test_what_leaves_least_comes_first_and_what_is_not_measured_last() -> None:
    shares = [share for _, share in ordered(RESULTS)]
    measured = [share for share in shares if share is not None]
    assert len(measured) == len(MEASURED) > 4
    assert measured == sorted(measured)
    assert all(share is None for share in shares[len(measured) :])


@pytest.mark.parametrize("attack", MEASURED, ids=lambda a: a.says)
def test_headline_and_what_is_left_are_of_the_tables(attack: Attack) -> None:
    """Each number found again in the folder's table by its labels alone."""
    for asked in (attack.headline, attack.left):
        if asked.get("read", "cell") != "cell":
            continue
        table = pd.read_csv(held(RESULTS / asked["folder"], "cells.csv"))
        for name, value in {"setting": "rally", **asked["of"]}.items():
            table = table[table[name] == value]
        assert table["estimate"].tolist() == [estimate(RESULTS, asked)]


def test_the_order_follows_the_numbers(tmp_path: Path) -> None:
    """With one number of a folder made smaller, the attack that it belongs to comes first."""
    shutil.copytree(RESULTS, tmp_path / "results")
    last = [a for a, share in ordered(RESULTS) if share is not None][-1]
    path = held(tmp_path / "results" / last.left["folder"], "cells.csv")
    table = pd.read_csv(path)
    rows = pd.Series(True, index=table.index)
    for name, value in {"setting": "rally", **last.left["of"]}.items():
        rows &= table[name] == value
    assert rows.sum() == 1
    table.loc[rows, "estimate"] = -1000.0
    table.to_csv(path, index=False)
    manifest = path.parent / "manifest.json"
    said = json.loads(manifest.read_text("utf-8"))
    del said["files"]["cells.csv"]  # a changed table would be refused
    manifest.write_text(json.dumps(said), "utf-8")
    assert ordered(tmp_path / "results")[0][0] == last


def test_a_folder_that_is_missing_is_said(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        page(tmp_path)
