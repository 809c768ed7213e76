"""Sums over replicates, against the same sums spelled out stroke by stroke."""

from __future__ import annotations

import numpy as np
import pytest
from tiny_study import tiny_study

from experiments.statistics.tally import COLUMNS, Tally, products, replicate_table
from experiments.study.settings import Scenario, scenarios
from sim.array_engine import play
from sim.exchange import Game, Place
from sim.records import (
    FORCED_ERROR,
    GOING,
    IN,
    LONG,
    MISSED,
    NET,
    OPPONENT,
    SET,
    STRETCHED,
    STROKE,
    STROKE_LIMIT,
    STUDIED,
    UNFORCED_ERROR,
    WINNER,
    WON_BY_HITTER,
)

CORNER = Place("corner", 3.115, 11.885)
COLUMN = {name: i for i, name in enumerate(COLUMNS)}


def stroke(replicate: int, number: int, **values: float) -> np.ndarray:
    """One STROKE record; the opponent strikes the even numbers."""
    row = np.zeros(1, STROKE)
    row["replicate"], row["stroke"] = replicate, number
    row["side"] = OPPONENT if number % 2 == 0 else STUDIED
    for name, value in values.items():
        row[name] = value
    return row


def table_of(*rows: np.ndarray, replicates: tuple[int, ...] = (7,), points: bool = True) -> dict:
    table = replicate_table(np.concatenate(rows), np.array(replicates), points)
    return {name: table[:, i].tolist() for name, i in COLUMN.items()}


FACED = {
    "outcome": IN,
    "grade": SET,
    "time_to_spare_s": 0.4,
    "chase_run_m": 2.5,
    "reply_chance": 0.7,
    "spot_x_m": -0.6,
    "spot_y_m": -13.0,
    "receiver_x_m": -0.5,
}


def test_a_rally_told_by_hand() -> None:
    table = table_of(
        stroke(7, 0, **FACED),
        stroke(7, 1, outcome=IN, grade=STRETCHED),
        stroke(
            7, 2, outcome=IN, grade=MISSED, time_to_spare_s=-0.1, chase_run_m=3.0, ending=WINNER
        ),
    )
    assert table == {
        "one": [1.0],
        "balls": [2.0],
        "missed": [1.0],
        "set": [1.0],
        "spare_s": [pytest.approx(0.3)],
        "run_m": [5.5],
        "points": [0.0],
        "strokes": [3.0],
        "not_returned": [pytest.approx(1.3)],
        "spot_x_m": [-0.6],
        "reached_x_m": [-0.5],
        "spot_y_m": [-13.0],
    }


def test_a_ball_that_lands_out_or_in_the_net_is_not_faced() -> None:
    nothing = np.nan
    for outcome in (NET, LONG):
        lost = {"time_to_spare_s": nothing, "chase_run_m": nothing, "ending": UNFORCED_ERROR}
        table = table_of(stroke(7, 0, outcome=outcome, **lost))
        assert table["balls"] == table["missed"] == table["spare_s"] == [0.0]
        assert table["points"] == [1.0] and table["strokes"] == [1.0]


def test_a_ball_that_nobody_could_play_counts_three_seconds_short() -> None:
    row = {**FACED, "grade": MISSED, "time_to_spare_s": -1e9, "ending": WINNER}
    assert table_of(stroke(7, 0, **row))["spare_s"] == [-3.0]


@pytest.mark.parametrize(
    ("ending", "last", "points"),
    [
        (WINNER, 0, 0.0),
        (WINNER, 1, 1.0),
        (FORCED_ERROR, 0, 1.0),
        (UNFORCED_ERROR, 0, 1.0),
        (FORCED_ERROR, 1, 0.0),
        (UNFORCED_ERROR, 1, 0.0),
        (STROKE_LIMIT, 0, 0.5),
        (STROKE_LIMIT, 1, 0.5),
    ],
)
def test_who_wins_the_point(ending: int, last: int, points: float) -> None:
    """The even strokes are the opponent's: a winner of his is the studied player's lost point."""
    before = [stroke(7, k, ending=GOING) for k in range(last)]
    assert table_of(*before, stroke(7, last, ending=ending))["points"] == [points]


def test_points_stay_out_where_no_rally_was_played() -> None:
    assert table_of(stroke(7, 0, ending=UNFORCED_ERROR), points=False)["points"] == [0.0]


@pytest.fixture(scope="module")
def rallies() -> tuple[np.ndarray, np.ndarray]:
    replicates = np.arange(100, 180)
    return play(game(), CORNER, replicates), replicates


def game() -> Game:
    return tiny_study().game("club-adult", "habit", "middle", 3)


def test_tables_equal_loops_over_the_strokes(rallies: tuple[np.ndarray, np.ndarray]) -> None:
    strokes, replicates = rallies
    table = replicate_table(strokes, replicates, True)
    assert table.shape == (len(replicates), len(COLUMNS))
    for row, replicate in zip(table, replicates, strict=True):
        mine = [s for s in strokes if s["replicate"] == replicate]
        faced = [s for s in mine if s["side"] == OPPONENT and s["outcome"] == IN]
        last = mine[-1]
        won = (last["ending"] in WON_BY_HITTER) == (last["side"] == STUDIED)
        want = {
            "one": 1,
            "balls": len(faced),
            "missed": sum(s["grade"] == MISSED for s in faced),
            "set": sum(s["grade"] == SET for s in faced),
            "spare_s": sum(max(s["time_to_spare_s"], -3.0) for s in faced),
            "run_m": sum(s["chase_run_m"] for s in faced),
            "points": 0.5 if last["ending"] == STROKE_LIMIT else float(won),
            "strokes": len(mine),
            "not_returned": sum(1.0 - s["reply_chance"] for s in faced),
            "spot_x_m": mine[0]["spot_x_m"],
            "reached_x_m": mine[0]["receiver_x_m"],
            "spot_y_m": mine[0]["spot_y_m"],
        }
        assert row == pytest.approx([want[name] for name in COLUMNS], abs=1e-12)


def test_sums_do_not_depend_on_the_blocks(rallies: tuple[np.ndarray, np.ndarray]) -> None:
    """Up to rounding: a million additions of doubles keep far more than 12 digits."""
    strokes, replicates = rallies
    table = replicate_table(strokes, replicates, True)
    other = table[::-1].copy()
    whole = Tally.of(table, other)
    for cuts in ([40], [1, 2, 79], [10, 20, 30, 70]):
        parts = [
            Tally.of(a, b)
            for a, b in zip(np.split(table, cuts), np.split(other, cuts), strict=True)
        ]
        added = sum(parts[1:], parts[0])
        for name in ("own", "cross", "reference"):
            np.testing.assert_allclose(getattr(added, name), getattr(whole, name), rtol=1e-12)


def test_products_equal_the_matrix_product() -> None:
    rng = np.random.default_rng(1)
    a, b = rng.normal(size=(500, 10)), rng.normal(size=(500, 10))
    np.testing.assert_allclose(products(a, b), a.T @ b, rtol=1e-11, atol=1e-11)


def test_the_tables_of_a_block_equal_those_of_its_parts() -> None:
    """A replicate is the same whoever it is played with, so blocks may be cut anywhere."""
    whole = replicate_table(play(game(), CORNER, np.arange(30)), np.arange(30), True)
    for part in (np.arange(0, 11), np.arange(11, 30)):
        alone = replicate_table(play(game(), CORNER, part), part, True)
        assert np.array_equal(alone, whole[part])


def test_scenarios_are_distinct_and_named_by_display_names() -> None:
    found = scenarios(tiny_study(opponents=["habit,margin_share=0.5", "open-court"]))
    assert len(set(found)) == len(found) == 2 * 2 * (1 + 2 + 1)
    assert {s.opponent for s in found} == {"habit margin_share=0.5", "open-court"}
    assert found[0] == Scenario("placed", "middle", "club-adult", "habit margin_share=0.5")
