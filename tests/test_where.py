"""Where points come from: the parts add up, and are what strokes and rallies give by hand."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from fixture_folder import pages_of
from matplotlib.patches import Rectangle
from scipy.stats import t, ttest_rel
from tiny_study import only, run_tiny

from experiments.notebook import load
from experiments.report.apart import PURPOSE
from experiments.report.figures import plan
from experiments.report.pictures import pictures
from experiments.report.study_text import study_text
from experiments.report.tables import outcome_tables
from experiments.report.where import sure_parts, where_sentences, where_tables
from experiments.study.result_folder import ResultFolder
from experiments.study.where import AT_SERVE, PLACE, SPLITS, TIME

RALLIES = 240
MORE, FEWER = "points_more_than_middle_per_100", "missed_fewer_than_middle_per_100"
OFF_M = {"middle": (0, 1), "off centre": (1, 2.5), "corner": (2.5, 4.115), "wide": (4.115, 99)}


def rows(table: pd.DataFrame, **labels: str) -> pd.DataFrame:
    """The rows of a table with these labels."""
    for name, value in labels.items():
        table = table[table[name] == value]
    return table


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    study = only(
        "rally",
        settings=["rally", "returning", "serving"],
        levels=["college-man"],
        hand="left",
        policies=["middle", "linear-shade,shade_m_per_m=0", "bisector"],
        rallies=RALLIES,
        stroke_rows_per_cell=RALLIES,
        headline={},
    )
    return run_tiny(study, tmp_path_factory.mktemp("where") / "out")


@pytest.fixture(scope="module")
def where(folder: Path) -> pd.DataFrame:
    return load(folder).where


@pytest.fixture(scope="module")
def cells(folder: Path) -> pd.DataFrame:
    return load(folder).cells


# --- the numbers ------------------------------------------------------------------------------


@pytest.mark.parametrize("outcome", [MORE, FEWER])
@pytest.mark.parametrize("setting", ["rally", "returning", "serving"])
def test_each_split_adds_up_to_the_difference_of_the_cell(
    where: pd.DataFrame, cells: pd.DataFrame, outcome: str, setting: str
) -> None:
    mine = {"policy": "bisector", "outcome": outcome, "setting": setting}
    whole = rows(cells, **mine)["estimate"].iloc[0]
    sums = rows(where, **mine).groupby("split")["estimate"].sum()
    assert set(sums.index) == set(SPLITS) and whole != 0
    np.testing.assert_allclose(sums, whole, atol=1e-4)


def test_points_lost_add_up_to_those_not_won(where: pd.DataFrame, cells: pd.DataFrame) -> None:
    lost = where[where["outcome"] == "lost_here_per_100"]
    for (setting, policy, _), own in lost.groupby(["setting", "policy", "split"]):
        won = rows(cells, policy=policy, setting=setting, outcome="points_won_per_100")
        assert own["estimate"].sum() == pytest.approx(100 - won["estimate"].iloc[0], abs=1e-4)


def test_a_policy_that_is_the_reference_by_another_name_differs_in_no_part(
    where: pd.DataFrame,
) -> None:
    same = where[(where["policy"] == "linear-shade 0.00") & where["outcome"].isin([MORE, FEWER])]
    assert len(same) > 20 and (same[["estimate", "low", "high"]] == 0).all(axis=None)


def test_what_is_lost_at_the_serve_does_not_depend_on_the_policy(where: pd.DataFrame) -> None:
    served = where[(where["part"] == AT_SERVE) & (where["outcome"] == MORE)]
    assert set(served["setting"]) == {"returning", "serving"} and (served["estimate"] == 0).all()
    lost = where[(where["part"] == AT_SERVE) & (where["outcome"] == "lost_here_per_100")]
    assert (lost["estimate"] > 0).all()


@pytest.mark.parametrize("zone", list(OFF_M))
def test_balls_and_misses_of_a_zone_are_those_of_the_stored_strokes(
    folder: Path, where: pd.DataFrame, zone: str
) -> None:
    """Counted anew from every stroke that was played, by the words of the data dictionary."""
    strokes = load(folder).strokes.query("setting == 'returning' and policy == 'middle'")
    low, high = OFF_M[zone]
    off, struck = strokes["hitter_x_m"].abs(), strokes["side"] == "opponent"
    here = struck & (strokes["outcome"] == "in") & ~strokes["kind"].str.contains("serve")
    here &= (off >= low) & (off < high) & (strokes["hitter_y_m"] >= 11.885 - 2.0)
    own = rows(where, setting="returning", policy="middle", split=PLACE, part=zone)
    found = own.set_index("outcome")["estimate"]
    assert found["balls_here_per_100"] == pytest.approx(100 * here.sum() / RALLIES, rel=1e-5)
    missed = 100 * (strokes.loc[here, "grade"] == "missed").mean()
    assert found["missed_here_per_100"] == pytest.approx(missed, rel=1e-5)


def test_intervals_of_a_part_are_those_of_a_paired_test(folder: Path, where: pd.DataFrame) -> None:
    """Outside value: `scipy.stats.ttest_rel` on points lost there; and q^2/2 rallies of a point."""
    own = rows(load(folder).rally_rows, setting="returning")
    lost = own.assign(lost=(1 - own["points"]) * (own["last_from"] == "corner"))
    by = lost.pivot(index="replicate", columns="policy", values="lost").astype(float)
    plain = ttest_rel(by["middle"], by["bisector"]).confidence_interval()
    q = t.ppf(0.975, RALLIES - 1)
    half = np.hypot(50 * (plain.high - plain.low), q * q * 100 / RALLIES / np.sqrt(2))
    cell = rows(where, setting="returning", policy="bisector", part="corner", outcome=MORE).iloc[0]
    middle = 50 * (plain.high + plain.low)
    np.testing.assert_allclose(cell["estimate"], middle, rtol=1e-5, atol=1e-9)
    np.testing.assert_allclose([cell["low"], cell["high"]], [middle - half, middle + half], 1e-5)


def test_missed_are_the_balls_that_one_was_late_for(where: pd.DataFrame) -> None:
    fewer = where[(where["split"] == TIME) & (where["outcome"] == FEWER)]
    assert len(fewer) and fewer["part"].str.startswith("late").all()


# --- what is said -----------------------------------------------------------------------------


def test_only_parts_whose_printed_interval_leaves_out_zero_are_named() -> None:
    parts = pd.DataFrame(
        {
            "part": ["corner", "wide", "short"],
            "estimate": [2.0, 1.0, -0.5],
            "low": [1.0, 0.04, -1.0],
            "high": [3.0, 2.0, 0.2],
        }
    )
    assert sure_parts(parts) == "corner +2.0 (+1.0 to +3.0), the others together +0.5"
    assert sure_parts(parts[1:]) == "no part is sure by itself"
    assert sure_parts(parts[:1]) == "corner +2.0 (+1.0 to +3.0)"


def test_report_terminal_and_summary_say_where_points_come_from(folder: Path) -> None:
    results = ResultFolder.read(folder)
    said = list(where_sentences(results))
    assert [s.split(". ")[0].split(", ")[2] for s in said] == ["rally", "returning", "serving"]
    text, page = study_text(folder, 3), pages_of(folder)
    assert all(f"- {s}" in text for s in said) and 'id="where"' in page
    assert all(s.split(":")[0] in page for s in said)
    assert said[0] in load(folder)._folder.path.joinpath("summary.json").read_text("utf-8").replace(
        "\\u2212", "\u2212"
    )
    for table in where_tables(results):
        assert [split for split, _ in table.splits] == list(SPLITS)
        assert all(
            len(values) == len(table.heads) for _, rows in table.splits for _, values in rows
        )
    assert [t.is_open for t in where_tables(results)].count(True) == 1


def test_each_number_is_told_with_what_it_is_for(folder: Path) -> None:
    text = study_text(folder, 3)
    for number in ("whole points", "from the spot"):
        assert f"This is {PURPOSE[number]}." in text
    assert text.index("the score") < text.index("the drill")


def test_beside_points_stand_the_balls_reached_in_time(folder: Path, cells: pd.DataFrame) -> None:
    results = ResultFolder.read(folder)
    for outcome, signed in ((MORE, True), ("points_won_per_100", False)):
        for table in outcome_tables(results, outcome, signed):
            setting = re.split("[:,]", table.caption)[0]
            for policy, (value,) in table.groups[0].rows:
                share = rows(cells, setting=setting, policy=policy, outcome="share_in_time")
                assert value.in_time == f"{100 * share['estimate'].iloc[0]:.1f} in time"
    assert all(
        not value.in_time
        for table in outcome_tables(results, FEWER, True)
        for _, values in table.groups[0].rows
        for value in values
    )


def test_the_picture_has_a_bar_for_each_part(folder: Path, where: pd.DataFrame) -> None:
    figure = plan(ResultFolder.read(folder))["where-returning"]()
    for column, outcome in enumerate((MORE, FEWER)):
        own = rows(where, setting="returning", policy="bisector", outcome=outcome)
        own = own[own["part"] != AT_SERVE]
        axes = figure.axes[column::2]
        bars = [p for ax in axes for p in ax.patches if isinstance(p, Rectangle)]
        np.testing.assert_allclose([b.get_width() for b in bars], own["estimate"])
    names = [p.name for p in pictures(ResultFolder.read(folder))]
    assert {"where-rally", "where-returning", "where-serving"} <= set(names)
