"""A study that races: who stops, what is written down and said, and runs that repeat."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner
from fixture_folder import pages_of
from test_resume import interrupted
from tiny_study import TINY, run_tiny, tiny_study, without_pages

from experiments.command.main import main
from experiments.report import run as shown_run
from experiments.report.race import races
from experiments.statistics.comparison import NOT_DECIDED
from experiments.statistics.estimates import Difference
from experiments.statistics.racing import standing
from experiments.study.columns import columns_of
from experiments.study.design import Study
from experiments.study.file import changed_study, load_study
from experiments.study.plan import plan_text, race_words
from experiments.study.race import BEST, CANNOT, CELL, MAY_BE, NO_BETTER, looks_sentences
from experiments.study.result_folder import ResultFolder
from experiments.study.settings import blocks
from sim.errors import InputError

TABLES = ("study.toml", "strokes.parquet", "summary.json", "cells.csv", "race.csv", "columns.csv")
RACE = tiny_study(
    settings=["placed", "rally"],
    levels=["college-man"],
    policies=[*tiny_study().policies, "linear-shade,shade_m_per_m=0.6"],
    race=8.0,
    placed_balls=80,
    rallies=80,
    most_replicates=700,
    stroke_rows_per_cell=50,
)
MORE = {"placed": "missed_fewer_than_middle_per_100", "rally": "points_more_than_middle_per_100"}


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The race, once."""
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(RACE, tmp_path_factory.mktemp("runs") / "first")


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in TABLES}


def race_of(folder: Path) -> pd.DataFrame:
    texts = {"own_stroke": object, "than": object, "verdict": object}
    return pd.read_csv(folder / "race.csv", dtype=texts).fillna(dict.fromkeys(texts, ""))


def cells_of(folder: Path) -> pd.DataFrame:
    return pd.read_csv(folder / "cells.csv", dtype={"own_stroke": object}).fillna(
        {"own_stroke": ""}
    )


# --- who stops --------------------------------------------------------------------------------


def difference(value: float, half: float) -> Difference:
    return Difference(value, value - half, value + half, half / 2, 100, 100.0)


def by_values(half: float, **values: float) -> Any:
    return lambda a, b: difference(values[a] - values[b], half)


def test_out_is_who_has_less_for_certain_and_the_choice_needs_no_rival_left() -> None:
    more = by_values(1.0, middle=0.0, a=4.0, b=3.5, c=2.9)
    at = standing(["middle", "a", "b", "c"], "middle", more, 0.49)
    assert at.leader == "a" and at.left == ("a", "b")  # the reference is out, too
    assert not at.chosen and at.open == ()
    assert standing(["middle", "a", "b", "c"], "middle", more, 0.5).chosen
    assert at.going_on(False) == {"a", "b"}


def test_who_plays_on() -> None:
    more = by_values(1.0, middle=0.0, a=4.0, b=-0.9, c=0.4)
    at = standing(["middle", "a", "b", "c"], "middle", more, 2.0)
    assert at.left == ("a",) and at.chosen and at.open == ("b", "c")
    assert at.going_on(False) == set() and at.going_on(True) == {"a", "b", "c"}
    close = standing(["middle", "a"], "middle", by_values(1.0, middle=0.0, a=0.4), 2.0)
    assert close.chosen and close.left == ("middle", "a")
    assert close.going_on(False) == {"middle", "a"}, "the leader has no verdict yet"


def test_where_nothing_is_counted_everybody_plays_on() -> None:
    nan = float("nan")
    at = standing(["middle", "a"], "middle", by_values(nan, middle=0.0, a=nan), 50.0)
    assert at.left == ("middle", "a") and not at.chosen
    assert at.going_on(False) == {"middle", "a"}


def test_the_run_stopped_whom_its_cells_say(run: Path) -> None:
    """As far as the cells tell: who plays to the end of a cell, and when a cell ends."""
    race, cells = race_of(run), cells_of(run)
    assert set(race["ended"]) <= {BEST, NO_BETTER, MAY_BE, CANNOT} and race["looks"].nunique() > 1
    for labels, own in race.groupby(list(CELL)):
        setting, longest = labels[0], own["looks"].max()
        assert (own["replicates"] == 80 * 2 ** (own["looks"] - 1)).all()
        assert own.loc[own["policy"] == "middle", "looks"].item() == longest
        assert (own.loc[own["looks"] < longest, "ended"] == CANNOT).all()
        assert (own["ended"] == BEST).sum() + (own["ended"] == MAY_BE).any() == 1
        certain = own[own["ended"] == CANNOT]
        assert (certain["behind_per_100_low"] > 0).all() and (certain["than"] != "").all()
        others = own[own["ended"] == NO_BETTER]
        assert (others["behind_per_100_low"] >= -8.0).all()
        if (own["ended"] == BEST).any():
            left = own[own["ended"].isin([BEST, NO_BETTER]) & (own["policy"] != "middle")]
            here = cells[
                (cells[list(CELL)] == list(labels)).all(axis=1)
                & cells["policy"].isin(left["policy"])
                & (cells["outcome"] == MORE[setting])
            ]
            at_cap = longest == 4
            assert at_cap or (here["verdict"] != NOT_DECIDED).all()
        else:
            assert longest == 4, "open only at the cap"


def test_the_race_says_what_the_cells_say(run: Path) -> None:
    """Verdicts, and the intervals against the reference: those of the cells that hold together."""
    cells, seen = cells_of(run), 0
    for row in race_of(run).to_dict("records"):
        if row["policy"] == "middle":
            assert row["verdict"] == ""
            continue
        cell = cells[
            (cells[list(CELL)] == [row[label] for label in CELL]).all(axis=1)
            & (cells["policy"] == row["policy"])
            & (cells["outcome"] == MORE[row["setting"]])
        ]
        assert cell["n"].item() == row["replicates"]
        assert cell["verdict"].item() == row["verdict"]
        if row["than"] == "middle":
            seen += 1
            ends = [-cell["high_together"].item(), -cell["low_together"].item()]
            assert [row["behind_per_100_low"], row["behind_per_100_high"]] == pytest.approx(
                ends, rel=1e-5
            )
    assert seen


def test_verdicts_for_all_take_longer(run: Path, tmp_path: Path) -> None:
    study = changed_study(RACE, "test", race_verdicts=True)
    longer = race_of(run_tiny(study, tmp_path / "out"))
    both = longer.merge(race_of(run), on=[*CELL, "policy"], suffixes=("", "_before"))
    assert (both["looks"] >= both["looks_before"]).all()
    assert (both["looks"] > both["looks_before"]).any()


# --- the same bytes ---------------------------------------------------------------------------


def test_the_resolved_study_plays_just_that_again(run: Path, tmp_path: Path) -> None:
    study = load_study(run / "study.toml")
    assert study.raced is not None and len(study.raced) == len(list(study.cells()))
    played = {(*cell.cell, p): n for cell in study.raced for p, n in cell.looks.items()}
    for row in race_of(run).to_dict("records"):
        label = (*(row[name] or None for name in CELL), row["policy"])
        assert played.pop(label) == row["looks"]
    assert not played
    again = run_tiny(study, tmp_path / "again", seed=None)
    assert contents(again) == contents(run)


def test_workers_do_not_matter(run: Path, tmp_path: Path) -> None:
    assert contents(run_tiny(RACE, tmp_path / "out", workers=2)) == contents(run)


@pytest.mark.parametrize("after", [3, 9, 13])
def test_an_interrupted_race_goes_on(run: Path, tmp_path: Path, after: int) -> None:
    """Interrupted in the first look (8 blocks), and in later ones."""
    interrupted(RACE, tmp_path / "out", after)
    out = run_tiny(RACE, tmp_path / "out", resume=True)
    assert contents(out) == contents(run)
    assert json.loads((out / "manifest.json").read_text())["blocks_kept"] == after


def test_further_looks_only_add_blocks_at_the_end(run: Path) -> None:
    whole, study = blocks(load_study(run / "study.toml")), RACE
    first = blocks(study)
    assert [(b.scenario, b.first, b.count) for b in whole[: len(first)]] == [
        (b.scenario, b.first, b.count) for b in first
    ]
    assert not any(b.policies for b in whole[: len(first)]), "all play to the first look"
    assert any(b.policies for b in whole[len(first) :])


# --- what is said -----------------------------------------------------------------------------


def test_sentences_table_and_columns(run: Path) -> None:
    race, said = race_of(run), looks_sentences(run)
    assert len(said) == 2
    for setting, sentence in zip(("placed", "rally"), said, strict=True):
        own = race[race["setting"] == setting]
        found, total = (own["ended"] == BEST).sum(), own.groupby(list(CELL)).ngroups
        verdicts = own["verdict"].isin(["wins", "loses", "as good"]).sum()
        assert f"found the best in {found} of {total} cells" in sentence
        assert f"a verdict on {verdicts} of {len(own) - total} policies" in sentence
        assert f"with {own['replicates'].sum():,} " in sentence
    assert "No look goes beyond 700: raise most_replicates" in said[1]
    assert json.loads((run / "manifest.json").read_text())["race"] == " ".join(said)
    assert set(said) < set(json.loads((run / "summary.json").read_text())["findings"])
    assert all(c.meaning for c in columns_of(run) if c.table == "race")
    rows = races(ResultFolder.read(run))
    assert len(rows) == 8 and all(row.best for row in rows)
    stopped = race[race["ended"] == CANNOT]
    assert sum(row.cannot.count("behind") for row in rows) == len(stopped)


def test_the_report_says_it(run: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures and page are made of a folder whose policies played unlike numbers."""
    monkeypatch.undo()
    folder = shutil.copytree(run, tmp_path / "copy")
    shown_run.write_pictures(folder)
    shown_run.write_report_page(folder)
    page = pages_of(folder)
    assert "The race, cell by cell" in page and "by more than 8 in 100" in " ".join(page.split())
    for sentence in looks_sentences(run):
        assert sentence in page


def test_the_plan_names_first_and_last_sizes(run: Path) -> None:
    assert race_words(RACE) == (
        "to within 8 in 100 of the best: first as below, then twice as many; at most placed 640,"
        " rally 640; policies that cannot be the best any more stop, cell by cell"
    )
    assert "and have a verdict stop" in race_words(changed_study(RACE, "t", race_verdicts=True))
    done = load_study(run / "study.toml")
    assert "at most the sizes that a run came to" in race_words(done)
    assert "the first look alone" in plan_text(RACE, 1)
    assert "the first look alone" not in plan_text(done, 1)


# --- what cannot be ---------------------------------------------------------------------------


def test_what_cannot_be_is_refused(run: Path) -> None:
    def refused(message: str, study: Study = RACE, **changes: Any) -> None:
        with pytest.raises(InputError, match=message):
            changed_study(study, "the test's study", **changes)

    refused("race: .*greater than 0", race=0.0)
    refused("race needs a policy to compare", policies=["middle"])
    refused("race and precision exclude each other", precision=1.0)
    refused("most_replicates needs the key precision or the key race", race=None)
    refused("race_verdicts needs the key race", race=None, most_replicates=None, race_verdicts=True)
    factors = {"vary": [{"name": "legs.top_speed_m_s", "of": "studied", "plus": [0.0, -1.0]}]}
    refused("race and factors exclude each other", factors=factors)
    done = load_study(run / "study.toml")
    raced = [cell.model_dump(exclude_none=True) for cell in done.raced or ()]
    refused("raced needs the key race", done, race=None, most_replicates=None)
    refused("raced must hold each cell", done, raced=raced[1:])
    refused("raced must hold each cell", done, raced=[*raced[1:], {**raced[0], "place": "moon"}])
    refused("raced must hold each cell", done, raced=[raced[0], *raced[:-1]])
    wrong = dict(raced[0]["looks"])
    refused("looks must name middle", done, raced=[{**raced[0], "looks": {"you": 1}}, *raced[1:]])
    wrong["middle"] = 9
    refused("allowed are up to 4 looks", done, raced=[{**raced[0], "looks": wrong}, *raced[1:]])
    short = {name: 2 for name in wrong} | {"middle": 1}
    refused("as many for 'middle'", done, raced=[{**raced[0], "looks": short}, *raced[1:]])
    refused("looks", done, raced=[{**raced[0], "looks": {**short, "middle": 0}}, *raced[1:]])


def test_the_command_takes_the_wish(tmp_path: Path, run: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text(changed_study(RACE, "test", race=None, most_replicates=None).toml())
    command = ["study", str(path), "--out", str(tmp_path / "out"), "--seed", "3", "--workers", "1"]
    done = CliRunner().invoke(main, [*command, "--race", "8", "--most-replicates", "700"])
    assert done.exit_code == 0, done.output
    assert contents(tmp_path / "out") == contents(run)
    assert all(said in done.output for said in looks_sentences(run))
    wrong = CliRunner().invoke(main, [*command, "--race", "-1", "--overwrite"])
    assert wrong.exit_code == 2 and "--race: race" in wrong.output
    wrong = CliRunner().invoke(main, ["study", "--resume", "--race", "1"])
    assert wrong.exit_code == 2 and "keeps the precision that it began with" in wrong.output


@pytest.mark.parametrize("wish", [["--precision", "20"], ["--race", "5"]])
def test_precision_and_race_take_each_others_place(tmp_path: Path, wish: list[str]) -> None:
    path = tmp_path / "study.toml"
    before = "race = 3.0\nrace_verdicts = true" if "--precision" in wish else "precision = 3.0"
    path.write_text(f"{before}\n{TINY}")
    done = CliRunner().invoke(main, ["study", str(path), "--check", *wish])
    assert done.exit_code == 0, done.output
    lines = [line for line in done.output.splitlines() if line.startswith(("precision ", "race "))]
    assert len(lines) == 1 and lines[0].startswith(wish[0].removeprefix("--"))


def test_a_race_leaves_choices_and_worlds_alone() -> None:
    choices = {"level": "club-adult", "opponent": "habit", "place": "corner", "rallies": 10}
    study = changed_study(RACE, "test", choices=choices, levels=["club-adult"])
    tried = [b for b in blocks(study) if b.scenario.choice is not None]
    assert tried and {b.count for b in tried} == {10} and not any(b.policies for b in tried)


def test_a_study_without_a_race_says_nothing_of_it(tmp_path: Path) -> None:
    text = tiny_study().toml()
    assert "race" not in text
    out = run_tiny(changed_study(tiny_study(), "t", settings=["placed"]), tmp_path / "out")
    assert not (out / "race.csv").exists() and looks_sentences(out) == []
    assert races(ResultFolder.read(out)) == []
