"""Kinds of stroke, the net and last strokes, read off a few points written by hand."""

from __future__ import annotations

import numpy as np
import pytest
from points_by_hand import point_of

from experiments.evidence.validation.by_way import by_way
from experiments.evidence.validation.estimates import median_of, quantile_of
from experiments.evidence.validation.kinds import KindFigures
from experiments.evidence.validation.last_strokes import (
    DRAG_PER_M,
    KEPT_IN_BOUNCE,
    LastStrokes,
    impact_time_s,
)
from experiments.evidence.validation.net import NetFigures
from experiments.evidence.validation.points import Points
from sim.kinds import (
    APPROACH,
    BLOCK,
    DRIVE,
    DROP_SHOT,
    FIRST_SERVE,
    HALF_VOLLEY,
    HIGH_BALL,
    LOB,
    OVERHEAD,
    PASSING_SHOT,
    SLICE,
    VOLLEY,
)
from sim.records import (
    BACKHAND,
    FORCED_ERROR,
    IN,
    NET,
    STRETCHED,
    STROKE_LIMIT,
    UNFORCED_ERROR,
    UNRETURNED,
    WINNER,
)


def points() -> np.ndarray:
    """Five that ended, and one that was stopped.

    1: a backhand slice wins it for the server (side 1), whose opponent's drive fails under it.
    2: an approach of the returner (side 0), a pass, and a volley that wins.
    3: an approach of the server, lobbed over the head; nobody reaches the lob.
    4: a drop shot of the server that is touched and does not come back.
    5: the server is inside the service line when passed at, and volleys into the net unforced.
    """
    return np.concatenate(
        [
            point_of(1, FIRST_SERVE, DRIVE, SLICE, DRIVE, ending=FORCED_ERROR, wing=BACKHAND),
            point_of(2, FIRST_SERVE, APPROACH, PASSING_SHOT, VOLLEY, ending=WINNER),
            point_of(3, FIRST_SERVE, BLOCK, APPROACH, LOB, ending=WINNER),
            point_of(4, FIRST_SERVE, HIGH_BALL, DROP_SHOT, ending=UNRETURNED),
            point_of(
                5,
                FIRST_SERVE,
                HALF_VOLLEY,
                DRIVE,
                DRIVE,
                VOLLEY,
                ending=UNFORCED_ERROR,
                receiver_y_m=(-12, 12, -12, 6.3, -12),
                outcome=(IN, IN, IN, IN, NET),
            ),
            point_of(6, FIRST_SERVE, SLICE, OVERHEAD, ending=STROKE_LIMIT),
        ]
    )


def test_points_that_were_stopped_are_left_out_and_each_has_a_winner() -> None:
    found = Points(points())
    assert found.rallies.tolist() == [1, 2, 3, 4, 5]
    assert found.winner.tolist() == [1, 0, 0, 1, 0]
    assert found.after_serve.sum() == len(found.strokes) - 5


def test_a_stroke_ends_the_point_by_winning_failing_or_forcing() -> None:
    found = Points(points())
    ended = {(s["replicate"], s["stroke"]) for s in found.strokes[found.ended]}
    assert ended == {(1, 2), (2, 3), (3, 3), (4, 2), (5, 4)}


def test_no_point_at_all_gives_no_figure() -> None:
    none = points()[:0]
    assert np.isnan(KindFigures(none).share_pct("lob").value)
    assert np.isnan(NetFigures(none).visits_per_100_points().value)
    assert np.isnan(LastStrokes(none).winners_from_net_m(0.5).value)


@pytest.mark.parametrize(
    ("name", "count", "won_pct", "ended_pct"),
    [
        ("backhand slice", 1, 100.0, 100.0),
        ("forehand slice", 1, 100.0, 0.0),
        ("lob", 1, 100.0, 100.0),
        ("lob or high ball", 2, 50.0, 50.0),
        ("drop shot", 1, 100.0, 100.0),
        ("volley", 2, 50.0, 100.0),
        ("half volley", 1, 100.0, 0.0),
    ],
)
def test_kinds_by_hand(name: str, count: int, won_pct: float, ended_pct: float) -> None:
    """Of the 15 strokes after the serve."""
    figures = KindFigures(points())
    assert figures.share_pct(name).value == pytest.approx(100 * count / 15)
    assert figures.won_pct(name).value == pytest.approx(won_pct)
    assert figures.ended_pct(name).value == pytest.approx(ended_pct)


def test_a_kind_that_is_never_played_has_a_share_of_0_and_nothing_more() -> None:
    figures = KindFigures(points())
    assert figures.share_pct("overhead").value == 0.0
    assert np.isnan(figures.won_pct("overhead").value)
    assert figures.is_kind("forehand slice").sum() == 1
    assert figures.is_kind("forehand slice without blocks").sum() == 0


def test_net_points_by_hand() -> None:
    """Sides at the net: the returner in 2, the server in 3 and 5."""
    figures = NetFigures(points())
    assert figures.came.tolist() == [
        [False, False],
        [True, False],
        [False, True],
        [False, False],
        [False, True],
    ]
    assert figures.visits_per_100_points().value == pytest.approx(60.0)
    assert figures.won_pct().value == pytest.approx(100 / 3)
    assert figures.approaches_per_100_points().value == pytest.approx(40.0)
    assert figures.approaches_won_pct().value == pytest.approx(50.0)
    assert figures.passed_pct().value == pytest.approx(100 / 3)
    assert figures.drew_error_pct().value == 0.0
    assert figures.own_error_pct().value == pytest.approx(100 / 3)


@pytest.mark.parametrize(
    ("ending", "kinds"),
    [
        (UNFORCED_ERROR, (DRIVE, APPROACH, PASSING_SHOT)),
        (FORCED_ERROR, (DRIVE, APPROACH, PASSING_SHOT)),
        (UNRETURNED, (DRIVE, APPROACH, PASSING_SHOT, VOLLEY)),
    ],
)
def test_an_error_is_drawn_by_the_side_at_the_net(ending: int, kinds: tuple[int, ...]) -> None:
    figures = NetFigures(point_of(1, *kinds, ending=ending))
    assert figures.drew_error_pct().value == 100.0
    assert figures.passed_pct().value == figures.own_error_pct().value == 0.0


def test_both_sides_can_be_at_the_net_in_one_point() -> None:
    both = point_of(1, DRIVE, VOLLEY, VOLLEY, ending=WINNER)
    assert NetFigures(both).visits_per_100_points().value == 200.0


def test_last_strokes_are_numbered_as_tracking_numbers_them() -> None:
    """A ball that is touched and does not come back is an error one stroke later."""
    found = LastStrokes(points())
    assert found.number.tolist() == [4, 4, 4, 4, 5]
    assert found.ending.tolist() == [FORCED_ERROR, WINNER, WINNER, FORCED_ERROR, UNFORCED_ERROR]
    assert found.before["stroke"].tolist() == [2, 2, 2, 2, 3]


def test_points_of_two_strokes_are_not_in_the_record() -> None:
    ace, error = (point_of(i, DRIVE, ending=e) for i, e in ((1, WINNER), (2, UNRETURNED)))
    assert len(LastStrokes(np.concatenate([ace, error])).number) == 0
    third = point_of(3, DRIVE, DRIVE, ending=UNRETURNED)
    assert LastStrokes(third).number.tolist() == [3]


def winners() -> np.ndarray:
    """Winners struck from 1, 2 ... 20 m, and an error that counts for nothing here."""
    made = [
        point_of(
            i,
            *(DRIVE,) * 3,
            ending=WINNER,
            body_y_m=(12, i, -12),
            landing_x_m=(0, 0, 4.115 - 0.1 * i),
            speed_m_s=(0, 0, 10 + i),
        )
        for i in range(1, 21)
    ]
    return np.concatenate([*made, point_of(21, *(DRIVE,) * 4, ending=UNFORCED_ERROR)])


def test_quantiles_of_winners() -> None:
    found = LastStrokes(winners())
    assert found.winners_from_net_m(0.05).value == 1.0
    assert found.winners_from_net_m(0.5).value == 10.0
    assert found.winners_from_net_m(0.95).value == 19.0
    assert found.winners_speed_m_s(0.25).value == 15.0
    assert found.winners_inside_sideline_m(0.75).value == pytest.approx(1.5)


@pytest.mark.parametrize(("who", "near"), [("hitter", True), ("receiver", True), ("", False)])
def test_somebody_near_at_the_last_but_one_ball(who: str, near: bool) -> None:
    kinds = (DRIVE,) * 5
    bodies = (12, 12, 10.4 if who == "hitter" else 12, 12, 12)  # the hitter met the ball before
    waits = (12, 12, 12, 10.4 if who == "receiver" else 12, 12)
    changed = {"body_y_m": bodies, "receiver_y_m": waits}
    found = LastStrokes(point_of(1, *kinds, ending=WINNER, **changed))
    assert found.somebody_near_pct(10.5, 5).value == 100.0 * near
    assert np.isnan(found.somebody_near_pct(10.5, 6).value)


def chased(replicate: int, ending: int, way_m: float, strokes: int = 5) -> np.ndarray:
    """The last stroke after a way; of a ball that is not returned there is no record."""
    kinds = (DRIVE,) * (strokes - (ending == UNRETURNED))
    ways = np.full(len(kinds), 0.2)
    ways[-1 if ending == UNRETURNED else -2] = way_m
    back = (12.0,) * len(kinds)
    return point_of(replicate, *kinds, ending=ending, chase_run_m=tuple(ways), body_y_m=back)


def test_ways_to_the_last_stroke() -> None:
    endings = (WINNER, UNRETURNED, FORCED_ERROR, UNFORCED_ERROR)
    made = np.concatenate([chased(i, e, 2.0 + i) for i, e in enumerate(endings)])
    found = LastStrokes(made)
    assert found.way_m.tolist() == [2.0, 3.0, 4.0, 5.0]
    assert found.way_of_ending_m("unforced error", 10.5, 4).value == 5.0
    assert found.far_of_ending_pct("forced error", 3.5, 10.5, 4).value == 50.0
    assert found.far_of_ending_pct("winner", 4.5, 10.5, 4).value == 0.0
    time = impact_time_s(made[:1])[0]
    assert found.needed_above_pct(2.5 / time, 5).value == 75.0
    assert found.of_needed_above_pct(1.0 / time, 5, "winner").value == 25.0
    assert found.of_needed_above_pct(2.5 / time, 5, "winner", "unforced error").value == (
        pytest.approx(100 / 3)
    )


def test_time_to_the_impact_solves_the_motion_that_the_record_assumes() -> None:
    """Against stepping dv/dt = -k v^2 through a flight of 21 m, the bounce and 3 m more."""
    (row,) = point_of(1, DRIVE, ending=UNRETURNED, landing_time_s=(0.9,), meeting_time_s=(2.0,))
    v = (np.exp(DRAG_PER_M * 21.0) - 1) / (DRAG_PER_M * 0.9)
    x, t, dt, bounced = 0.0, 0.0, 1e-5, False
    while x < 24.0:
        if x >= 21.0 and not bounced:
            assert t == pytest.approx(0.9, abs=1e-4)
            v, bounced = v * KEPT_IN_BOUNCE, True
        x, v, t = x + v * dt, v - DRAG_PER_M * v * v * dt, t + dt
    assert impact_time_s(np.array([row]))[0] == pytest.approx(t, abs=2e-4)


def test_a_ball_played_before_its_bounce_takes_its_own_time() -> None:
    volleyed = point_of(1, DRIVE, ending=UNRETURNED, meeting_time_s=(0.4,))
    assert impact_time_s(volleyed)[0] == 0.4


def test_forced_errors_by_way() -> None:
    """Returns, here with a way of 9 m, are left out; other strokes with a way of 0.2 m go on."""
    made = [
        chased(1, UNRETURNED, 5.0),
        chased(2, FORCED_ERROR, 4.5),
        chased(3, UNFORCED_ERROR, 3.0),
        chased(4, WINNER, 3.5),
        chased(5, WINNER, 4.1),
    ]
    for strokes in made:
        strokes["chase_run_m"][0] = 9.0
    classes = by_way(np.concatenate(made))
    assert [c.strokes for c in classes] == [10, 0, 2, 3]
    assert [c.low_m for c in classes[1:]] == [c.high_m for c in classes[:-1]]
    far = classes[-1]
    assert far.forced_error_pct.value == pytest.approx(200 / 3)
    assert far.winner_pct.value == pytest.approx(100 / 3)
    assert far.unforced_error_pct.value == 0.0
    assert classes[2].unforced_error_pct.value == classes[2].winner_pct.value == 50.0
    assert np.isnan(classes[1].forced_error_pct.value)
    assert classes[0].forced_error_pct.value == 0.0


def test_a_stretched_player_who_returns_counts_by_what_is_returned() -> None:
    made = chased(1, UNFORCED_ERROR, 3.0)
    made["grade"] = STRETCHED
    assert sum(c.strokes for c in by_way(made)) == 3


def test_a_quantile_at_one_half_is_the_median() -> None:
    values, rallies = np.random.default_rng(1).normal(size=200), np.arange(200) // 4
    a, b = median_of(values, rallies), quantile_of(values, rallies, 0.5)
    assert (a.value, a.se, a.interval(0.95)) == (b.value, b.se, b.interval(0.95))


def test_interval_of_a_quantile_covers_at_its_rate() -> None:
    """As for the median in `test_validation`, at the upper quarter of exponential numbers."""
    rng = np.random.default_rng(7)
    ends = [
        quantile_of(sample, np.arange(201), 0.75).interval(0.95)
        for sample in rng.exponential(1.0, (400, 201))
    ]
    covered = sum(low <= np.log(4) <= high for low, high in ends) / 400
    assert 0.90 < covered < 0.985
