"""A wished precision: looks at sizes that double, kept blocks, the cap, and runs that repeat."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from fixture_folder import pages_of
from scipy import stats
from test_resume import interrupted
from tiny_study import only, run_tiny, tiny_study, without_pages

from experiments.command.main import main
from experiments.report import run as shown_run
from experiments.statistics.estimates import Difference
from experiments.statistics.group_sequential import boundary, doubled
from experiments.study import runner
from experiments.study.design import Study
from experiments.study.file import changed_study, load_study
from experiments.study.plan import plan_text, precision_words
from experiments.study.precision import needed_for, sentences_of
from experiments.study.settings import BLOCK_SIZE, blocks
from sim.errors import InputError

TABLES = ("study.toml", "strokes.parquet", "summary.json", "cells.csv", "precision.csv")
POLICIES = ["middle", "bisector"]
WISHED = tiny_study(
    settings=["placed", "rally"],
    opponents=["habit"],
    policies=POLICIES,
    rallies=20,
    stroke_rows_per_cell=50,
    precision=4.0,
)


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in TABLES}


def manifest_of(folder: Path) -> dict[str, Any]:
    return json.loads((folder / "manifest.json").read_text())


def looks_of(folder: Path) -> pd.DataFrame:
    return pd.read_csv(folder / "precision.csv").set_index("setting")


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study with a wished precision, once."""
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(WISHED, tmp_path_factory.mktemp("runs") / "first")


# --- sizes and blocks -------------------------------------------------------------------------


def test_looks_go_on_until_the_widest_interval_is_narrow_enough(run: Path) -> None:
    looks, cells = looks_of(run), pd.read_csv(run / "cells.csv")
    differences = cells[cells["outcome"] == "missed_fewer_than_middle_per_100"]
    half = (differences["high"] - differences["low"]) / 2
    for setting, first in (("placed", 40), ("rally", 20)):
        at = looks.loc[setting]
        assert at["replicates"] == first * 2 ** (at["looks"] - 1) and at["looks"] >= 2
        widest = half[differences["setting"] == setting].max()
        assert widest == pytest.approx(at["half_width"], rel=1e-4)
        assert widest <= 4.0 and bool(at["met"])
        balls = differences[
            (differences["setting"] == setting) & (differences["place"] == "corner")
        ]
        assert (balls["n"] == at["replicates"]).all()


def test_no_look_was_made_in_vain(run: Path, tmp_path: Path) -> None:
    """At the look before, of half the size, the widest interval is too wide, in each setting."""
    study = load_study(run / "study.toml")
    reached = {
        setting: at.model_copy(update={"replicates": at.replicates // 2, "looks": at.looks - 1})
        for setting, at in study.reached.items()
    }
    before = study.model_copy(update={"reached": reached})
    looks = looks_of(run_tiny(before, tmp_path / "before"))
    assert not looks["met"].any()


def test_further_looks_only_add_blocks_at_the_end() -> None:
    whole = blocks(WISHED, {"placed": 3, "rally": 5})
    for made in ({"placed": 1, "rally": 1}, {"placed": 3, "rally": 3}, {"placed": 3, "rally": 4}):
        assert blocks(WISHED, made) == whole[: len(blocks(WISHED, made))]
    for scenario in {b.scenario for b in whole}:
        own = [b for b in whole if b.scenario == scenario]
        covered = [r for b in own for r in range(b.first, b.first + b.count)]
        assert covered == list(range({"placed": 160, "rally": 320}[scenario.setting]))
    large = only("rally", rallies=3000, precision=1.0)
    counts = [b.count for b in blocks(large, {"rally": 3})]
    assert counts == [3000, 3000, BLOCK_SIZE["rally"], 2000]


# --- the same bytes ---------------------------------------------------------------------------


def test_the_resolved_study_plays_just_that_again(run: Path, tmp_path: Path) -> None:
    study = load_study(run / "study.toml")
    assert study.reached is not None and set(study.reached) == {"placed", "rally"}
    again = run_tiny(study, tmp_path / "again", seed=None)
    assert contents(again) == contents(run)
    assert manifest_of(again)["precision"] == manifest_of(run)["precision"]


def test_workers_do_not_matter(run: Path, tmp_path: Path) -> None:
    assert contents(run_tiny(WISHED, tmp_path / "out", workers=2)) == contents(run)


@pytest.mark.parametrize("after", [1, 6, 9])
def test_blocks_of_earlier_looks_are_kept(run: Path, tmp_path: Path, after: int) -> None:
    """Four blocks a look: interrupted in the first, the second, the third."""
    interrupted(WISHED, tmp_path / "out", after)
    out = run_tiny(WISHED, tmp_path / "out", resume=True)
    assert contents(out) == contents(run) and manifest_of(out)["blocks_kept"] == after


def test_killed_after_the_sizes_were_written_down(
    run: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(runner, "write_tables", stop)
    with pytest.raises(KeyboardInterrupt):
        run_tiny(WISHED, tmp_path / "out")
    monkeypatch.undo()
    without_pages(monkeypatch)
    kept = len(list((tmp_path / "out.partial" / "blocks").iterdir()))
    played = "experiments.study.workers.play_block"
    monkeypatch.setattr(played, lambda *_: pytest.fail("played again"))
    out = run_tiny(WISHED, tmp_path / "out", resume=True)
    assert contents(out) == contents(run) and manifest_of(out)["blocks_kept"] == kept


def test_another_wish_is_another_study(tmp_path: Path) -> None:
    interrupted(WISHED, tmp_path / "out", 1)
    other = changed_study(WISHED, "test", precision=3.0)
    with pytest.raises(InputError, match=r"precision of the study is 4\.0 in the run and 3\.0 now"):
        run_tiny(other, tmp_path / "out", resume=True)


def test_rows_stand_in_the_order_of_the_replicates(run: Path) -> None:
    """Though the first rows of a cell come from several looks."""
    table = pd.read_parquet(run / "strokes.parquet")
    rally = table[table["setting"] == "rally"]
    assert rally["replicate"].max() == 49
    labels = ["setting", "place", "policy"]
    runs = (table[labels].astype(str) != table[labels].astype(str).shift()).any(axis=1).cumsum()
    for _, part in table.groupby([*labels, runs], observed=True):
        assert np.array_equal(np.lexsort((part["stroke"], part["replicate"])), np.arange(len(part)))
    # A scenario's rows stand together, its policies in turn by block.
    scenarios = (table[labels[:2]].astype(str) != table[labels[:2]].astype(str).shift()).any(axis=1)
    assert scenarios.sum() == 4


# --- intervals --------------------------------------------------------------------------------


def test_all_looks_that_may_come_widen_the_intervals(tmp_path: Path) -> None:
    """Outside value: Student's quantiles at the level of the boundary for seven looks."""
    study = only("placed", policies=POLICIES)
    plain = pd.read_csv(run_tiny(study, tmp_path / "plain") / "cells.csv")
    wished = changed_study(study, "test", precision=100.0)
    looked = pd.read_csv(run_tiny(wished, tmp_path / "looked") / "cells.csv")
    assert (plain["estimate"] == looked["estimate"]).all()
    c = boundary(doubled(7), 0.95)
    wider = stats.t.ppf(stats.norm.cdf(c), 39) / stats.t.ppf(0.975, 39)
    at = plain["outcome"] == "time_to_spare_more_than_middle_s"
    widths = [(t["high"] - t["low"])[at].item() for t in (plain, looked)]
    assert widths[1] / widths[0] == pytest.approx(wider, rel=1e-4)
    shares = plain["outcome"] == "missed_per_100"
    assert (looked["high"][shares] > plain["high"][shares]).all()
    together = [(t["high_together"] - t["low_together"])[at].item() for t in (plain, looked)]
    assert together == widths  # one policy is compared


def test_the_guess_is_right_where_the_spread_stays() -> None:
    for se, step in ((0.8, 0.0), (0.0, 0.5), (0.8, 0.5)):
        found = Difference(0.0, 0.0, 0.0, se, 400, 400.0, step, 1.0).at(0.99)
        needed = needed_for(found, 400, 1.0, 0.99)
        x = 400 / needed
        then = Difference(0, 0, 0, se * x**0.5, 400, 400.0, step * x, 1.0).at(0.99)
        assert then.high == pytest.approx(1.0, rel=2e-3)


# --- the cap, and what is said ----------------------------------------------------------------


def test_the_cap_is_told_plainly(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = only("placed", policies=POLICIES, precision=0.5, most_replicates=170)
    out = run_tiny(study, tmp_path / "out", progress=True)
    at = looks_of(out).loc["placed"]
    assert (at["replicates"], at["looks"], at["most_replicates"]) == (160, 3, 170)
    assert not at["met"] and at["half_width"] > 0.5 and at["needed"] > 170
    (said,) = sentences_of(out)
    assert (
        "the wished 0.5 in 100 is NOT reached" in said and "no look goes beyond 170 balls" in said
    )
    assert "(bisector, club-adult, habit, corner)" in said and "would take about" in said
    assert manifest_of(out)["precision"] == said
    shown = capsys.readouterr().err
    assert "with 40 balls a cell" in shown and "next look at 80, none beyond 160" in shown
    assert said in shown


def test_the_report_says_it(run: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    folder = shutil.copytree(run, tmp_path / "copy")
    shown_run.write_report_page(folder)
    page = pages_of(folder)
    for said in sentences_of(run):
        assert said.split(" (")[0] in page


def test_what_cannot_be_is_refused(tmp_path: Path) -> None:
    def refused(message: str, **changes: Any) -> None:
        with pytest.raises(InputError, match=message):
            changed_study(WISHED, "the test's study", **changes)

    refused("precision: .*greater than 0", precision=0.0)
    refused("precision needs a policy to compare", policies=["middle"])
    refused("most_replicates needs the key precision", precision=None, most_replicates=100)
    refused("most_replicates is 30, below the 40 of the first look", most_replicates=30)
    at = {"replicates": 40, "looks": 1, "most_replicates": 2560}
    refused("reached must name the study's settings", reached={"placed": at})
    for wrong in ({"replicates": 50}, {"looks": 9, "replicates": 10_240}, {"most_replicates": 99}):
        both = {
            "placed": {**at, **wrong},
            "rally": {**at, "replicates": 20, "most_replicates": 1280},
        }
        refused("reached in the setting 'placed' is not what", reached=both)


def test_the_command_takes_the_wish(tmp_path: Path, run: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text(changed_study(WISHED, "test", precision=None).toml())
    command = ["study", str(path), "--out", str(tmp_path / "out"), "--seed", "3", "--workers", "1"]
    done = CliRunner().invoke(main, [*command, "--precision", "4"])
    assert done.exit_code == 0, done.output
    assert contents(tmp_path / "out") == contents(run)
    assert all(said in done.output for said in sentences_of(run))
    quiet = ["--out", str(tmp_path / "again"), "--workers", "1", "--quiet"]
    again = CliRunner().invoke(main, ["study", str(run / "study.toml"), *quiet])
    assert all(said in again.output for said in sentences_of(run)), "quiet or not"
    for options, message in (
        (["--precision", "-1"], "--precision: precision"),
        (["--most-replicates", "100"], "most_replicates needs the key precision"),
    ):
        wrong = CliRunner().invoke(main, [*command, *options, "--overwrite"])
        assert wrong.exit_code == 2 and message in wrong.output
    wrong = CliRunner().invoke(main, ["study", "--resume", "--precision", "1"])
    assert wrong.exit_code == 2 and "keeps the precision that it began with" in wrong.output


def test_the_plan_names_first_and_last_sizes(run: Path) -> None:
    assert precision_words(WISHED) == (
        "4 in 100: first as below, then twice as many; at most placed 2,560, rally 1,280"
    )
    done = load_study(run / "study.toml")
    assert "the sizes that a run came to" in precision_words(done)
    assert "the first look alone" in plan_text(WISHED, 1)
    assert "the first look alone" not in plan_text(done, 1)


def test_a_setting_without_a_comparison_has_nothing_to_look_at(tmp_path: Path) -> None:
    """Staying has no place where nothing came before."""
    study = only("placed", policies=["middle", "stay"], precision=1.0)
    out = run_tiny(study, tmp_path / "out")
    assert sentences_of(out) == [] and load_study(out / "study.toml").looks_made() == {"placed": 1}


def test_choices_are_played_once(monkeypatch: pytest.MonkeyPatch) -> None:
    choices = {"level": "club-adult", "opponent": "habit", "place": "corner", "rallies": 10}
    study: Study = only("rally", choices=choices, precision=1.0)
    tried = [b for b in blocks(study, {"rally": 4}) if b.scenario.choice is not None]
    assert len({b.scenario for b in tried}) == len(tried) and {b.count for b in tried} == {10}
