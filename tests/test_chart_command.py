"""The chart commands: an empty chart, a check, a demo, and the advice with its precision."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from experiments.answers.chart.answer import (
    ChartAdvice,
    ChartQuestion,
    DirectionCurves,
    advise,
    direction_curves,
    resampled_best,
)
from experiments.answers.chart.picture import advice_figure
from experiments.answers.chart.words import advice_text
from experiments.answers.spot.answer import find_spot
from experiments.balls.spots import with_own
from experiments.command.main import main
from experiments.scene.scene import scene_of
from sim.errors import InputError
from strategies.charts.reading import read_chart
from strategies.shots.charted import Charted

LIKE_IT = ("--balls", "400", "--resamples", "20", "--seed", "3", "--player", "college-man")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["chart", *(str(a) for a in arguments)])


def asked(balls: int = 4000, resamples: int = 40, **prior: float) -> ChartQuestion:
    scene = scene_of(player="college-man", hitter=Charted(**prior), balls=balls, seed=3)
    return ChartQuestion(scene, with_own()[:2], resamples)


@pytest.fixture(scope="module")
def advice() -> ChartAdvice:
    return advise(asked())


def test_an_empty_chart_is_told_to_be_filled_in_and_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "mine.csv"
    done = run("new", path, "--unit", "ft", "--speed-unit", "mph")
    assert done.exit_code == 0, done.output
    assert "contact_x_ft" in done.stdout and "is ready to fill in" in done.stdout
    assert path.read_text().startswith("contact_x_ft,contact_y_ft,") and "mph" in path.read_text()
    path.write_text(path.read_text() + "1,39,-9,-30,60,,0,-43,,,,\n")
    assert "1 stroke of a right-handed opponent, no problems" in run("check", path).stdout
    again = run("new", path)
    assert again.exit_code == 2 and "is there already" in again.stderr
    assert path.read_text().count("\n") == 2
    assert [p.name for p in tmp_path.iterdir()] == ["mine.csv"]


def test_a_bad_chart_ends_with_all_its_problems_and_no_traceback(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("contact_x_m,contact_y_m,bounce_x_m,bounce_y_m\n1,-2,3,-4\n1,2,3,4\n")
    for command in (("check", path), ("spot", path, *LIKE_IT)):
        done = run(*command)
        assert done.exit_code == 2 and done.stdout == "" and "Traceback" not in done.stderr
        assert "2 problems" in done.stderr
        assert "line 2, contact_y_m" in done.stderr and "line 3, bounce_y_m" in done.stderr


def test_demo_command_writes_a_chart_that_is_fine(tmp_path: Path) -> None:
    path = tmp_path / "demo.csv"
    assert run("demo", path, "--strokes", "12", "--seed", "5").exit_code == 0
    assert len(read_chart(str(path)).strokes) == 12
    refused = run("demo", tmp_path / "other.csv", "--seed", "-1")
    assert refused.exit_code == 2 and "seed is -1" in refused.stderr
    nowhere = run("demo", tmp_path / "no" / "where.csv")
    assert nowhere.exit_code == 2 and "there is no folder" in nowhere.stderr


def test_spot_command_gives_numbers_and_a_picture(tmp_path: Path) -> None:
    picture = tmp_path / "spot.png"
    done = run("spot", "demo", *LIKE_IT, "--json", "--figure", picture)
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)["chart"]
    assert sum(found["shares"].values()) == pytest.approx(1.0, abs=1e-5)
    moved = found["resampled_best_x_m"]
    assert moved["low"] <= moved["median"] <= moved["high"] and moved["draws"] == 20
    assert picture.stat().st_size > 10_000
    again = run("spot", "demo", *LIKE_IT, "--json")
    assert again.stdout == done.stdout


def test_advice_is_that_of_the_balls_that_the_hitter_plays(advice: ChartAdvice) -> None:
    """The mixture of directions against balls drawn by the shot model.

    Three standard errors of the difference between two shares of some 3600 balls: 3.5 in 100.
    """
    question = asked()
    drawn = find_spot(question.scene, question.policies)
    off = np.abs(drawn.curve_share_in_time - advice.spot.curve_share_in_time)
    assert off.max() < 0.035


def test_advice_lies_between_habit_and_chart_and_leans_as_told(advice: ChartAdvice) -> None:
    assert advice.shares.sum() == pytest.approx(1.0)
    weight = advice.spot.scene.hitter.prior_strokes  # type: ignore[attr-defined]
    assert advice.lean == pytest.approx(weight / (weight + advice.near))
    low, high = advice.interval_m
    assert low <= advice.spot.best.x_m + 0.1 and high >= advice.spot.best.x_m - 0.1
    assert "leans" in advice_text(advice)
    widths = [b - a for a, b in (advice.interval_m, advice.believed_interval_m)]
    assert widths[1] > widths[0] > 0.0  # doubt about the habit comes on top


def test_a_stronger_prior_moves_less() -> None:
    """The spread of resampled places falls as the habit weighs more."""
    curves = direction_curves(asked())
    loose = resampled_best(asked(prior_strokes=2.0), curves)
    firm = resampled_best(asked(prior_strokes=30.0), curves)
    assert firm.std() < loose.std()
    assert (resampled_best(asked(prior_strokes=2.0), curves) == loose).all()


def test_resamples_out_of_range_are_refused() -> None:
    with pytest.raises(InputError, match="resamples is 2"):
        asked(resamples=2)


def test_picture_holds_every_stroke_that_bounced(advice: ChartAdvice) -> None:
    figure = advice_figure(advice)
    lines = [line.get_gid() for ax in figure.axes for line in ax.lines]
    assert lines.count("charted stroke") == len(read_chart("demo").strokes)
    assert lines.count("resampled") == 1


def test_a_ball_that_all_places_reach_is_reached_by_no_more_than_all() -> None:
    """Rounding in the mixture of directions once made a share above 1, which has no interval."""
    lands = np.array([0.71, 0.62, 0.53, 0.47])
    curves = DirectionCurves(np.zeros(1), lands, lands[:, None])
    for seed in range(200):
        shares = np.random.default_rng(seed).dirichlet(np.ones(4))
        assert (curves.share_in_time(shares) <= 1.0).all()
