"""Whole points that open with a serve: who opens them, their frame, what counts, what is said."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from fixture_folder import pages_of
from pydantic import ValidationError
from some_worlds import drawn
from test_settings import rows_of
from tiny_study import only, run_tiny, tiny_study, without_pages

from experiments.answers.replay.answer import replay_of_study, replay_text
from experiments.answers.replay.track import track_of
from experiments.command.main import main
from experiments.report.figures import plan
from experiments.report.page import write_report
from experiments.report.study_text import study_text
from experiments.report.summary import View, answer, summary
from experiments.report.tables import short_table
from experiments.scene.defaults import OPPONENT_POLICY
from experiments.statistics.tally import COLUMNS, replicate_table
from experiments.study.columns import found as column
from experiments.study.columns import write_columns
from experiments.study.design import Study
from experiments.study.factor_names import NOT_IN_RALLIES, every_parameter
from experiments.study.factors import Factors
from experiments.study.file import parse_study, study_schema
from experiments.study.plan import plan_text
from experiments.study.result_folder import ResultFolder
from experiments.study.served import sides_changed, turned_strokes, whole_points
from experiments.study.setting_table import SERVE, SETTINGS, USUAL
from experiments.study.settings import Block, evaluate, replicates_of, scenarios
from experiments.study.stroke_file import rallies_of
from sim.errors import InputError
from sim.exchange import Game
from sim.kinds import SERVES
from sim.records import IN, OPPONENT, STUDIED
from sim.world import World

SERVED = ["returning", "serving"]
POLICIES = ["middle", "bisector"]
TWO_PLACES = [
    {"name": "middle", "x_m": 0.0, "y_m": 11.885},
    {"name": "corner", "x_m": 3.115, "y_m": 11.885},
]
SMALL: dict[str, Any] = {
    "settings": ["rally", "recovery", *SERVED],
    "own_strokes": ["crosscourt"],
    "policies": POLICIES,
    "places": TWO_PLACES,
    "rallies": 30,
    "stroke_rows_per_cell": 30,
}


def game_of(**changes: Any) -> Game:
    """Equal sides: the same level, shots and policy."""
    values = {"own_shots": "attentive", "opponent_policy": OPPONENT_POLICY, **changes}
    return only("serving", **values).game("club-adult", "attentive", OPPONENT_POLICY, 3)


def same(a: np.ndarray, b: np.ndarray) -> bool:
    """Equal in every field, NaN to NaN, a zero of either sign to a zero."""
    return all(np.array_equal(a[name], b[name], equal_nan=True) for name in a.dtype.names or ())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(only("rally", **SMALL), tmp_path_factory.mktemp("served") / "out")


# --- the points -------------------------------------------------------------------------------


def test_the_server_opens_to_the_right_and_to_the_left_by_the_number_of_the_replicate() -> None:
    for setting, hitter in (("returning", OPPONENT), ("serving", STUDIED)):
        rows = rows_of(only(setting))["bisector"]
        first = rows[rows["stroke"] == 0]
        assert np.array_equal(first["replicate"], np.arange(12))
        assert (first["side"] == hitter).all() and np.isin(first["kind"], SERVES).all()
        away = np.where(first["replicate"] % 2 == 0, 1.0, -1.0)  # of the server's own right
        own = 1.0 if hitter == STUDIED else -1.0
        assert (np.sign(first["hitter_x_m"]) == own * away).all()
        landed = first[first["outcome"] == IN]
        assert (np.sign(landed["landing_x_m"]) == -own * away[first["outcome"] == IN]).all()
        sides = np.where(rows["stroke"] % 2 == 0, hitter, 1 - hitter)
        assert np.array_equal(rows["side"], sides)
        own_end = np.where(rows["side"] == STUDIED, -1.0, 1.0)
        assert (np.sign(rows["hitter_y_m"]) == own_end).all()
        assert (np.sign(rows["receiver_y_m"]) == -own_end).all()
        assert (np.sign(rows["spot_y_m"]) == -own_end).all()


@pytest.mark.parametrize("setting", SERVED)
def test_blocks_that_begin_anywhere_play_the_same_points(setting: str) -> None:
    study = only(setting, stroke_rows_per_cell=100)
    scenario = scenarios(study)[0]
    whole = dict(evaluate(study, 3, Block(scenario, 0, 9)).rows)["bisector"]
    parts = [dict(evaluate(study, 3, Block(scenario, n, 1)).rows)["bisector"] for n in range(9)]
    assert np.concatenate(parts).tobytes() == whole.tobytes()


def test_with_equal_sides_serving_is_returning_seen_from_across_the_net() -> None:
    game, numbers = game_of(), np.arange(200)
    returned, served = (whole_points(game, numbers, serving) for serving in (False, True))
    assert same(served, turned_strokes(returned))
    points = COLUMNS.index("points")
    won = [replicate_table(rows, numbers, True)[:, points] for rows in (returned, served)]
    assert np.array_equal(won[0] + won[1], np.ones(200))
    assert 0.3 < won[0].mean() < 0.7


def test_the_policy_of_a_side_acts_for_that_side_alone() -> None:
    """Who recovers to the middle aims at it, unless the player comes in; the other does not."""
    game = only("serving").game("club-adult", "attentive", "middle", 3)
    rows = whole_points(game, np.arange(60), True)
    rows = rows[rows["stroke"] > 1]
    middle = np.abs(rows["spot_x_m"]) < 1e-9
    assert middle[rows["side"] == OPPONENT].mean() > 0.8
    assert middle[rows["side"] == STUDIED].mean() < 0.2


def test_records_turned_twice_are_the_plain_ones() -> None:
    rows = whole_points(game_of(), np.arange(60), False)
    once = turned_strokes(rows)
    assert turned_strokes(once).tobytes() == rows.tobytes()
    assert (once["side"] != rows["side"]).all()
    assert np.array_equal(once["receiver_vx_m_s"], -rows["receiver_vx_m_s"])
    for name in ("replicate", "stroke", "hitter_z_m", "time_to_spare_s", "ending", "hitter_wing"):
        assert np.array_equal(once[name], rows[name], equal_nan=True)


def test_the_wind_stays_where_it_blows() -> None:
    game = game_of()
    windy = replace(game, world=World(wind_m_s=(2.0, 3.0, 0.0)))
    across = sides_changed(windy)
    assert across.world.wind_m_s == (-2.0, -3.0, 0.0)
    assert sides_changed(game).world is game.world
    for side in (STUDIED, OPPONENT):
        assert across.world_of(1 - side) == windy.world_of(side)


def test_serves_are_no_balls_to_recover_to() -> None:
    rows = rows_of(only("returning"))["middle"]
    table = replicate_table(rows, np.arange(12), True)
    faced = (rows["side"] == OPPONENT) & (rows["outcome"] == IN)
    serves = faced & np.isin(rows["kind"], SERVES)
    assert serves.any() and table[:, COLUMNS.index("balls")].sum() == (faced & ~serves).sum()
    assert table[:, COLUMNS.index("strokes")].sum() == len(rows)


# --- the study --------------------------------------------------------------------------------


def test_these_settings_are_not_crossed_with_places_nor_own_strokes() -> None:
    study = tiny_study(settings=["recovery", *SERVED])
    served = [s for s in scenarios(study) if s.setting in SERVED]
    assert [(s.setting, s.place, s.own_stroke) for s in served] == [
        (setting, SERVE, None) for setting in SERVED for _ in study.opponents
    ]
    assert {replicates_of(study, s) for s in served} == {study.rallies}
    assert "returning: 2 scenarios x 4 policies x 12 rallies" in plan_text(study, 1)


def test_a_place_may_be_named_serve_only_where_no_point_opens_with_one() -> None:
    places = [{"name": SERVE, "x_m": 3.0, "y_m": 11.9}]
    assert only("placed", places=places).places[0].name == SERVE
    with pytest.raises(ValidationError, match="rename it"):
        only("serving", places=places)


def test_cells_have_no_spot_and_are_in_no_mean_over_places(folder: Path) -> None:
    cells = pd.read_csv(folder / "cells.csv", keep_default_na=False)
    served = cells[cells["setting"].isin(SERVED)]
    assert set(served["place"]) == {SERVE} and set(served["own_stroke"]) == {""}
    assert not set(served["outcome"]) & {"spot_x_m", "spot_y_m", "reached_x_m", "shade_m_per_m"}
    assert {"points_won_per_100", "share_in_time", "strokes_per_rally"} <= set(served["outcome"])
    assert set(cells[cells["place"] == "all places"]["setting"]) == {"rally", "recovery"}
    assert SERVE not in set(cells[~cells["setting"].isin(SERVED)]["place"])


def test_outcomes_to_keep_must_be_there() -> None:
    factors = {"vary": [{"name": "legs.top_speed_m_s", "plus": [0.0]}], "outcomes": ["spot_x_m"]}
    with pytest.raises(ValidationError, match="spot_x_m"):
        only("serving", factors=factors)
    only("serving", settings=["rally", "serving"], factors=factors)


def test_every_parameter_takes_in_those_of_serves_where_points_open_with_one() -> None:
    factors = Factors(design="one-at-a-time", every_parameter=True)
    without = only("rally", factors=factors)
    with_them = only("serving", factors=factors)
    assert without.factors and with_them.factors
    more = {f.name for f in with_them.factors.all} - {f.name for f in without.factors.all}
    assert more == set(NOT_IN_RALLIES) == set(every_parameter(True)) - set(every_parameter())
    assert {f.name for f in factors.all}.isdisjoint(NOT_IN_RALLIES)  # the given one stays as it is
    again = parse_study(with_them.toml(), "copy")
    assert (
        again == with_them
        and again.factors
        and len(again.factors.all) == len(with_them.factors.all)
    )


def test_a_factor_of_the_serve_acts_on_these_points(tmp_path: Path) -> None:
    vary = [{"name": "hitter.first_serve_m_s", "of": "studied", "plus": [0.0, 8.0]}]
    study = only("serving", factors={"vary": vary}, rallies=200, policies=POLICIES)
    blocks = [Block(s, 0, 200) for s in scenarios(study)]
    plain, usual, faster = (evaluate(study, 3, b).tallies["middle"].own for b in blocks)
    points = COLUMNS.index("points")
    assert np.array_equal(plain, usual) and faster[0, points] > plain[0, points]


def test_they_are_played_in_worlds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)
    file = drawn(tmp_path / "worlds.csv", 5)
    values = {"levels": ["professional-man"], "worlds": 3, "worlds_file": str(file)}
    study = only("serving", settings=SERVED, policies=POLICIES, rallies=80, **values)
    out = run_tiny(study, tmp_path / "out")
    cells = pd.read_csv(out / "cells.csv")
    assert cells["world_low"].notna().any() and set(cells["setting"]) == set(SERVED)
    assert "worlds" in study_text(out, 3)


def test_the_numbers_do_not_depend_on_workers(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_pages(monkeypatch)
    again = run_tiny(only("rally", **SMALL), tmp_path / "again", workers=2)
    for name in ("cells.csv", "strokes.parquet", "summary.json", "study.toml", "columns.csv"):
        assert (again / name).read_bytes() == (folder / name).read_bytes()


def test_looks_go_on_setting_by_setting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)
    wished = only("serving", policies=POLICIES, rallies=20, precision=8.0, most_replicates=160)
    out = run_tiny(wished, tmp_path / "out")
    looks = pd.read_csv(out / "precision.csv")
    assert list(looks["setting"]) == ["serving"] and looks["replicates"][0] > 20
    assert "rallies a cell" in looks["said"][0] and looks["place"][0] == SERVE


def test_the_schema_names_all_settings() -> None:
    schema = study_schema()["properties"]["settings"]
    assert schema["items"]["enum"] == list(SETTINGS) and schema["default"] == list(USUAL)
    with pytest.raises(ValidationError, match="servin"):
        only("servin")


# --- what is said -----------------------------------------------------------------------------


def test_three_numbers_are_told_apart_whole_points_first(folder: Path) -> None:
    text = study_text(folder, 3)
    heads = [
        "Whole points as they are played (",
        "What follows own strokes (",
        "The first ball met",
    ]
    assert text.startswith(heads[0]) and sorted(heads, key=text.index) == heads
    told = [s for s in answer(ResultFolder.read(folder)) if "Whole points" in s]
    assert len(told) == 1 and told[0].count("of 100 balls reached in time") == 2
    cells = pd.read_csv(folder / "cells.csv").set_index(["setting", "place", "policy", "outcome"])[
        "estimate"
    ]
    for setting in SERVED:
        share = 100 * cells[setting, SERVE, "bisector", "share_in_time"]
        assert f"with {share:.1f} of 100 balls reached in time" in told[0]
        points = cells[setting, SERVE, "bisector", "points_won_per_100"]
        row = next(line for line in text.splitlines() if line.startswith("bisector "))
        assert f"{points:.1f}" in row and f"{share:.1f}" in row


def test_a_study_without_a_serve_is_told_as_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_pages(monkeypatch)
    out = run_tiny(only("rally", policies=POLICIES), tmp_path / "out")
    text = study_text(out, 3)
    assert text.startswith("Setting: rally. Missed of 100") and "Whole points" not in text
    words = (out / "columns.csv").read_text("utf-8")
    assert "placed, recovery or rally" in words and "returning" not in words


def test_figures_and_columns_follow(folder: Path) -> None:
    names = set(plan(ResultFolder.read(folder)))
    wanted = {f"{kind}-{s}" for kind in ("missed", "points") for s in SERVED}
    assert wanted | {"court", "points-rally", "missed-rally"} <= names
    meaning = column("outcomes", "missed_per_100", served=True).meaning
    assert "serves do not count" in meaning != column("outcomes", "missed_per_100").meaning
    assert column("strokes", "time_to_spare_s", served=True) == column("strokes", "time_to_spare_s")
    before = (folder / "columns.csv").read_bytes()
    assert write_columns(folder).read_bytes() == before and b"serves do not count" in before


def test_the_rally_table_counts_their_points(folder: Path) -> None:
    strokes = pd.read_parquet(folder / "strokes.parquet")
    rallies = rallies_of(strokes)
    cells = pd.read_csv(folder / "cells.csv").set_index(["setting", "place", "policy", "outcome"])[
        "estimate"
    ]
    for setting in SERVED:
        own = rallies[(rallies["setting"] == setting) & (rallies["policy"] == "bisector")]
        assert len(own) == 30
        points = cells[setting, SERVE, "bisector", "points_won_per_100"]
        assert 100 * own["points"].mean() == pytest.approx(points, abs=1e-3)
        missed = cells[setting, SERVE, "bisector", "missed_per_100"]
        assert 100 * own["missed"].sum() / own["balls"].sum() == pytest.approx(missed, abs=1e-3)


# --- replays ----------------------------------------------------------------------------------


@pytest.mark.parametrize("setting", SERVED)
@pytest.mark.parametrize("number", [4, 7])
def test_a_stored_point_plays_again(folder: Path, setting: str, number: int) -> None:
    """Track and text are in the frame of the stored rows."""
    replay = replay_of_study(folder, number, SERVE, None, None, "bisector", None, setting=setting)
    table = pd.read_parquet(folder / "strokes.parquet")
    at = (table["setting"] == setting) & (table["policy"] == "bisector")
    stored = table[at & (table["replicate"] == number)]
    track = track_of(replay)
    assert [s.hitter for s in track.strokes] == [
        ("studied", "opponent").index(s) for s in stored["side"]
    ]
    for name in ("receiver", "spot", "landing"):
        seen = np.array([getattr(s, f"{name}_m") for s in track.strokes])
        rows = stored[[f"{name}_x_m", f"{name}_y_m"]].to_numpy()
        np.testing.assert_allclose(seen, rows, atol=1e-5)
    for stroke, x_m in zip(track.strokes, stored["hitter_x_m"], strict=True):
        assert stroke.way[0, 1] == pytest.approx(x_m, abs=1e-5)
    text = replay_text(replay)
    strikes = [line for line in text.splitlines() if " stroke " in line and " strikes " in line]
    server = "opponent" if setting == "returning" else "studied"
    where = f"at ({stored.iloc[0]['hitter_x_m']:.2f}, {'-' if server == 'studied' else ''}11.88)"
    assert server in strikes[0] and where in strikes[0]
    assert track.ending.split(". ")[-1] in text


def test_a_start_before_the_strike_is_turned_too(folder: Path) -> None:
    """Words of sides: right and left are those of the studied player's frame."""
    table = pd.read_parquet(folder / "strokes.parquet")
    starts = table[(table["setting"] == "serving") & (table["start_vx_m_s"] != 0.0)]
    starts = starts[(starts["policy"] == "bisector") & (starts["outcome"] == "in")]
    assert len(starts)
    row = starts.iloc[0]
    number = int(row["replicate"])
    replay = replay_of_study(folder, number, None, None, None, "bisector", None, setting="serving")
    way = "right" if row["start_vx_m_s"] > 0 else "left"
    assert f"started to the {way} at {abs(row['start_vx_m_s']):.2f} m/s" in replay_text(replay)


def test_replays_refuse_what_cannot_be(folder: Path) -> None:
    def run(*words: str) -> Any:
        return CliRunner().invoke(main, ["replay", *words])

    told = run("--study", str(folder), "--setting", "serving", "--number", "3")
    assert told.exit_code == 0 and "serving" in told.output.splitlines()[0]
    for words, said in (
        (("--study", str(folder), "--setting", "serving", "--place", "corner"), "have no place"),
        (("--study", str(folder), "--setting", "placed"), "setting of the study"),
        (("--setting", "serving", "--seed", "1"), "give --study"),
    ):
        told = run(*words)
        assert told.exit_code != 0 and isinstance(told.exception, (SystemExit, InputError))
        assert said in told.output + str(told.exception)


def test_a_study_is_what_it_was_without_these_settings() -> None:
    study: Study = tiny_study()
    assert study.settings == USUAL and "returning" not in study.toml()


def test_the_report_says_what_was_played(folder: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    write_report(copy)
    page = pages_of(copy)
    assert "Three numbers apart. Whole points as they are played: the score" in page
    for setting in SERVED:
        assert f"<dt>{setting}</dt><dd>{SETTINGS[setting].words}: {SETTINGS[setting].rule}." in page
        assert f"{setting}: {SETTINGS[setting].start}; " in page and f"{setting} 4000" in page
    table = short_table(ResultFolder.read(folder))
    assert table.places[:4] == [
        f"{s}: {what}" for s in SERVED for what in ("points won", "in time")
    ]
    (group,) = table.groups
    shares = [float(v.estimate) for _, values in group.rows for v in values[1:4:2]]
    assert all(50 < share <= 100 for share in shares)


def test_a_summary_of_serves_alone_speaks_of_no_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without_pages(monkeypatch)
    study = only("placed", settings=["placed", "serving"], policies=POLICIES)
    results = ResultFolder.read(run_tiny(study, tmp_path / "out"))
    view = View.of(results)
    assert view and (view.setting, view.place) == ("serving", SERVE)
    said = " ".join(answer(results))
    assert "In whole points as they are played (serving), club-adult against habit" in said
    assert "from the place serve" not in said and "setting serving" in said
    cells = summary(results)["headline"]
    assert list(cells["apart"]) == ["whole points", "from the spot"] and len(cells["cells"]) == 1
