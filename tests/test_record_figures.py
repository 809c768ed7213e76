"""The record of last strokes: its file, its tolerances, what is read off points written by hand."""

from __future__ import annotations

import json
import math
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from pinned_rows import SIMULATED
from points_by_hand import point_of

from experiments.command.main import main
from experiments.evidence.record.answer import WIDTH, Table, table_from, table_json, table_text
from experiments.evidence.record.figures import (
    estimates,
    figures,
    fit_of,
    gaps,
    section_names,
)
from experiments.evidence.record.pairs import LastPairs
from experiments.evidence.record.picture import MARKERS, table_figure
from experiments.evidence.record.play import record_game, record_strokes
from experiments.evidence.record.published import QUANTILES, Figure, record
from experiments.evidence.validation.estimates import Estimate, exact, normal
from experiments.evidence.validation.last_strokes import impact_time_s
from experiments.evidence.validation.typical import typical_rallies
from experiments.statistics.estimates import LEVEL
from sim.kinds import DRIVE
from sim.records import (
    IN,
    LONG,
    NET,
    STROKE_LIMIT,
    UNFORCED_ERROR,
    UNRETURNED,
    WIDE,
    WINNER,
)

FIGURES = {figure.key: figure for figure in record()}
COUNTS = {
    "endings": 37,
    "places": 57,
    "running": 12,
    "ball": 36,
    "directions": 12,
    "last strokes": 30,
}


@pytest.fixture(scope="module")
def strokes() -> np.ndarray:
    return record_strokes(record_game(3), 400)


@pytest.fixture(scope="module")
def table(strokes: np.ndarray) -> Table:
    return table_from(estimates(strokes), 3, 400)


# The file.


def test_every_figure_is_in_one_section() -> None:
    assert Counter(figure.section for figure in record()) == COUNTS
    assert len(FIGURES) == sum(COUNTS.values())  # no key stands twice
    assert {"endings", "places", "ball", "running"} <= set(section_names())


def test_shares_of_a_whole_come_to_one() -> None:
    wholes = [
        ["W", "FE", "UE"],
        [k for k in FIGURES if k.startswith("length-")],
        ["errors-net", "errors-long", "errors-wide"],
        *(
            [f"{third}-{place}" for third in ("other-side", "middle", "own-side")]
            for place in ("0-1.37", "1.37-2.75", "2.75-4.1", "4.1+")
        ),
    ]
    for keys in wholes:
        assert sum(FIGURES[key].value for key in keys) == pytest.approx(1.0, abs=0.0021), keys


def test_hazards_agree_with_the_labels() -> None:
    """5,000 labelled points are what the endings at each stroke come to."""
    reached = {"3": 5000, "4": 3681, "5-6": 4868, "7-8": 2739, "9-12": 2596, "13+": 1485}
    for label in ("W", "FE", "UE"):
        ended = sum(n * FIGURES[f"{label}-{name}"].value for name, n in reached.items())
        assert ended / 5000 == pytest.approx(FIGURES[label].value, abs=0.002)
        after = ended / sum(reached.values())
        assert after == pytest.approx(FIGURES[f"{label}-after-return"].value, abs=0.001)


def test_quantiles_rise() -> None:
    lines: dict[str, list[Figure]] = {}
    for figure in record():
        if figure.of in QUANTILES:
            lines.setdefault(figure.line, []).append(figure)
    assert sum(len(line) > 1 for line in lines.values()) == 17 + 7  # whole ones, and places by bins
    for line in lines.values():
        values = [figure.value for figure in line]
        assert values == sorted(values)


# Tolerances, by hand.


@pytest.mark.parametrize(
    ("key", "se", "allowance"),
    [
        ("W", math.sqrt(0.337 * 0.663 / 5000), 0.0337),
        ("FE-3", math.sqrt(0.036 * 0.964 / 5000), 0.01),
        ("other-side-4.1+", math.sqrt(0.476 * 0.524 / 252), 0.0476),
        ("receiver-x-mean", (3.24 - 0.15) / (2 * 1.64485) / math.sqrt(2851), 0.15),
        ("receiver-x-p5", math.sqrt(0.05 * 0.95 / 2851) / (0.20 / 0.53), 0.15),
        ("receiver-x-p25", math.sqrt(0.25 * 0.75 / 2851) / (0.45 / 1.15), 0.15),
        ("receiver-y-p50", math.sqrt(0.25 / 3841) / (0.50 / 1.86), 1.334),
        ("by-0-0.75-mean", (1.27 + 0.79) / (2 * 0.67449) / math.sqrt(290), 0.15),
        ("by-0-0.75-p75", math.sqrt(0.75 * 0.25 / 290) / (0.25 / 1.04), 0.15),
        ("speed-p95", math.sqrt(0.05 * 0.95 / 5098) / (0.20 / 4.42), 1.5),
        ("impact-time-p50", math.sqrt(0.25 / 3748) / (0.50 / 0.28), 0.05),
        ("slope", 0.048 / 1.95996, 0.05),
        ("strokes-mean", 0.10 / 1.95996, 0.602),
        ("strokes-median", 0.0, 0.5),
    ],
)
def test_standard_errors_and_allowances(key: str, se: float, allowance: float) -> None:
    figure = FIGURES[key]
    assert figure.se == pytest.approx(se, rel=1e-4)
    assert figure.allowance == pytest.approx(allowance)
    together = math.sqrt((1.95996 * se) ** 2 + allowance**2)
    assert figure.tolerance == pytest.approx(together, rel=1e-4)


@pytest.mark.parametrize(
    ("row", "key"),
    [
        *((f"W1{c}", f"winner-from-net-{q}") for c, q in zip("abcde", QUANTILES, strict=True)),
        *(("W2a", "winner-speed-p5"), ("W2b", "winner-speed-p50"), ("W2c", "winner-speed-p95")),
        *(
            (f"W3{c}", f"winner-sideline-{q}")
            for c, q in zip("abc", list(QUANTILES)[1:4], strict=True)
        ),
    ],
)
def test_tolerances_are_those_of_the_rows_of_winners(row: str, key: str) -> None:
    """Two homes of one figure: `validate` has winners too, its tolerances rounded."""
    pin, figure = SIMULATED[row], FIGURES[key]
    assert pin.published == (figure.value,)
    assert (pin.accepted[1] - pin.accepted[0]) / 2 == pytest.approx(figure.tolerance, abs=0.0101)


# Points written by hand.


def of_length(replicate: int, records: int, ending: int, **fields: tuple[float, ...]) -> np.ndarray:
    return point_of(replicate, *(DRIVE,) * records, ending=ending, **fields)


def endings() -> np.ndarray:
    """A winner at stroke 3, a ball touched at stroke 4, an unforced error at stroke 5; a point of
    two strokes and one that was stopped, which are not in the record."""
    return np.concatenate(
        [
            of_length(1, 3, WINNER),
            of_length(2, 3, UNRETURNED),
            of_length(3, 5, UNFORCED_ERROR),
            of_length(4, 2, UNFORCED_ERROR),
            of_length(5, 6, STROKE_LIMIT),
        ]
    )


def test_labels_hazards_and_lengths() -> None:
    found = LastPairs(endings())
    assert found.strokes().tolist() == [3, 4, 5]
    for ending in ("winner", "forced error", "unforced error"):
        assert found.label(ending).mean() == pytest.approx(1 / 3)
        assert found.hazard(ending, 3, 1000).tolist() == [True] + [False] * 5  # 1 + 2 + 3 strokes
    assert found.hazard("winner", 3, 3).mean() == pytest.approx(1 / 3)
    assert found.hazard("forced error", 4, 4).tolist() == [True, False]
    assert found.hazard("unforced error", 4, 6).tolist() == [True, False, False]
    assert len(found.hazard("winner", 6, 6)) == 0
    assert found.length(4, 5).tolist() == [False, True, True]


def errors() -> np.ndarray:
    """Into the net, long, wide, long and wide, and one that was only touched."""
    places = [(NET, 0.0, -1.0), (LONG, 0.0, -12.885), (WIDE, 4.615, -8.0), (WIDE, -5.0, -13.885)]
    made = [
        of_length(
            i,
            4,
            UNFORCED_ERROR,
            outcome=(IN, IN, IN, outcome),
            landing_x_m=(0, 0, 0, x),
            landing_y_m=(-9, 9, -9, y),
        )
        for i, (outcome, x, y) in enumerate(places)
    ]
    return np.concatenate([*made, of_length(9, 3, UNRETURNED)])


def test_errors_that_are_wide_and_long_are_long() -> None:
    found = LastPairs(errors())
    assert [found.error(where).tolist().count(True) for where in ("net", "long", "wide")] == [
        *(1, 2, 1)
    ]
    assert len(found.error("net")) == 4  # a touched ball has no place
    assert found.miss_m("long") == pytest.approx([1.0, 2.0])
    assert found.miss_m("wide") == pytest.approx([0.5])


def pair(replicate: int = 1, records: int = 5, **more: tuple[float, ...]) -> np.ndarray:
    """The last but one ball of a winner at stroke 5 is struck by a body 2 m left of the centre line
    and 12.5 m from the net; the receiver is 1.5 m to the right and runs 3 m aside and 4 m back."""
    fields: dict[str, tuple[float, ...]] = {
        "hitter_y_m": (-12, 12, -12, 12, -16),
        "receiver_x_m": (0, 0, 0, 1.5, 0),
        "receiver_y_m": (12, -12, 12, -12, 12),
        "body_x_m": (0, 0, -2.0, 4.5, 0),
        "body_y_m": (0, 0, 12.5, -16, 0),
        "landing_x_m": (0, 0, 0, 3.0, 0),
        "landing_y_m": (9, -9, 9, -9, 9),
        "speed_m_s": (0, 0, 0, 30, 35),
        "net_clearance_m": (0, 0, 0, 0.7, 0),
    }
    fields |= more
    return of_length(replicate, records, WINNER, **fields)


def test_places_and_ways_are_of_bodies_with_the_hitter_on_the_positive_side() -> None:
    found = LastPairs(pair())
    assert found.hitter_x_m(5).tolist() == [2.0]
    assert found.hitter_y_m(5).tolist() == [12.5]
    assert found.receiver_x_m(5, True).tolist() == [1.5]
    assert found.receiver_y_m(5).tolist() == [12.0]
    assert found.receiver_by_hitter_m(1.5, 2.25).tolist() == [-1.5]
    assert len(found.receiver_by_hitter_m(2.25, 3.0)) == 0
    assert found.on_other_side().tolist() == [True]
    assert found.way_m(5).tolist() == [5.0]
    assert found.way_sideways_m(5).tolist() == [3.0]
    assert found.winners_struck_from_m().tolist() == [16.0]
    assert len(found.way_m(6)) == 0  # it was over before


@pytest.mark.parametrize(
    "who", [{"body_y_m": (0, 0, 10.4, -16, 0)}, {"receiver_y_m": (12, -12, 12, -10.4, 12)}]
)
def test_both_have_to_be_back(who: dict[str, tuple[float, ...]]) -> None:
    found = LastPairs(pair(**who))
    assert len(found.receiver_x_m(5, True)) == len(found.on_other_side()) == 0
    assert len(found.receiver_x_m(5)) == 1


def test_the_ball_before_the_last() -> None:
    found = LastPairs(pair())
    assert found.speed_m_s(4).tolist() == [30.0]
    assert found.net_clearance_m(4).tolist() == [0.7]
    assert found.inside_baseline_m(4) == pytest.approx([2.885])
    assert found.inside_sideline_m(4) == pytest.approx([1.115])
    assert found.ended_speed_m_s("winner").tolist() == [35.0]
    assert found.winners_sideline_m() == pytest.approx([4.115])


def test_thirds_are_named_from_the_hitters_side() -> None:
    """From the left to the right is to the other side; what is volleyed does not bounce."""
    for x, third in ((3.0, "other side"), (-1.3, "middle"), (1.38, "other side"), (-3, "own side")):
        found = LastPairs(pair(landing_x_m=(0, 0, 0, x, 0)))
        for name in ("other side", "middle", "own side"):
            assert found.direction(name, 1.37, 2.75).tolist() == [name == third]
            assert len(found.direction(name, 2.75, 4.1)) == 0
    met = LastPairs(pair(meeting_time_s=(1.5, 1.5, 1.5, 0.9, 1.5)))  # it would land after 1 s
    assert len(met.direction("other side", 1.37, 2.75)) == 0


def test_time_to_the_net_is_that_of_the_drag() -> None:
    """Straight along 21 m in 1 s, the net after 12 m: expm1(0.2352) / expm1(0.4116)."""
    straight = pair(landing_x_m=(0,) * 5)
    found = LastPairs(straight)
    assert found.time_to_net_s(4) == pytest.approx([0.52071], abs=1e-5)
    assert found.time_to_impact_s(4, True).tolist() == impact_time_s(straight[3:4]).tolist()


def test_a_touched_ball_is_the_last_but_one() -> None:
    """The pair is one stroke later than the last record, and there is no last ball."""
    touched = pair()[:4].copy()
    touched["ending"][-1] = UNRETURNED
    found = LastPairs(touched)
    assert found.strokes().tolist() == [5]
    assert found.hitter_x_m(5).tolist() == [2.0] and found.way_m(5).tolist() == [5.0]
    assert len(found.ended_speed_m_s("forced error")) == 0


def lined(x_h: list[float], x_r: list[float]) -> np.ndarray:
    """Pairs at these places, in the hitter's frame."""
    return np.concatenate(
        [
            pair(i, body_x_m=(0, 0, h, 0, 0), receiver_x_m=(0, 0, 0, r, 0))
            for i, (h, r) in enumerate(zip(x_h, x_r, strict=True))
        ]
    )


def test_the_line_of_receivers_places() -> None:
    """x_r = 0.7 - 0.6 x_h, and off it by 0.1 there and back."""
    x_h, off = [0.0, 1.0, 2.0, 3.0], [0.1, -0.1, -0.1, 0.1]
    found = LastPairs(lined(x_h, [0.7 - 0.6 * h + d for h, d in zip(x_h, off, strict=True)]))
    assert found.slope().value == pytest.approx(-0.6)
    assert found.intercept_m().value == pytest.approx(0.7)
    assert found.spread_m().value == pytest.approx(math.sqrt(0.04 / 2))
    through = LastPairs(lined([1.0, 2.0], [-1.0, 1.0]))
    assert through.slope_through_0().value == pytest.approx(0.2)  # (-1 + 2) / (1 + 4)


def test_a_place_that_is_mirrored_has_the_same_figures() -> None:
    there, back = (pair(i, body_x_m=(0, 0, s * 2.0, s, 0)) for i, s in ((1, 1.0), (2, -1.0)))
    back["receiver_x_m"] = -back["receiver_x_m"]
    found = LastPairs(np.concatenate([there, back]))
    assert found.hitter_at.tolist() == [2.0, 2.0] and found.receiver_at.tolist() == [1.5, 1.5]


# Gaps and the rule.


def test_gaps_are_in_tolerances_and_the_record_fits_itself() -> None:
    values = np.array([figure.value for figure in record()])
    assert not gaps(values).any()
    assert fit_of(values).fits and fit_of(values).overall == 0.0
    tolerance = np.array([figure.tolerance for figure in record()])
    assert gaps(values - 2 * tolerance) == pytest.approx(-2.0)


@pytest.mark.parametrize("section", COUNTS)
def test_one_section_alone_can_spoil_a_fit(section: str) -> None:
    values = np.array([figure.value for figure in record()])
    tolerance = np.array([figure.tolerance for figure in record()])
    inside = np.array([figure.section == section for figure in record()])
    small = fit_of(np.where(inside, values + 1.49 * tolerance, values))
    large = fit_of(np.where(inside, values + 1.51 * tolerance, values))
    assert small.fits and not large.fits
    assert large.sections[section] == pytest.approx(1.51)
    assert large.overall == pytest.approx(1.51 * math.sqrt(inside.mean()))


def test_all_sections_just_inside_do_not_fit_together() -> None:
    values = np.array([figure.value + 1.1 * figure.tolerance for figure in record()])
    assert not fit_of(values).fits


def test_a_figure_that_is_missing_does_not_fit() -> None:
    values = np.array([figure.value for figure in record()])
    values[0] = math.nan
    assert not fit_of(values).fits
    assert np.isnan(figures(endings())).any()


# Played points.


def test_points_of_the_record_are_those_of_the_typical_game(strokes: np.ndarray) -> None:
    assert strokes.tobytes() == typical_rallies("professional-man", "hard", 3, 400).tobytes()


def test_fast_figures_are_the_values_of_the_estimates(strokes: np.ndarray) -> None:
    fast, slow = figures(strokes), estimates(strokes)
    assert fast == pytest.approx([estimate.value for estimate in slow], nan_ok=True)
    for figure, value, estimate in zip(record(), fast, slow, strict=True):
        low, high = estimate.interval(LEVEL)
        assert low <= value <= high or not math.isfinite(estimate.se), figure.key


def test_figures_do_not_depend_on_the_numbers_of_the_rallies(strokes: np.ndarray) -> None:
    moved = strokes.copy()
    moved["replicate"] += 7
    assert figures(moved).tobytes() == figures(strokes).tobytes()


# What is said.


def test_text_has_every_figure_and_the_fit(table: Table) -> None:
    text = table_text(table)
    lines = text.splitlines()
    assert max(map(len, lines)) <= WIDTH
    for figure in record():
        assert any(line.startswith(f"{figure.quantity} ") for line in lines), figure.key
    assert "does not fit" in text and "Seed 3, 400 points." in text


def test_json_has_every_figure(table: Table) -> None:
    page = json.loads(json.dumps(table_json(table)))
    assert [row["figure"] for row in page["figures"]] == list(FIGURES)
    assert set(page["sections"]) == set(COUNTS)
    assert page["fits"] is False
    for row in page["figures"]:
        assert row["gap"] == pytest.approx(
            (row["ours"] - row["record"]) / row["tolerance"], rel=1e-3, abs=1e-4
        )


def test_picture_marks_every_figure(table: Table) -> None:
    drawn = table_figure(table)
    assert [ax.get_title(loc="left").split(":")[0].lower() for ax in drawn.axes] == list(COUNTS)
    shapes = {"o", *(marker for marker, _ in MARKERS.values())}
    marks = [line for ax in drawn.axes for line in ax.lines if line.get_marker() in shapes]
    assert len(marks) == len(FIGURES)


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["validate", *map(str, arguments)])


def test_command(tmp_path: Path) -> None:
    picture = tmp_path / "record.svg"
    done = run("--record", "--points", "200", "--seed", "5", "--json", "--figure", picture)
    assert done.exit_code == 0
    page = json.loads(done.stdout)
    assert (page["seed"], page["points"]) == (5, 200)
    expected = figures(record_strokes(record_game(5), 200))
    ours = [math.nan if row["ours"] is None else row["ours"] for row in page["figures"]]
    assert ours == pytest.approx(expected, rel=1e-5, nan_ok=True)
    assert picture.read_text().lstrip().startswith("<?xml")


def test_a_model_without_a_figure_is_told(table: Table) -> None:
    ours: list[Estimate] = [exact(figure.value) for figure in record()]
    ours[0] = normal(math.nan, math.nan)
    told = table_from(ours, 1, 100)
    assert table_json(told)["rms_gap"] is None and table_json(told)["fits"] is False
    assert "points ended by a winner" in table_text(told)
    assert len(table_figure(told).axes) == len(COUNTS)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--record", "--rallies", "500"), "--rallies is not for --record; give --points"),
        (("--points", "500"), "--points is for --record only; give --rallies"),
        (("--record", "--points", "5"), "--points is 5; give a whole number from 100 to 1000000"),
        (("--record", "--points", "many"), "'many' is not a valid integer"),
        (("--record", "--seed", "-1"), "seed is -1"),
    ],
)
def test_bad_input(arguments: tuple[str, ...], says: str) -> None:
    done = run(*arguments)
    assert (done.exit_code, done.stdout) == (2, "")
    assert says in done.stderr
