"""The table of checks: its rules, its estimates, its register of fits and what it prints."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from pinned_rows import LEGS, PHYSICS, SIMULATED
from scipy import stats

from experiments.command.main import main
from experiments.evidence.validation.answer import (
    WIDTH,
    Table,
    number,
    table_json,
    table_of,
    table_text,
    tolerance,
)
from experiments.evidence.validation.estimates import (
    Estimate,
    difference,
    exact,
    mean_of,
    median_of,
    normal,
    percentage_of,
)
from experiments.evidence.validation.figure import EDGE, scaled, table_figure
from experiments.evidence.validation.rows import (
    AGREES,
    CHECK,
    DISAGREES,
    INPUT,
    NOT_TESTABLE,
    Row,
    Source,
    demoted,
    short,
)
from experiments.evidence.validation.strokes_picture import MEASURES, is_of_a_kind
from experiments.evidence.validation.typical import (
    RallyFigures,
    fits,
    fitted_figures,
    typical_rallies,
)
from sim.players import player
from sim.records import BACKHAND, FORCED_ERROR, FOREHAND, GOING, OPPONENT, STROKE, STUDIED, WINNER

COLUMNS = (
    "quantity",
    "published",
    "tolerance",
    "ours",
    "low",
    "high",
    "verdict",
    "kind",
    "source",
    "status",
)
INF = float("inf")


@pytest.fixture(scope="module")
def table() -> Table:
    return table_of(11, 150)


def row_of(ours: Estimate, accepted: tuple[float, float] = (1.0, 2.0), key: str = "B3") -> Row:
    return Row(
        key,
        "a quantity, m",
        (1.5,),
        accepted,
        ours,
        CHECK,
        Source("a book", "published"),
        note="Read so.",
        if_low="too low.",
        if_high="too high.",
    )


# Verdicts.


@pytest.mark.parametrize(
    ("ours", "accepted", "verdict"),
    [
        (exact(1.0), (1.0, 2.0), AGREES),
        (exact(2.001), (1.0, 2.0), DISAGREES),
        (normal(1.5, 0.2), (1.0, 2.0), AGREES),
        (normal(1.5, 0.3), (1.0, 2.0), NOT_TESTABLE),
        (normal(2.5, 0.2), (1.0, 2.0), DISAGREES),
        (normal(2.3, 0.2), (1.0, 2.0), NOT_TESTABLE),
        (normal(5.0, 0.2), (0.0, INF), AGREES),
        (normal(-5.0, 0.2), (0.0, INF), DISAGREES),
        (normal(float("nan"), 0.2), (1.0, 2.0), NOT_TESTABLE),
    ],
)
def test_verdict_follows_from_the_interval(
    ours: Estimate, accepted: tuple[float, float], verdict: str
) -> None:
    assert row_of(ours, accepted).verdict() == verdict


def test_a_disagreement_names_the_cause_of_its_own_side() -> None:
    assert row_of(exact(1.5)).notes == "Read so."
    assert row_of(exact(0.5)).notes == "Read so. Likely cause: too low."
    assert row_of(exact(2.5)).notes == "Read so. Likely cause: too high."
    assert "--rallies" in row_of(normal(2.0, 0.1)).notes
    assert "no such figure" in row_of(normal(float("nan"), 0.1)).notes


# Estimates.


def test_the_rally_is_the_unit_of_intervals() -> None:
    """Each rally's strokes all alike: as many strokes say no more than the rallies do."""
    rng = np.random.default_rng(3)
    by_rally = rng.normal(10.0, 2.0, 400)
    alone = mean_of(by_rally, np.arange(400))
    doubled = mean_of(np.repeat(by_rally, 7), np.repeat(np.arange(400), 7))
    assert doubled.value == pytest.approx(alone.value)
    assert doubled.se == pytest.approx(alone.se)
    assert alone.se == pytest.approx(stats.sem(by_rally))


def test_mean_over_rallies_of_unequal_length_is_that_of_a_ratio() -> None:
    """Against SciPy's bootstrap of whole rallies."""
    rng = np.random.default_rng(4)
    lengths = rng.integers(1, 9, 300)
    values = rng.normal(np.repeat(rng.normal(5.0, 1.0, 300), lengths), 0.5)
    found = mean_of(values, np.repeat(np.arange(300), lengths))
    sums = np.add.reduceat(values, np.cumsum(lengths) - lengths)
    again = stats.bootstrap(
        (sums, lengths),
        lambda s, n, axis: s.sum(axis) / n.sum(axis),
        paired=True,
        n_resamples=2000,
        method="percentile",
        rng=np.random.default_rng(5),
    )
    assert found.se == pytest.approx(again.standard_error, rel=0.08)


def test_interval_of_a_median_covers_at_its_rate() -> None:
    """Of 400 samples of 101 exponential numbers, a binomial number of intervals at rate 0.95;
    false alarm one in ten thousand, with a point for the steps of order statistics."""
    rng = np.random.default_rng(6)
    samples = rng.exponential(1.0, (400, 101))
    ends = [median_of(sample, np.arange(101)).interval(0.95) for sample in samples]
    covered = sum(low <= np.log(2) <= high for low, high in ends) / 400
    low, high = stats.binom.ppf([5e-5, 1 - 5e-5], 400, 0.95) / 400
    assert low - 0.01 <= covered <= high + 0.01


def test_median_of_whole_numbers_is_one_of_them() -> None:
    lengths = np.array([1, 2, 3, 3, 4, 9] * 50)
    found = median_of(lengths, np.arange(300))
    assert (found.value, *found.interval(0.95)) == (3.0, 3.0, 3.0)


def test_difference_and_percentage() -> None:
    found = difference(normal(3.0, 0.3), normal(1.0, 0.4))
    assert (found.value, found.se) == pytest.approx((2.0, 0.5))
    share = percentage_of(np.array([True, False, True, True]), np.arange(4))
    assert share.value == 75.0


# Figures read off rallies.


def two_rallies() -> np.ndarray:
    """Four strokes, then two: each field that the figures read, by hand."""
    s = np.zeros(6, STROKE)
    s["replicate"] = (4, 4, 4, 4, 7, 7)
    s["stroke"] = (0, 1, 2, 3, 0, 1)
    s["side"] = (OPPONENT, STUDIED, OPPONENT, STUDIED, OPPONENT, STUDIED)
    s["strike_time_s"] = (0.0, 1.2, 2.6, 3.6, 0.0, 1.4)
    s["recovery_run_m"] = (0.0, 1.0, 2.0, 1.5, 0.0, 1.0)
    s["chase_run_m"] = (1.0, 2.0, 3.0, 9.0, 2.6, 0.5)
    s["ending"] = (GOING, GOING, GOING, WINNER, GOING, FORCED_ERROR)
    s["outcome"] = (0, 0, 0, 0, 0, 1)
    s["hitter_wing"] = (1, 1, -1, 1, 1, 1)
    s["net_clearance_m"] = (5.0, 0.6, 5.0, 0.8, 5.0, -0.1)
    s["meeting_x_m"] = (3.0, 0.0, 2.0, 0.0, 1.0, 0.0)
    return s


def test_figures_of_rallies_worked_by_hand() -> None:
    figures = RallyFigures(two_rallies())
    assert figures.time_between_strikes_s().value == pytest.approx((1.2 + 1.4 + 1.0 + 1.4) / 4)
    assert figures.distance_between_contacts_m().value == pytest.approx((3.0 + 5.0) / 2)
    assert figures.reached_within_pct(0.0, 2.5).value == pytest.approx(50.0)
    assert figures.ball_from_spot_within_pct(0.0, 2.5).value == pytest.approx(75.0)
    assert figures.mean_strokes().value == 3.0
    assert figures.median_strokes().value == 2.0
    assert figures.short_rallies_pct(2).value == 50.0
    assert figures.winners_pct().value == 50.0
    assert figures.net_clearance_m(FOREHAND).value == pytest.approx(0.6)
    assert figures.net_clearance_m(BACKHAND).value == pytest.approx(5.0)
    ran, time = (1.0 + 1.0) + (2.0 + 2.0) + (3.0 + 1.5) + (2.6 + 1.0), 3.6 + 1.4
    assert figures.mean_running_speed_m_s().value == pytest.approx(ran / (2 * time))


def test_where_and_how_fast_strokes_arrive() -> None:
    """Forehands after the serve land 1 and 3 m inside; one is met in the court, one behind."""
    s = two_rallies()
    s["landing_x_m"] = (0.0, 3.115, 0.0, -1.115, 0.0, 0.0)
    s["landing_y_m"] = (0.0, 8.0, 0.0, -9.0, 0.0, 0.0)
    s["meeting_x_m"], s["meeting_y_m"] = s["landing_x_m"], (0.0, 12.5, -11.0, 0.0, 0.0, 0.0)
    s["landing_time_s"], s["meeting_time_s"] = 1.0, 1.5
    figures = RallyFigures(s)
    assert figures.inside_sideline_m(FOREHAND).value == pytest.approx(1.0)
    assert figures.arriving_speed_km_h(FOREHAND).value == pytest.approx(3.6 * 4.5 / 0.5)
    assert np.isnan(figures.arriving_speed_km_h(BACKHAND).value)


def test_typical_rallies_have_cells_of_their_own_and_repeat() -> None:
    hard = typical_rallies("professional-man", "hard", 5, 20)
    clay = typical_rallies("professional-man", "clay", 5, 20)
    assert not set(hard["replicate"]) & set(clay["replicate"])
    again = typical_rallies("professional-man", "hard", 5, 20)
    assert hard.tobytes() == again.tobytes()


def test_typical_rallies_begin_with_serves_from_both_sides_and_do_not_depend_on_their_number() -> (
    None
):
    many, few = (typical_rallies("professional-man", "hard", 5, n) for n in (30, 8))
    assert (many["replicate"] == np.sort(many["replicate"])).all()
    assert many[: len(few)].tobytes() == few.tobytes()
    served = many[many["stroke"] == 0]
    height_m = player("professional-man").hitter.serve_height_m
    assert len(served) == 30 and (served["hitter_z_m"] == height_m).all()
    assert (np.sign(served["hitter_x_m"]) == np.where(np.arange(30) % 2, 1, -1)).all()


# Fits.


def test_no_fitted_figure_is_a_check(table: Table) -> None:
    fitted = fitted_figures()
    assert fitted, "the parameters record no fit at all"
    assert not [row.key for row in table.rows if row.kind == CHECK and row.key in fitted]


def test_fits_that_name_a_row_name_one_that_exists(table: Table) -> None:
    keys = {row.key for row in table.rows}
    named = [fit for fit in fits() if re.fullmatch(r"[A-Z]\d+[a-z]?", fit.figure)]
    assert {fit.figure for fit in named} <= keys


def test_a_check_that_something_is_fitted_to_becomes_an_input() -> None:
    rows = [row_of(exact(1.5), key=key) for key in ("R1a", "R1b")]
    first, second = demoted(rows, {"R1a", "words"})
    assert (first.kind, second.kind) == (INPUT, CHECK)
    assert "Used to fit" in first.notes


# What is printed.


def test_every_row_is_in_the_table(table: Table) -> None:
    keys = [row.key for row in table.rows]
    assert len(keys) == len(set(keys))
    assert set(keys) == {*PHYSICS, *LEGS, *SIMULATED}


def test_text_fits_the_page_and_names_every_row(table: Table) -> None:
    text = table_text(table)
    assert max(map(len, text.splitlines())) <= WIDTH
    for row in table.rows:
        assert re.search(rf"^{row.key} +{re.escape(row.quantity)} ", text, re.MULTILINE)
        assert re.search(rf"^( *|.*, ){row.key}[,:]( |$)", text, re.MULTILINE), row.key
    checks = sum(row.kind == CHECK for row in table.rows)
    agree = sum(row.kind == CHECK and row.verdict() == AGREES for row in table.rows)
    assert f"{agree} of {checks} checks agree" in text
    assert f"Seed {table.seed}" in text


@pytest.mark.parametrize(
    ("published", "accepted", "words"),
    [
        ((1.5,), (1.4, 1.6), "± 0.1"),
        ((1.0, 2.0), (1.0, 2.0), "band"),
        ((1.2, 1.4), (1.0, 2.0), "1-2"),
        ((0.05,), (0.0, INF), "above 0"),
        ((0.0,), (0.0, 0.001), "0-0.001"),
        ((0.0,), (-INF, 0.0), "up to 0"),
    ],
)
def test_tolerance_in_words(
    published: tuple[float, ...], accepted: tuple[float, float], words: str
) -> None:
    row = Row("B3", "a", published, accepted, exact(1.0), CHECK, Source("a book", "published"))
    assert tolerance(row) == words


@pytest.mark.parametrize(
    ("value", "text"),
    [(1.21764, "1.218"), (0.036312, "0.0363"), (2.5e-8, "2.5e-08"), (0.0, "0"), (INF, "-")],
)
def test_numbers_are_short(value: float, text: str) -> None:
    assert number(value) == text


def test_figure_puts_every_tolerance_on_one_scale(table: Table) -> None:
    for row in table.rows:
        low, high = row.accepted
        if row.kind == CHECK:
            assert scaled(row, low) == pytest.approx(-1.0)
            assert scaled(row, high) == (INF if high == INF else pytest.approx(1.0))


def test_figure_draws_every_check_and_input(table: Table) -> None:
    """Those of one kind of stroke in panels of their own, three to a kind and sex."""
    top, middle, bottom = table_figure(table).subfigs
    shown = [row for row in table.rows if row.kind in (CHECK, INPUT)]
    of_kinds = [row for row in shown if is_of_a_kind(row)]
    labels = [t.get_text() for ax in top.axes for t in ax.get_yticklabels()]
    assert len(labels) == len(shown) - len(of_kinds)
    assert all(ax.get_xlim()[1] > EDGE for ax in top.axes)
    published = [line for ax in middle.axes for line in ax.lines if line.get_marker() == "|"]
    assert len(middle.axes) == len(MEASURES) and len(published) == len(of_kinds)
    drawn = [line.get_xdata()[0] for line in published]
    assert sorted(drawn) == sorted(row.published[0] for row in of_kinds)
    shares = [way.forced_error_pct.value for way in table.ways]
    assert list(bottom.axes[0].lines[0].get_ydata()) == shares


def test_ways_are_in_the_text_and_in_the_json(table: Table) -> None:
    text, page = table_text(table), table_json(table)
    for way, written in zip(table.ways, page["by_way"], strict=True):
        assert re.search(rf"^ +{re.escape(way.words)} +{way.strokes} ", text, re.MULTILINE)
        assert written["strokes"] == way.strokes
        for name, share in way.shares.items():
            assert written[name] == short(share.value)
    assert page["by_way"][-1]["way_to_m"] is None


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["validate", *map(str, arguments)])


def test_command(table: Table, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """JSON and picture; the rows themselves were computed for the other tests."""
    asked = []

    def found(seed: int, rallies: int, world: int | None) -> Table:
        asked.append((seed, rallies, world))
        return table

    monkeypatch.setattr("experiments.evidence.validation.answer.table_of", found)
    picture = tmp_path / "closeness.svg"
    done = run("--json", "--seed", "5", "--rallies", "150", "--figure", picture)
    assert (done.exit_code, asked) == (0, [(5, 150, None)])
    page = json.loads(done.stdout)
    assert [row["row"] for row in page["rows"]] == [row.key for row in table.rows]
    for row in page["rows"]:
        assert tuple(row)[: len(COLUMNS)] == COLUMNS
        if row["ours"] is None:  # a kind that was never played
            assert row["verdict"] == NOT_TESTABLE
        else:
            assert row["low"] <= row["ours"] <= row["high"]
        assert row["verdict"] in (AGREES, DISAGREES, NOT_TESTABLE)
    assert picture.read_text().lstrip().startswith("<?xml")
    assert "checks agree" in run().stdout


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--rallies", "5"), "--rallies is 5; give a whole number from 100 to 1000000"),
        (("--rallies", "many"), "'many' is not a valid integer"),
        (("--seed", "-1"), "seed is -1"),
        (("--figure", "table.txt"), "table.txt"),
    ],
)
def test_bad_input(
    arguments: tuple[str, ...], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*arguments)
    assert done.exit_code == 2
    assert says in done.stderr
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == []
