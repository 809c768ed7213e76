"""Sobol's indices against known ones, and tables of one parameter at a time and of draws."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from made_folder import MISSED, POINTS, made_folder
from tiny_study import only, run_tiny, without_pages

from experiments.evidence.sensitivity.analysis import sections, write_analysis
from experiments.evidence.sensitivity.effects import chance_share, indices, without_chance
from experiments.evidence.sensitivity.folder import Comparison, DesignedFolder, read_table
from experiments.evidence.sensitivity.naming import SCENE, named_factors
from experiments.study.columns import columns_of
from experiments.study.file import load_study
from experiments.study.folder_files import ANALYSES
from sim.errors import InputError
from sim.parameter import STATUSES

NAMES = ("legs.rise_cost", "legs.guess_share", "legs.follow_through_s")
RANGES = {NAMES[0]: (0.1, 0.6), NAMES[1]: (0.2, 0.5), NAMES[2]: (0.1, 0.5)}


def unit(values: pd.DataFrame) -> np.ndarray:
    """The points in the unit cube, (n, 3)."""
    return np.stack([(values[k] - lo) / (hi - lo) for k, (lo, hi) in RANGES.items()], axis=1)


def ishigami(values: pd.DataFrame) -> np.ndarray:
    """Ishigami and Homma's function with a = 7 and b = 0.1, over -pi to pi."""
    x = math.pi * (2.0 * unit(values) - 1.0)
    return np.asarray(
        np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    )


def linear(values: pd.DataFrame) -> np.ndarray:
    u = unit(values)
    return np.asarray(3.0 * u[:, 0] + 2.0 * u[:, 1] - 1.0)


@pytest.fixture(scope="module")
def sampled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    factors = {"design": "sobol-indices", "points": 256, "vary": [{"name": n} for n in NAMES]}
    path = tmp_path_factory.mktemp("sampled") / "out"
    made_folder(path, factors, {POINTS: ishigami, MISSED: linear})
    write_analysis(path)
    return path


def of(path: Path, outcome: str) -> pd.DataFrame:
    table = read_table(path / "sensitivity.csv").set_index("factor")
    return table[table["outcome"] == outcome].loc[list(NAMES)]


def test_indices_of_ishigamis_function_are_the_analytic_ones(sampled: Path) -> None:
    # Saltelli et al. 2008, Global Sensitivity Analysis: The Primer, and SciPy's documentation of
    # sobol_indices: first order 0.314, 0.442, 0; total order 0.558, 0.442, 0.244.
    # 256 rows leave standard errors of up to 0.05.
    found = of(sampled, POINTS)
    assert found["first"].to_numpy() == pytest.approx([0.3139, 0.4424, 0.0], abs=0.09)
    assert found["total"].to_numpy() == pytest.approx([0.5576, 0.4424, 0.2437], abs=0.06)


def test_a_sum_has_no_interplay(sampled: Path) -> None:
    found = of(sampled, MISSED)
    truth = [9 / 13, 4 / 13, 0.0]  # variances of a u are a^2 / 12
    assert found["first"].to_numpy() == pytest.approx(truth, abs=0.03)
    assert found["total"].to_numpy() == pytest.approx(truth, abs=0.03)
    assert found["total"].iloc[2] == 0.0
    assert found["moves_by"].to_numpy() == pytest.approx([3 / 12**0.5, 2 / 12**0.5, 0], abs=0.03)


def test_intervals_of_indices_hold_the_truth(sampled: Path) -> None:
    for outcome, truth in ((POINTS, [0.5576, 0.4424, 0.2437]), (MISSED, [9 / 13, 4 / 13, 0.0])):
        found = of(sampled, outcome)
        assert (found["total_low"] <= np.array(truth) + 1e-9).all()
        assert (found["total_high"] >= np.array(truth) - 1e-9).all()
        assert (found["total_high"] - found["total_low"]).iloc[0] > 0.02


def test_which_way_a_number_works_shows_in_its_fifths(sampled: Path) -> None:
    found = of(sampled, MISSED)
    # The mean of u over its lowest and highest fifth is 0.1 and 0.9.
    assert found["lowest_fifth"].iloc[0] == pytest.approx(3 * 0.1 + 2 * 0.5 - 1, abs=0.1)
    assert found["highest_fifth"].iloc[0] == pytest.approx(3 * 0.9 + 2 * 0.5 - 1, abs=0.1)


def test_the_share_of_draws_that_turn_is_the_area_where_they_do(sampled: Path) -> None:
    draws = read_table(sampled / "draws.csv").set_index("outcome").loc[MISSED]
    # 3 u + 2 v <= 1 in a triangle with legs 1/3 and 1/2.
    assert draws["not_better"] == pytest.approx(1 / 12, abs=0.01)
    assert draws["chance_share"] == 0.0
    assert draws["not_better_without_chance"] == draws["not_better"]
    assert draws["wins"] + draws["loses"] + draws["as_good"] == pytest.approx(1.0)


def test_the_same_folder_gives_the_same_bytes(sampled: Path) -> None:
    first = (sampled / "sensitivity.csv").read_bytes()
    write_analysis(sampled)
    assert (sampled / "sensitivity.csv").read_bytes() == first


def test_chance_and_true_scatter_are_told_apart() -> None:
    rng = np.random.default_rng(1)
    true = rng.normal(2.0, 3.0, 4000)
    seen = true + rng.normal(0.0, 1.5, 4000)
    cells = pd.DataFrame({"estimate": seen, "low": seen - 1.96 * 1.5, "high": seen + 1.96 * 1.5})
    share = chance_share(Comparison({"outcome": POINTS}, cells, None, True), cells.index)
    assert share == pytest.approx(1.5**2 / (3.0**2 + 1.5**2), abs=0.02)
    cleaned = without_chance(seen, share)
    assert cleaned.std() == pytest.approx(3.0, abs=0.1)
    assert np.mean(cleaned <= 0) == pytest.approx(np.mean(true <= 0), abs=0.02)
    assert abs(np.mean(cleaned <= 0) - np.mean(true <= 0)) < np.mean(seen <= 0) - np.mean(true <= 0)


def test_each_column_is_explained(sampled: Path, single: Path) -> None:
    for path in (sampled, single):
        rows = [c for c in columns_of(path) if c.table in ANALYSES]
        assert {c.table for c in rows} >= {"assumptions"}
        assert all(c.meaning for c in rows), [c.column for c in rows if not c.meaning]


def test_an_outcome_that_nothing_moves_has_indices_of_zero() -> None:
    found = indices(np.ones(8), np.ones(8), np.ones((2, 8)), seed=1)
    assert not found.first.any() and not found.total.any()


ONE = {
    "design": "one-at-a-time",
    "vary": [{"name": NAMES[0]}, {"name": NAMES[1]}, {"name": NAMES[2]}],
}


def one_by_one(values: pd.DataFrame) -> np.ndarray:
    """2 as it stands; the first number moves that by -2.5 and +1, the second by 0.4 in all."""
    ends = {NAMES[0]: (-0.5, 3.0), NAMES[1]: (1.8, 2.2), NAMES[2]: (2.0, 2.0)}
    by = {name: dict(zip(RANGES[name], ends[name], strict=True)) for name in NAMES}
    return np.array(
        [by[name][v] for _, row in values.iterrows() for name, v in row.dropna().items()]
    )


@pytest.fixture(scope="module")
def single(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("single") / "out"
    made_folder(path, ONE, {POINTS: one_by_one}, se=0.1, usual=2.0)
    write_analysis(path)
    return path


def test_one_at_a_time_sorts_by_spread_and_tells_what_turns(single: Path) -> None:
    table = read_table(single / "one_at_a_time.csv").set_index("factor")
    assert list(table.index) == list(NAMES)
    assert table["spread"].to_list() == pytest.approx([3.5, 0.4, 0.0])
    assert table["moves"].to_list() == ["surely", "perhaps", "no"]
    assert table["turns"].to_list() == ["loses", "", ""]
    assert table["at_low_estimate"].to_list() == pytest.approx([-0.5, 1.8, 2.0])
    half = 1.96 * 0.1 * 2**0.5
    assert table["spread_half"].iloc[0] == pytest.approx(half, abs=1e-3)
    resting = read_table(single / "assumptions.csv")
    assert list(resting["factor"]) == list(NAMES[:2])
    assert list(resting["status"]) == ["assumed", "fitted"]


def test_the_report_says_what_the_tables_hold(single: Path, sampled: Path) -> None:
    section, places = sections(single)
    assert not places.rows and places.sentences[0].startswith("Of the best place nothing is said")
    assert section.sentences[0].startswith("As it stands: +2.0 (+1.8 to +2.2) points per 100")
    assert "1 of 3 numbers move that" in section.sentences[1]
    assert "share of comfort lost on a steeply rising ball (loses)" in section.sentences[2]
    assert section.rows[0][3] == "-0.5 (-0.7 to -0.3)"
    both = sections(sampled)[:2]
    assert [len(s.rows) for s in both] == [3, 3]
    assert "Over 512 draws of all 3 numbers" in both[1].sentences[0]


def test_a_run_writes_its_analysis(tmp_path: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        without_pages(patch)
        factors = {"design": "one-at-a-time", "vary": [{"name": "legs.reaction_s"}]}
        study = only("placed", factors=factors, placed_balls=60)
        out = run_tiny(study, tmp_path / "out")
    table = read_table(out / "one_at_a_time.csv")
    assert set(table["factor"]) == {"legs.reaction_s"}
    missed = table[(table["policy"] == "middle") & (table["outcome"] == "missed_per_100")].iloc[0]
    assert missed["at_high_estimate"] >= missed["at_low_estimate"]  # who reacts later misses more
    assert list(table[table["policy"] == "middle"]["moves"].unique()) == [""]


def test_a_study_without_factors_has_nothing_to_analyse(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(only("placed").toml(), "utf-8")
    assert write_analysis(tmp_path) == []
    assert sections(tmp_path) == []
    with pytest.raises(InputError, match="varies nothing"):
        DesignedFolder.read(tmp_path)


def test_every_parameter_of_the_bundled_study_has_words() -> None:
    study = load_study(Path("one-at-a-time"))
    named = named_factors(study, "college-man")
    assert study.factors is not None
    count = len(study.factors.all)
    assert len(named) == len({n.words for n in named.values()}) == count > 120
    for name in named.values():
        assert name.words and "_" not in name.words and name.words != name.label
        assert name.status in (*STATUSES, SCENE)
        assert name.low is not None and name.low <= name.usual <= (name.high or 0.0)
