"""A calibration: what is drawn, when a set fits, and what comes out of a small one."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from experiments.command.main import main
from experiments.evidence.calibration.answer import Found, Plan, calibrated, pinned, section_gaps
from experiments.evidence.calibration.drawn import (
    drawn,
    game_with,
    unfitted,
    usual_point,
    values_at,
)
from experiments.evidence.calibration.fit import Asked, bench, distance_of, figures_at, sections_but
from experiments.evidence.calibration.words import text_of
from experiments.evidence.record.figures import fit_of, section_names
from experiments.evidence.record.play import record_game
from experiments.evidence.record.published import record
from experiments.evidence.validation.rows import CHECK, stored_record
from experiments.evidence.validation.typical import fitted_figures
from experiments.study.worlds import read_worlds
from sim.errors import InputError

ALL = tuple(section_names())
SMALL = Plan(seed=5, sets=6, population=12, smoothings=2, moves=1, points=1000)


def figures_off_by(tolerances: float, *sections: str) -> np.ndarray:
    """The record's figures, those of some sections off by so many tolerances."""
    return np.array(
        [f.value + tolerances * f.tolerance * (f.section in sections) for f in record()]
    )


def test_a_set_fits_by_the_rule_that_was_fixed() -> None:
    """At most 1 over all figures, at most 1.5 over each section."""
    assert distance_of(figures_off_by(0.0), ALL) == 0.0
    assert distance_of(figures_off_by(1.0, *ALL), ALL) == pytest.approx(1.0)
    few = [f.section for f in record()].count("running")
    overall = 1.5 * math.sqrt(few / len(record()))
    assert overall < 1.0
    assert distance_of(figures_off_by(1.5, "running"), ALL) == pytest.approx(1.0)
    assert distance_of(figures_off_by(1.6, "running"), ALL) > 1.0
    assert distance_of(figures_off_by(9.0, "running"), sections_but("running")) == 0.0
    missing = figures_off_by(0.0)
    missing[3] = math.nan
    assert distance_of(missing, ALL) == math.inf


def test_what_is_drawn_has_a_range_and_a_reason_to_leave_its_own() -> None:
    names = [p.name for p in drawn()]
    assert len(names) == len(set(names)) >= 60
    for p in drawn():
        assert p.low < p.high and p.low <= p.usual <= p.high, p.name
    assert {p.name for p in drawn() if p.why} == {
        "waiting_depth_m",
        "hitter.direction_sd_deg",
        "hitter.depth_sd_m",
        "hitter.unhurried_share",
        "shots.speed_spread",
    }


def test_what_was_to_stay_unfitted_is_a_check_still_and_nothing_was_fitted_to_it() -> None:
    """And nothing became a check unseen but what the record has, too."""
    checks = {row["row"] for row in stored_record().of_kind(CHECK)}
    assert len(unfitted()) == len(set(unfitted())) == 108
    assert set(unfitted()) <= checks and not set(unfitted()) & fitted_figures()
    assert {key[:2] for key in checks - set(unfitted())} <= {"W1", "W2", "W3"}


def test_the_usual_point_is_the_model_as_it_is() -> None:
    game = game_with(values_at(usual_point()), 3)
    asked = Asked(1000, 3, ALL)
    assert game is not None
    assert game.studied.player.legs.recovery_effort == pytest.approx(
        record_game(3).studied.player.legs.recovery_effort, rel=1e-12
    )
    again = figures_at(asked, usual_point())
    assert again.shape == (len(record()),) and np.isfinite(again).all()


def test_values_go_to_both_sides() -> None:
    point = np.full(len(drawn()), 0.4)
    values, game = values_at(point), game_with(values_at(point), 1)
    assert game is not None and game.studied == game.opponent
    side = game.studied
    assert side.depth_m == values["waiting_depth_m"]
    assert side.player.legs.haste_per_s == values["legs.haste_per_s"]
    assert side.player.hitter.repertoire.slice_share == values["repertoire.slice_share"]
    assert getattr(side.shots, "line_gain") == values["shots.line_gain"]  # noqa: B009
    assert getattr(side.policy, "shade_m_per_m") == values["recovery.shade_m_per_m"]  # noqa: B009


def test_a_set_that_contradicts_itself_is_infinitely_far() -> None:
    point = usual_point()
    names = [p.name for p in drawn()]
    point[names.index("hitter.forehand_topspin_rpm")] = 1.0  # above the most topspin
    assert game_with(values_at(point), 1) is None
    with bench(Asked(1000, 1, ALL), 1) as judge:
        judged = judge(np.stack([point, usual_point()]))
    assert judged.distances[0] == math.inf and math.isfinite(judged.distances[1])
    assert np.isnan(judged.gaps[0]).all()


def test_several_processes_judge_as_one_does() -> None:
    points = np.random.default_rng(2).uniform(0.3, 0.6, (5, len(drawn())))
    found = []
    for workers in (1, 2):
        with bench(Asked(1000, 2, ALL), workers) as judge:
            found.append(judge(points))
    assert found[0].gaps.tobytes() == found[1].gaps.tobytes()
    assert found[0].distances.tobytes() == found[1].distances.tobytes()


@pytest.fixture(scope="module")
def small() -> Found:
    return calibrated(SMALL, 1, lambda text: None)


def test_a_small_calibration_comes_nearer_to_the_record(small: Found) -> None:
    """Nearer than sets at random; the usual values were fitted and are nearer still."""
    gaps = {row.section: row for row in section_gaps(small)}
    assert set(gaps) == {*ALL, "all"}
    anywhere = np.random.default_rng(1).random((9, len(drawn())))
    with bench(Asked(SMALL.points, 5, ALL), 1) as judge:
        apart = [fit_of(each).overall for each in judge.figures(anywhere)]
    assert gaps["all"].middle < np.nanmedian(apart)
    assert len(small.points) == len(small.distances) == SMALL.sets
    for row in pinned(small):
        assert row.low <= row.sets_low <= row.middle <= row.sets_high <= row.high
    said = text_of(small)
    assert f"{SMALL.sets} sets of {len(drawn())} parameters" in said and "Seed 5" in said


def test_the_same_seed_gives_the_same_sets(small: Found) -> None:
    again = calibrated(SMALL, 2, lambda text: None)
    assert again.points.tobytes() == small.points.tobytes()
    assert again.figures.tobytes() == small.figures.tobytes()


def test_the_command_keeps_sets_that_a_study_reads(tmp_path: Path) -> None:
    file = tmp_path / "sets.csv"
    options = ["--seed", "5", "--sets", "3", "--population", "8", "--moves", "0"]
    options += ["--points", "1000", "--workers", "1", "--leave-out", "places"]
    options += ["--csv", str(file), "--json", "--quiet"]
    done = CliRunner().invoke(main, ["calibrate", *options])
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert told["left_out"] == "places" and told["sets"] == 3
    assert [row["section"] for row in told["sections"]] == [*ALL, "all"]
    worlds = read_worlds(file)
    assert list(worlds.names) == [p.name for p in drawn()] and len(worlds.rows) == 3


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"sets": 1}, "--sets is 1; give a whole number from 2"),
        ({"population": 5}, "--population is 5; give a whole number from 100"),
        ({"points": 10}, "--points is 10; give a whole number from 1000"),
        ({"moves": -1}, "--moves is -1; give a whole number from 0"),
    ],
)
def test_numbers_that_cannot_be_are_refused(changes: dict[str, int], said: str) -> None:
    with pytest.raises(InputError, match=said):
        Plan(seed=1, **changes)


def test_a_section_that_is_none_is_refused_with_the_names() -> None:
    done = CliRunner().invoke(main, ["calibrate", "--leave-out", "weather"])
    assert done.exit_code == 2
    assert "weather" in done.output and "places" in done.output


def test_somebodys_file_is_refused_before_the_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def nothing(*_: object) -> None:
        raise AssertionError("searched")

    monkeypatch.setattr("experiments.evidence.calibration.answer.calibrated", nothing)
    letter = tmp_path / "letter.txt"
    letter.write_text("dear")
    done = CliRunner().invoke(main, ["calibrate", "--seed", "1", "--csv", str(letter)])
    assert done.exit_code == 2 and "stays" in done.output
    assert letter.read_text() == "dear"
