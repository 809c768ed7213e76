"""Studies over worlds: the file, what other levels make of it, what is played, kept and said."""

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
from some_worlds import NAMES, alike, drawn, written
from test_resume import interrupted
from tiny_study import only, run_tiny, tiny_study, without_pages

from experiments.claims.register import counts, of_cell
from experiments.claims.tables import compared_words, read_cells, verdicts_in
from experiments.command.main import main
from experiments.report import run as shown_run
from experiments.report.page import write_report
from experiments.report.study_text import study_text
from experiments.report.worlds import sentences as world_sentences
from experiments.study import worlds as source
from experiments.study.cells import estimates
from experiments.study.design import Study
from experiments.study.design_points import game_at
from experiments.study.factor_names import Stated
from experiments.study.factors import Factors
from experiments.study.file import load_study
from experiments.study.plan import plan_text
from experiments.study.result_folder import ResultFolder
from experiments.study.settings import Block, blocks, evaluate, is_in_world, scenarios, slice_of
from experiments.study.world_cells import WORLD_COLUMNS, values_of
from experiments.study.worlds import EXTRAPOLATED, FITS, FactorOfWorlds, read_worlds, usual
from sim.errors import InputError

TABLES = ("study.toml", "cells.csv", "points.csv", "summary.json", "own/worlds.csv")
MORE = "points_more_than_middle_per_100"


def in_worlds(file: Path, **changes: Any) -> Study:
    values: dict[str, Any] = {
        "levels": ["club-adult", "professional-man"],
        "policies": ["middle", "bisector"],
        "opponents": ["habit"],
        "settings": ["placed", "rally"],
        "rallies": 100,
        "placed_balls": 100,
        "worlds": 3,
        "worlds_file": str(file),
    }
    return tiny_study(**{**values, **changes})


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return drawn(tmp_path_factory.mktemp("worlds") / "worlds.csv", 5)


@pytest.fixture(autouse=True)
def _no_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory, file: Path) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(in_worlds(file), tmp_path_factory.mktemp("runs") / "first")


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in TABLES}


# --- the file ---------------------------------------------------------------------------------


def test_a_file_is_read_with_its_names_and_values(file: Path) -> None:
    held = read_worlds(file)
    assert held.names == NAMES and len(held.rows) == 5
    table = pd.read_csv(file)
    assert np.array(held.rows) == pytest.approx(table[list(NAMES)].to_numpy())


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "must begin with the column 'world'"),
        ("number,legs.tau_s\n0,0.9\n1,0.9\n", "must begin with the column 'world'"),
        ("world\n0\n1\n", "then factors by name"),
        ("world,legs.tau\n0,0.9\n1,0.9\n", "unknown factor of a world 'legs.tau'. Did you mean"),
        ("world,surface\n0,clay\n1,hard\n", "unknown factor of a world 'surface'"),
        ("world,legs.tau_s,legs.tau_s\n0,0.9,1\n1,0.9,1\n", "'legs.tau_s' stands twice"),
        ("world,legs.tau_s\n0,0.9\n", "holds 1 worlds; allowed: 2 or more"),
        ("world,legs.tau_s\n0,0.9\n2,0.9\n", "row 2 must hold world 1 and 1 values; it holds '2'"),
        ("world,legs.tau_s\n0,0.9\n1,0.9,3\n", "row 2 must hold world 1 and 1 values"),
        ("world,legs.tau_s\n0,0.9\n1,fast\n", "world 1 has legs.tau_s 'fast'; allowed: a number"),
        ("world,legs.tau_s\n0,0.9\n1,nan\n", "world 1 has legs.tau_s 'nan'; allowed: a number"),
        ("world,legs.tau_s\n0,90\n1,0.9\n", "world 0 has legs.tau_s '90'; allowed: a number from"),
    ],
)
def test_what_cannot_be_worlds_is_refused(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(text, "utf-8")
    with pytest.raises(InputError) as caught:
        read_worlds(path)
    assert message in str(caught.value) and str(path) in str(caught.value)


def test_a_file_that_is_missing_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ValueError, match=r"none\.csv' does not exist"):
        in_worlds(tmp_path / "none.csv")
    monkeypatch.setattr(source, "FILE", "no-such-worlds.csv")
    with pytest.raises(ValueError, match="no file of worlds came with the program"):
        in_worlds(tmp_path, worlds_file=None)


def test_a_file_that_came_with_the_program_can_be_played() -> None:
    """Where there is one: its values fit the ranges, and all levels can be played in each world."""
    if source.resources.files("experiments.data").joinpath(source.FILE).is_file():
        count = len(read_worlds(source.packaged()).rows)
        assert tiny_study(worlds=count, worlds_file=None).varied is not None
        with pytest.raises(ValueError, match=f"worlds is {count + 1}; allowed: 2 to {count}"):
            tiny_study(worlds=count + 1, worlds_file=None)


def test_what_contradicts_itself_is_refused(file: Path) -> None:
    def refused(message: str, **changes: Any) -> None:
        with pytest.raises(ValueError, match=message):
            in_worlds(file, **changes)

    refused("worlds is 6; allowed: 2 to 5, as many as .* holds", worlds=6)
    refused("greater than or equal to 2", worlds=1)
    refused("world_rallies is 101; .* in the setting 'placed' 100 at most", world_rallies=101)
    factors = Factors.model_validate({"vary": [{"name": "legs.tau_s", "levels": [0.9]}]})
    refused("worlds and factors exclude each other", factors=factors)
    refused("world_rallies needs the key worlds", worlds=None, worlds_file=None, world_rallies=20)
    refused("worlds_file needs the key worlds", worlds=None)


# --- what a level makes of a world ------------------------------------------------------------


def test_professionals_get_the_values_themselves_and_others_their_relation() -> None:
    factor = FactorOfWorlds(name="legs.tau_s", levels=(0.9, 0.6), usual=0.8)
    assert factor.value(0, Stated(0.8, 0.7, 0.95, "s")) == 0.9
    assert factor.value(0, Stated(0.96, 0.8, 1.2, "s")) == pytest.approx(0.96 * 0.9 / 0.8)
    assert factor.carried(1, Stated(0.96, 0.8, 1.2, "s")) == (0.8, True)
    assert factor.carried(0, Stated(0.96, None, None, "s")) == (pytest.approx(1.08), False)


def test_where_the_default_is_0_a_world_is_added() -> None:
    factor = FactorOfWorlds(name="legs.tau_s", levels=(0.3,), usual=0.0)
    assert factor.value(0, Stated(0.1, 0.0, 1.0, "s")) == pytest.approx(0.4)
    assert factor.carried(0, Stated(0.9, 0.0, 1.0, "s")) == (1.0, True)


def test_the_points_are_the_rows_for_both_sides(file: Path) -> None:
    study, held = in_worlds(file), read_worlds(file)
    assert study.varied is not None
    pro = study.game("professional-man", "habit", "middle", 0)
    for world in range(3):
        game, _ = game_at(study.varied, world, pro, study.places[0].place)
        of_world = dict(zip(held.names, held.rows[world], strict=True))
        for side in (game.studied, game.opponent):
            assert side.player.legs.tau_s == of_world["legs.tau_s"]
            assert side.player.hitter.depth_sd_m == of_world["hitter.depth_sd_m"]
            assert side.shots.speed_share == of_world["shots.speed_share"]  # type: ignore[attr-defined]
    club = study.game("club-adult", "habit", "middle", 0)
    game, _ = game_at(study.varied, 0, club, study.places[0].place)
    ratio = held.rows[0][1] / usual()["legs.tau_s"].value
    assert game.studied.player.legs.tau_s == pytest.approx(club.studied.player.legs.tau_s * ratio)


def test_what_a_study_does_without_stays_out_of_its_worlds(tmp_path: Path) -> None:
    names = ("legs.run_on_share", "legs.tau_s")
    study = in_worlds(drawn(tmp_path / "w.csv", 3, names), without=("running-on",))
    assert study.varied is not None and [f.name for f in study.varied.all] == ["legs.tau_s"]
    with pytest.raises(ValueError, match=r"all factors in .* that the study does without"):
        in_worlds(drawn(tmp_path / "v.csv", 3, names[:1]), without=("running-on",))


def test_where_players_wait_and_recover_to_is_left_to_the_study(tmp_path: Path) -> None:
    names = ("waiting_depth_m", "legs.tau_s", "recovery.shade_m_per_m")
    file = written(tmp_path / "w.csv", names, [(1.9, 0.8, 0.3), (1.2, 0.9, 0.2)])
    study = in_worlds(file, worlds=2)
    assert study.varied is not None and [f.name for f in study.varied.all] == ["legs.tau_s"]


def test_a_world_that_contradicts_itself_is_named(tmp_path: Path) -> None:
    usually, most = "hitter.forehand_topspin_rpm", "hitter.most_topspin_rpm"
    rows = [[usual()[usually].value, usual()[most].value], [usual()[usually].high or 0.0, 2500.0]]
    assert (usual()[most].low or 0.0) <= 2500.0 < rows[1][0], "each inside its range"
    file = written(tmp_path / "w.csv", (usually, most), rows)
    with pytest.raises(
        ValueError, match=r"world 1, professional-man: .* usual topspin between the least"
    ):
        in_worlds(file, worlds=2)


# --- what is played ---------------------------------------------------------------------------


def test_a_world_plays_a_slice_of_the_study_s_own_replicates(file: Path) -> None:
    study = in_worlds(file, worlds=5, world_rallies=40, rallies=100)
    own = [b for b in blocks(study) if is_in_world(study, b.scenario)]
    assert len({b.scenario for b in own}) == len(own) == 5 * 2 * 2 * 2
    for block in own:
        assert block.count == 40 and block.first == 40 * (block.scenario.point or 0) % 80
        assert block.first == 40 * slice_of(study, block.scenario)


def test_all_worlds_cost_about_as_much_as_the_study(file: Path) -> None:
    study = in_worlds(file, worlds=5, rallies=1001, placed_balls=50)
    assert study.world_replicates("rally") == 201
    assert study.world_replicates("placed") == 20, "but no fewer than these"
    assert in_worlds(file, rallies=12).world_replicates("rally") == 12
    assert only("rally").world_replicates("rally") == 0


def test_looks_leave_the_worlds_alone(file: Path) -> None:
    study = in_worlds(file, precision=1.0, settings=["rally"])
    later = [b for b in blocks(study, {"rally": 3}) if b not in blocks(study, {"rally": 1})]
    assert later and not any(is_in_world(study, b.scenario) for b in later)


def test_outcomes_from_sums_are_those_of_the_estimates(file: Path) -> None:
    """Of the default world, summed over all halves: the value of every cell."""
    study = in_worlds(file, world_rallies=25, policies=["middle", "bisector", "stay"])
    for scenario in (s for s in scenarios(study) if s.point is None and s.place == "corner"):
        result = evaluate(study, 3, Block(scenario, 0, 100))
        for policy, tally in result.tallies.items():
            than = None if policy == "middle" else "middle"
            found = estimates(tally, 3.115, scenario.setting == "rally", than)
            sums = result.halves[policy]
            assert list(sums[:, 0]) == list(range(8))
            for name, estimate in found.items():
                value = values_of(sums[:, 1:].sum(axis=0), name, "middle", 3.115)
                assert value == pytest.approx(estimate.value, rel=1e-12, abs=1e-12), name


def test_a_study_without_worlds_keeps_no_halves_and_no_columns(tmp_path: Path) -> None:
    study = only("placed", policies=["middle", "bisector"])
    assert evaluate(study, 3, blocks(study)[0]).halves == {}
    cells = pd.read_csv(run_tiny(study, tmp_path / "out") / "cells.csv")
    assert not set(WORLD_COLUMNS) & set(cells.columns)


# --- the interval -----------------------------------------------------------------------------


def test_the_study_as_it_stands_is_what_it_is_without_worlds(
    run: Path, file: Path, tmp_path: Path
) -> None:
    plain = run_tiny(in_worlds(file, worlds=None, worlds_file=None), tmp_path / "plain")
    with_worlds = pd.read_csv(run / "cells.csv").drop(columns=list(WORLD_COLUMNS))
    pd.testing.assert_frame_equal(pd.read_csv(plain / "cells.csv"), with_worlds)
    assert (plain / "strokes.parquet").read_bytes() == (run / "strokes.parquet").read_bytes()


def test_every_cell_with_an_estimate_has_the_interval_of_worlds(run: Path) -> None:
    cells = pd.read_csv(run / "cells.csv")
    assert cells["estimate"].notna().all()
    assert (cells["world_low"] <= cells["world_high"]).all()
    assert cells["world_chance_share"].between(0, 1).all()
    differences = cells["outcome"].str.contains("_than_")
    assert cells.loc[~differences, "world_share"].isna().all()
    in_100 = differences & cells["outcome"].str.endswith("_per_100")
    assert cells["world_verdict"].notna().equals(in_100)
    professional = cells["level"] == "professional-man"
    assert set(cells.loc[professional, "world_basis"]) == {FITS}
    assert set(cells.loc[~professional, "world_basis"]) == {EXTRAPOLATED}
    missed = cells[cells["outcome"] == "missed_per_100"]
    assert (missed["world_high"] > missed["world_low"]).any(), "these worlds differ"


def test_worlds_that_are_the_default_one_have_no_width(tmp_path: Path) -> None:
    """The null: whatever chance does, all worlds have the study's own estimate."""
    study = in_worlds(alike(tmp_path / "worlds.csv", 4), worlds=4, levels=["professional-man"])
    cells = pd.read_csv(run_tiny(study, tmp_path / "out") / "cells.csv")
    assert (cells["high"] > cells["low"]).any()
    for end in ("world_low", "world_high"):
        assert cells[end].to_numpy() == pytest.approx(cells["estimate"].to_numpy(), abs=1e-6)
    assert cells["world_verdict"].dropna().equals(cells["verdict"].dropna())


def test_the_points_say_what_was_carried_over(run: Path) -> None:
    points = pd.read_csv(run / "points.csv")
    assert list(points["role"]) == ["world 0", "world 1", "world 2"] * 2
    assert set(points.columns) >= {"basis", "stopped", *NAMES}
    own = points[points["level"] == "professional-man"]
    assert (own["stopped"] == 0).all() and set(own["basis"]) == {FITS}
    columns = pd.read_csv(run / "columns.csv")
    of_worlds = columns[columns["column"].str.startswith(("world_", "basis", "stopped"))]
    assert len(of_worlds) == len(WORLD_COLUMNS) + 2 and of_worlds["meaning"].notna().all()


# --- the same bytes ---------------------------------------------------------------------------


def test_the_file_is_kept_with_its_hash(run: Path, file: Path) -> None:
    manifest = json.loads((run / "manifest.json").read_text())
    told = manifest["worlds"]
    assert (run / told["file"]).read_bytes() == file.read_bytes()
    assert told["sha256"] == manifest["files"]["own/worlds.csv"]
    assert (told["worlds"], told["of"]) == (3, 5)
    assert told["replicates"] == {"placed": 34, "rally": 34}


def test_a_run_from_the_folder_gives_the_same_bytes(run: Path, tmp_path: Path) -> None:
    again = run_tiny(load_study(run / "study.toml"), tmp_path / "again", seed=None)
    assert contents(again) == contents(run)


def test_workers_do_not_matter(run: Path, file: Path, tmp_path: Path) -> None:
    assert contents(run_tiny(in_worlds(file), tmp_path / "out", workers=2)) == contents(run)


def test_an_interrupted_run_goes_on(run: Path, file: Path, tmp_path: Path) -> None:
    interrupted(in_worlds(file), tmp_path / "out", 11)
    out = run_tiny(in_worlds(file), tmp_path / "out", resume=True)
    assert contents(out) == contents(run)
    assert json.loads((out / "manifest.json").read_text())["blocks_kept"] == 11


def test_other_worlds_are_another_study(file: Path, tmp_path: Path) -> None:
    interrupted(in_worlds(file), tmp_path / "out", 3)
    with pytest.raises(InputError, match="worlds of the study is 3 in the run and 4 now"):
        run_tiny(in_worlds(file, worlds=4), tmp_path / "out", resume=True)
    other = alike(tmp_path / "worlds.csv", 5)
    with pytest.raises(InputError, match=r"own/worlds\.csv is .* in the run and .* in the study"):
        run_tiny(in_worlds(other), tmp_path / "out", resume=True)


# --- what is said -----------------------------------------------------------------------------


def test_plan_text_and_summary_say_for_whom_worlds_fit(run: Path, file: Path) -> None:
    plan = plan_text(in_worlds(file), 1)
    assert f"3 from {file} of 4 factors" in " ".join(plan.split())
    assert "club-adult: extrapolated by relation to professional-man" in plan
    assert "rally, in the worlds: 12 scenarios x 2 policies x 34 rallies" in plan
    text = study_text(run, 3)
    assert "over the worlds" in text or "over them" in text
    assert "club-adult: worlds extrapolated." in text and "professional-man: worlds" not in text
    summary = json.loads((run / "summary.json").read_text())
    assert summary["worlds"]["count"] == 3
    assert summary["worlds"]["levels"]["club-adult"]["basis"] == EXTRAPOLATED
    headline = summary["headline"]
    assert set(headline["verdicts_by_both"]) == set(headline["verdicts"])
    assert all(set(WORLD_COLUMNS) <= set(cell) for cell in headline["cells"])


def test_report_and_figures_show_both(
    run: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.undo()
    folder = shutil.copytree(run, tmp_path / "copy")
    shown_run.show_again(folder)
    page = pages_of(folder)
    assert "Two intervals: chance and worlds" in page and "<small>worlds " in page
    assert "club-adult (worlds extrapolated)" in page
    assert "rally, worlds" in page, "how much was played"
    svg = (folder / "figures" / "points-rally.svg").read_text("utf-8")
    assert 'id="worlds"' in svg


def test_a_report_is_made_where_the_points_are_left_out(run: Path, tmp_path: Path) -> None:
    """As of stored folders: the worlds are told by what the summary holds."""
    folder = shutil.copytree(run, tmp_path / "copy")
    before = list(world_sentences(ResultFolder.read(folder)))
    (folder / "points.csv").unlink()
    assert list(world_sentences(ResultFolder.read(folder))) == before != []
    (folder / "summary.json").unlink()
    assert list(world_sentences(ResultFolder.read(folder))) == []
    write_report(folder)


def test_claims_and_their_tables_tell_both(run: Path) -> None:
    cells = read_cells(run)
    labels = {"level": "club-adult", "opponent": "habit", "place": "corner", "policy": "bisector"}
    row = next(c for c in cells.all if {**c, **labels, "outcome": MORE, "setting": "rally"} == c)
    said = of_cell(run, **labels, outcome=MORE)
    assert said == compared_words(row) and f", {row['world_verdict']}, over the" in said
    assert said.endswith("(extrapolated)") and said.count("not in all worlds") <= 1
    assert len(verdicts_in(cells.all)) == 7
    counted = counts(run, "bisector", MORE)
    assert counted.endswith("of 4")


def test_the_command_takes_worlds(run: Path, file: Path, tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text(in_worlds(file, worlds=None, worlds_file=None).toml(), "utf-8")
    command = ["study", str(path), "--out", str(tmp_path / "out"), "--seed", "3", "--workers", "1"]
    wished = ["--worlds", "3", "--worlds-file", str(file)]
    done = CliRunner().invoke(main, [*command, *wished])
    assert done.exit_code == 0, done.output
    assert contents(tmp_path / "out") == contents(run)
    wrong = CliRunner().invoke(main, [*command, "--overwrite", *wished[2:], "--worlds", "9"])
    assert wrong.exit_code == 2 and "worlds is 9; allowed: 2 to 5" in wrong.output
    wrong = CliRunner().invoke(main, ["study", "--resume", "--worlds", "3"])
    assert wrong.exit_code == 2 and "and its worlds" in wrong.output
