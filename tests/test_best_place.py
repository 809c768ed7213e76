"""The best place at each point of a design: from known curves, and from a study that is played."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure
from tiny_study import only, run_tiny, without_pages

from experiments.evidence.best_place.curves import BOTH, HIGH, LOW, best_on, mean_of
from experiments.evidence.best_place.naming import USUAL, point_words
from experiments.evidence.best_place.pictures import best_place_figure, best_place_pictures
from experiments.evidence.best_place.table import ALL_OPPONENTS, MOVED, best_places, told_points
from experiments.evidence.best_place.words import (
    best_place_sections,
    moved,
    sentences,
    shown_rows,
)
from experiments.evidence.sensitivity.folder import DesignedFolder, read_table
from experiments.evidence.sensitivity.naming import named_factors
from experiments.output.tables import fill_table
from experiments.report.study_text import study_text
from experiments.study.batch_file import read_batches, write_batches
from experiments.study.batches import in_batches, shades_of, sums_in_batches
from experiments.study.columns import columns_of
from experiments.study.design import Study, points_table
from experiments.study.settings import Scenario, scenarios

SHADES = [f"linear-shade,shade_m_per_m=0.{k}" for k in range(1, 7)]
SPEED = {"name": "legs.top_speed_m_s", "of": "studied"}
BY_SPEED = {"design": "one-at-a-time", "vary": [{**SPEED, "times": [1.15, 0.85]}]}
PLACES_M = 3.115 * np.arange(7) / 10


def found_at(top_m: float, falls: float = 0.04, seed: int = 1, sd: float = 0.0) -> Any:
    """The best place of a parabola; `sd` of each batch's share."""
    noise = np.random.default_rng(seed).normal(0.0, sd, (100, 7)) if sd else 0.0
    kept = np.tile(0.5 - falls * (PLACES_M - top_m) ** 2, (100, 1)) + noise
    return best_on(PLACES_M, 20.0 * kept, np.full((100, 7), 20.0), 3)


def test_the_top_of_a_parabola_is_found_without_a_doubt() -> None:
    found = found_at(1.0)
    assert found.best_m == pytest.approx(1.0, abs=1e-3)
    assert found.interval_m == pytest.approx((found.best_m, found.best_m))
    # Half in 100 lower at sqrt(0.005 / 0.04) from the top.
    assert (found.low_m, found.high_m) == pytest.approx((1.0 - 0.3536, 1.0 + 0.3536), abs=2e-3)
    assert found.at_end == ""


def test_a_curve_against_itself_does_not_move_at_all() -> None:
    found = found_at(0.9, sd=0.05)
    assert found.interval_m[1] - found.interval_m[0] > 0.01
    assert found.moved_m(found) == (0.0, 0.0, 0.0)


def test_the_same_chance_at_both_points_narrows_the_interval_of_the_move() -> None:
    one, other, apart = found_at(0.9, sd=0.05), found_at(1.1, sd=0.05), found_at(1.1, 0.04, 7, 0.05)
    _, low, high = other.moved_m(one)
    assert low <= 0.2 <= high
    _, wide_low, wide_high = apart.moved_m(one)
    assert high - low < 0.5 * (wide_high - wide_low)


def test_ends_of_the_places_tried_are_told() -> None:
    assert found_at(0.1).at_end == LOW
    assert found_at(1.8).at_end == HIGH
    assert found_at(0.9, falls=0.001).at_end == BOTH
    assert mean_of([found_at(0.1), found_at(1.8)]).at_end == f"{HIGH}, {LOW}"
    assert mean_of([found_at(0.8), found_at(1.2)]).best_m == pytest.approx(1.0, abs=1e-3)


def test_few_batches_give_no_interval() -> None:
    kept = np.tile(0.5 - 0.04 * (PLACES_M - 1.0) ** 2, (19, 1))
    assert all(np.isnan(best_on(PLACES_M, kept, np.ones((19, 7)), 1).interval_m))


def made_folder(path: Path, study: Study, share: Any) -> DesignedFolder:
    """A folder whose batches hold `share` (scenario, policy, values of the point) of 40 balls not
    missed, or rallies won."""
    points = pd.DataFrame(points_table(study))
    held = {}
    for scenario in scenarios(study):
        at = points[(points["level"] == scenario.level) & (points["point"] == scenario.point)]
        values = at.iloc[0].to_dict() if len(at) else {}
        for policy in in_batches(study):
            kept = 40.0 * share(scenario, policy, values)
            held[scenario, policy] = {
                b: np.array([40.0, 40.0, 40.0 - kept, kept]) for b in range(30)
            }
    path.mkdir()
    write_batches(held, path / "batches.parquet")
    (path / "study.toml").write_text(study.toml(), "utf-8")
    fill_table(points, path / "points.csv", 6)
    assert study.factors is not None
    nothing = pd.DataFrame()
    table = read_table(path / "points.csv")
    folder = DesignedFolder(path, study, study.factors, table, nothing, nothing)
    fill_table(best_places(folder), path / "best_place.csv", 6)
    return folder


def shaded(study: Study) -> Any:
    """The share at a shade: the top at 0.3 m per metre, at 0.4 for the slow, at 0.35 for the fast,
    0.04 less against the open court."""
    shades = shades_of(study)

    def share(scenario: Scenario, policy: str, values: dict[str, Any]) -> float:
        speed = values.get("studied legs.top_speed_m_s", 6.2)
        top = 0.3 + 0.1 * (speed < 6.0) + 0.05 * (speed > 6.5)
        top -= 0.04 * (scenario.opponent == "open-court")
        return 0.5 - 0.6 * (shades[policy] - top) ** 2

    return share


def by_speed(**changes: Any) -> Study:
    values = {"factors": BY_SPEED, "policies": ["middle", *SHADES], "seed": 5}
    return only("rally", **{"opponents": ["habit", "open-court"], **values, **changes})


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> DesignedFolder:
    study = by_speed()
    return made_folder(tmp_path_factory.mktemp("made") / "out", study, shaded(study))


def test_best_shades_and_moves_are_those_that_were_put_in(made: DesignedFolder) -> None:
    table = read_table(made.path / "best_place.csv")
    points = table[table["outcome"] == "points_won_per_100"]
    habit = points[points["opponent"] == "habit"].set_index("words")
    assert list(habit.index) == [USUAL, "15 % faster", "15 % slower"]
    assert habit["shade_m_per_m"].to_list() == pytest.approx([0.3, 0.35, 0.4], abs=2e-3)
    assert habit["best_m"].to_list() == pytest.approx([0.9345, 1.0903, 1.246], abs=5e-3)
    assert habit["moved_m"].to_list()[1:] == pytest.approx([0.1558, 0.3115], abs=5e-3)
    assert habit["moved_m_per_m"].to_list()[1:] == pytest.approx([0.05, 0.1], abs=2e-3)
    assert habit["top_per_100"].to_list() == pytest.approx([50.0] * 3, abs=0.02)
    assert np.isnan(habit.loc[USUAL, "moved_m"]) and habit.loc[USUAL, "than"] == ""
    both = points[points["opponent"] == ALL_OPPONENTS].set_index("words")
    assert both["shade_m_per_m"].to_list() == pytest.approx([0.28, 0.33, 0.38], abs=2e-3)


def test_missed_balls_are_told_as_missed(made: DesignedFolder) -> None:
    table = read_table(made.path / "best_place.csv")
    missed = table[(table["outcome"] == "missed_per_100") & (table["opponent"] == "habit")]
    assert missed["best_m"].iloc[0] == pytest.approx(0.9345, abs=5e-3)
    assert missed["top_per_100"].iloc[0] == pytest.approx(50.0, abs=0.02)


def test_the_sentence_tells_both_ends_in_metres(made: DesignedFolder) -> None:
    (said,) = sentences(made.path)
    assert "the best shade is 0.87 m over (0.87 to 0.87; 0.28 m per metre) as it stands" in said
    assert "15 % slower: 0.31 m farther over, 0.31 to 0.31" in said
    assert "15 % faster: 0.16 m farther over" in said


@pytest.mark.parametrize(
    ("by", "words"),
    [
        ((0.041, -0.02, 0.10), "0.04 m farther over, \u22120.02 to 0.10"),
        ((-0.2, -0.3, -0.1), "0.20 m nearer the middle, 0.10 to 0.30"),
        ((-0.001, -0.1, 0.05), "0.00 m farther over, \u22120.10 to 0.05"),
        ((np.nan, np.nan, np.nan), "cannot be told, as all tried are within half in 100"),
        ((0.1, np.nan, np.nan), "0.10 m farther over, too few for an interval"),
    ],
)
def test_moves_in_words(by: tuple[float, float, float], words: str) -> None:
    assert moved(pd.Series({"axis": "shade", **dict(zip(MOVED, by, strict=True))})) == words


def test_the_report_has_a_line_a_point_and_columns_are_explained(made: DesignedFolder) -> None:
    table = read_table(made.path / "best_place.csv")
    (part,) = best_place_sections(made.path, table, made.study)
    assert [line[0] for line in part.rows] == [USUAL, "15 % faster", "15 % slower"]
    assert [len(line) for line in part.rows] == [len(part.columns)] * 3
    rows = [c for c in columns_of(made.path) if c.table in ("best_place", "batches")]
    assert len(rows) > 30 and all(c.meaning for c in rows)


def test_the_picture_marks_each_level_at_each_point(made: DesignedFolder) -> None:
    table = read_table(made.path / "best_place.csv")
    (picture,) = best_place_pictures(table, made.study).values()
    assert "15 % slower: 0.31 m farther over" in picture.alt
    figure = best_place_figure(shown_rows(table))
    assert isinstance(figure, Figure)
    place, move = figure.axes
    assert [t.get_text() for t in place.get_yticklabels()] == [USUAL, "15 % faster", "15 % slower"]
    assert len(place.lines[0].get_xdata()) == 3 and len(move.lines[0].get_xdata()) == 2


def test_where_any_shade_is_as_good_no_move_is_told(tmp_path: Path) -> None:
    study = by_speed(opponents=["habit"])
    folder = made_folder(tmp_path / "flat", study, lambda *_: 0.5)
    table = read_table(folder.path / "best_place.csv")
    assert set(table["at_end"]) == {BOTH} and table["moved_m"].isna().all()
    (said,) = sentences(folder.path)
    assert "any of the shades tried" in said and "15 %" not in said


def test_no_shade_is_told_where_the_opponent_is_in_the_middle(tmp_path: Path) -> None:
    """And the metres at a point are those of its own place."""
    study = by_speed(
        opponents=["habit"],
        factors={"design": "grid", "vary": [{"name": "place.x_m", "levels": [0.0, -2.0]}]},
    )
    folder = made_folder(tmp_path / "out", study, shaded(study))
    table = read_table(folder.path / "best_place.csv")
    own = table[table["outcome"] == "points_won_per_100"].set_index("point")
    assert own.index[1:].to_list() == [1]
    assert own["best_m"].to_list() == pytest.approx([0.9345, 0.6], abs=5e-3)
    assert own.loc[1, "moved_m_per_m"] == pytest.approx(0.0, abs=2e-3)


@pytest.mark.parametrize("design", ["one-at-a-time", "grid"])
def test_the_best_depth_is_that_of_the_points_that_differ_in_it_alone(
    tmp_path: Path, design: str
) -> None:
    """The slow do best 2.6 m behind the baseline, the others 2 m."""
    depth = {"name": "waiting_depth_m", "of": "studied", "levels": [0.5, 1.0, 2.0, 3.0, 4.0]}
    speed = {**SPEED, "times": [0.85, 1.0]}
    study = by_speed(
        opponents=["habit"],
        policies=["middle", "bisector"],
        factors={"design": design, "vary": [speed, depth]},
    )

    def share(scenario: Scenario, policy: str, values: dict[str, Any]) -> float:
        at_m = values.get("studied waiting_depth_m", 1.3)
        at_m = 1.3 if at_m is None or at_m != at_m else at_m
        speed = values.get("studied legs.top_speed_m_s")
        top_m = 2.6 if speed is not None and speed < 6.0 else 2.0
        return 0.5 - 0.01 * (at_m - top_m) ** 2

    folder = made_folder(tmp_path / "out", study, share)
    table = read_table(folder.path / "best_place.csv")
    own = table[(table["outcome"] == "points_won_per_100") & (table["policy"] == "middle")]
    assert set(table["axis"]) == {"depth"} and own["words"].iloc[0] == USUAL
    assert own["best_m"].iloc[0] == pytest.approx(2.0, abs=0.01)
    assert own["shade_m_per_m"].isna().all()
    if design == "grid":
        assert own["words"].to_list() == [USUAL, "15 % slower"]
        assert own["moved_m"].iloc[1] == pytest.approx(0.6, abs=0.01)
        (said,) = sentences(folder.path)
        assert "2.00 m behind the baseline" in said
        assert "15 % slower: 0.60 m farther back, 0.60 to 0.60" in said
    else:
        assert len(own) == 1


def test_points_are_named_by_how_the_study_gives_them() -> None:
    vary = [
        {**SPEED, "plus": [-1.0, 0.0]},
        {"name": "legs.reaction_s", "of": "opponent", "times": [1.1]},
        {"name": "surface", "levels": ["clay"]},
        {"name": "legs.tau_s", "low": 0.7, "high": 0.9},
    ]
    study = by_speed(factors={"design": "one-at-a-time", "vary": vary})
    assert study.factors is not None
    named = named_factors(study, "club-adult")
    words = [point_words(study.factors, k, named) for k in range(6)]
    assert words[:2] == ["1 m/s slower", USUAL]
    assert words[2].startswith("opponent's ") and words[2].endswith(" 10 % more")
    assert words[3] == "surface clay"
    assert words[4].endswith(" 0.7 s") and words[5].endswith(" 0.9 s")
    assert told_points(study) == [0, 1, 2, 2, 3, 3, 4, 5]


def test_a_replicate_is_in_one_batch_and_courts_are_shared_out() -> None:
    rows = sums_in_batches(np.ones((1000, 12)), np.arange(1000))
    assert rows[:, 0].tolist() == list(range(100)) and (rows[:, 1] == 10.0).all()
    even = sums_in_batches(np.ones((500, 12)), np.arange(0, 1000, 2))
    assert (even[:, 1] == 5.0).all()


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A left-handed child in the left corner, from there and in rallies."""
    study = by_speed(
        settings=["placed", "rally"],
        opponents=["habit"],
        levels=["under-12"],
        hand="left",
        placed_balls=300,
        rallies=60,
        places=[{"name": "corner", "x_m": -2.9, "y_m": 11.5}],
    )
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        return run_tiny(study, tmp_path_factory.mktemp("played") / "out")


def test_batches_add_up_to_the_cells(played: Path) -> None:
    batches, cells = read_batches(played / "batches.parquet"), pd.read_csv(played / "cells.csv")
    usual = batches[(batches["point"] == -1) & (batches["setting"] == "rally")]
    sums = usual.groupby("policy")[["one", "balls", "missed", "points"]].sum()
    own = cells[cells["setting"] == "rally"].pivot(
        index="policy", columns="outcome", values="estimate"
    )
    for policy in sums.index:
        one, balls, missed, points = sums.loc[policy]
        assert one == 60
        assert own.loc[policy, "points_won_per_100"] == pytest.approx(100 * points / one, rel=1e-5)
        assert own.loc[policy, "missed_per_100"] == pytest.approx(100 * missed / balls, rel=1e-5)


def test_the_table_does_not_depend_on_workers(
    played: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from experiments.study.file import load_study

    without_pages(monkeypatch)
    again = run_tiny(load_study(played / "study.toml"), tmp_path / "again", workers=2)
    for name in ("batches.parquet", "best_place.csv"):
        assert (again / name).read_bytes() == (played / name).read_bytes(), name


def test_a_study_that_is_played_says_it_in_the_terminal(played: Path) -> None:
    table = read_table(played / "best_place.csv")
    assert set(table["setting"]) == {"placed", "rally"}
    inside = table["best_m"].between(table["low_m"] - 1e-6, table["high_m"] + 1e-6)
    assert inside.mean() > 0.7 and table["best_m"].between(0.0, 0.6 * 2.9).all()
    assert "the best shade is" in study_text(played, 3)


def test_a_study_without_a_curve_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    without_pages(monkeypatch)
    few = by_speed(opponents=["habit"], policies=["middle", *SHADES[:3]], rallies=10)
    assert in_batches(few) == ()
    folder = run_tiny(few, tmp_path / "few")
    assert not (folder / "batches.parquet").exists()
    assert not (folder / "best_place.csv").exists()
    (said,) = sentences(folder)
    assert "tries no curve of at least 5 shades" in said and said in study_text(folder, 3)


def test_shades_toward_the_backhand_are_no_part_of_the_curve() -> None:
    beside = "linear-shade,shade_m_per_m=0.25,toward_backhand_m=0.3"
    study = by_speed(policies=["middle", *SHADES, beside])
    assert list(shades_of(study).values()) == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    assert in_batches(study.model_copy(update={"factors": None})) == ()
