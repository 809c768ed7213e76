"""Charts: what is read, that every problem is told, and what is believed of them."""

from __future__ import annotations

import dataclasses
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from experiments.answers.chart.demo import demo_chart, header
from experiments.answers.chart.words import check_text
from sim.belief import DIRECTIONS, Belief, SeenBelief, SeenStroke
from sim.contracts import contacts_at
from sim.errors import InputError
from sim.kinds import KINDS
from sim.players import player
from strategies.charts.belief import fit_of
from strategies.charts.columns import ALIASES, FROM_THE_GROUND, guide
from strategies.charts.reading import Chart, Stroke, parse_chart, read_chart
from strategies.shots.charted import Charted
from strategies.shots.habit import Habit

HEAD = "contact_x_m,contact_y_m,bounce_x_m,bounce_y_m,wing,outcome,hand"
COLLEGE = player("college-man")
LEFT, RIGHT, MIDDLE = (1.0, 0, 0, 0, 0), (0, 1.0, 0, 0, 0), (0, 0, 0, 0, 1.0)


def problems(*rows: str, head: str = HEAD) -> list[str]:
    return [str(p) for p in parse_chart("\n".join([head, *rows]), "x")[1]]


def contacts(*x_m: float, y_m: float = -11.9) -> np.ndarray:
    x = np.array(x_m)
    return contacts_at(x, np.full(len(x), y_m), np.ones(len(x)), np.where(x >= 0, 1, -1))


# Reading


def test_a_row_is_read_in_metres() -> None:
    head = "contact_x_ft,contact_y_ft,bounce_x_ft,bounce_y_ft,speed_km_h,topspin_rpm,wing"
    chart, found = parse_chart(f"{head}\n10,39,-10,-30,108,2000,Backhand\n , ,,,,,\n", "mine")
    assert found == []
    assert chart == Chart("mine", "right", chart.strokes, empty_rows=1)
    stroke = chart.strokes[0]
    assert (stroke.line, stroke.wing, stroke.outcome) == (2, "backhand", "in")
    assert stroke.contact_x_m == pytest.approx(3.048)
    assert stroke.bounce_y_m == pytest.approx(-9.144)
    assert stroke.speed_m_s == pytest.approx(30.0)
    assert stroke.receiver_x_m is None


def test_all_problems_are_told_with_line_column_value_and_what_is_allowed() -> None:
    found = problems(
        "3,-12,3,-4,forehad,in,right",
        "3,12,far,-4,,in,right",
        "3,12,nan,-4,,,right",
        "3,12,,-4,,in,right",
        "3,12,1,-4,,net,right",
        "3,12,1,-4,,out,right",
        "3,12,1,-14,,in,right",
        "3,12,1",
        "3,12,1,-9,,in,left",
    )
    assert found == [
        "line 2, contact_y_m is '-12'; allowed: 0.5 to 19.88 m",
        "line 2, wing is 'forehad'; allowed: forehand, backhand",
        "line 3, bounce_x_m is 'far'; allowed: -10 to 10 m",
        "line 4, bounce_x_m is 'nan'; allowed: -10 to 10 m",
        "line 5, bounce_x_m is ''; needed: -10 to 10 m (or empty where outcome is net)",
        "line 6, bounce_x_m is '1'; leave it empty: a ball in the net does not bounce here",
        "line 6, bounce_y_m is '-4'; leave it empty: a ball in the net does not bounce here",
        "line 7, outcome is 'out'; a bounce at (1, -4) m is in; correct one of the two",
        "line 8, outcome is 'in'; a bounce at (1, -14) m is out; correct one of the two",
        "line 9, the row is '3,12,1'; 7 cells, as in the header (a decimal comma counts as two)",
        "line 10, hand is 'left'; one opponent a chart: the same hand in every row",
    ]


def test_a_bounce_on_the_line_is_what_the_watcher_says() -> None:
    chart, found = parse_chart(f"{HEAD}\n3,12,4.4,-9,,in,\n3,12,4.4,-9,,,\n3,12,,,,net,\n", "x")
    assert found == []
    assert [s.outcome for s in chart.strokes] == ["in", "out", "net"]


@pytest.mark.parametrize(
    ("head", "says"),
    [
        (HEAD.replace("wing", "wnig"), "did you mean 'wing'?"),
        (HEAD.replace("bounce_x_m,", ""), "add bounce_x_m or bounce_x_ft"),
        (HEAD + ",bounce_x_ft", "give this column once, in one unit"),
        (HEAD + ",wing", "give each column once"),
        ("", "add contact_x_m or contact_x_ft"),
    ],
)
def test_bad_headers(head: str, says: str) -> None:
    assert any(says in p and p.startswith("line 1") for p in problems(head=head))


def test_a_chart_without_rows_is_a_problem() -> None:
    assert problems() == ["line 2, the chart is ''; fill in at least one row, one a stroke"]


def test_files_that_are_none(tmp_path: Path) -> None:
    for name, content in (("no.csv", None), ("bytes.csv", b"\xff\xfe\x00"), ("dir", None)):
        path = tmp_path / name
        if content is not None:
            path.write_bytes(content)
        with pytest.raises(InputError, match=name):
            read_chart(str(path))


def test_empty_chart_has_every_column_and_the_guide_names_them() -> None:
    for length, speed in (("m", "m_s"), ("ft", "mph")):
        names = header(length, speed)
        assert problems(head=",".join(names)) == problems()
        assert all(name in guide() for name in names)
    with pytest.raises(InputError, match="'yards'"):
        header("yards")


def test_demo_chart_is_what_its_command_writes() -> None:
    kept = resources.files("strategies.charts").joinpath("demo.csv").read_text("utf-8")
    assert kept == demo_chart()
    assert len(read_chart("demo").strokes) == 40


# Belief


def test_without_strokes_the_belief_is_the_habit() -> None:
    at = contacts(-3.0, 0.0, 2.0)
    assert SeenBelief().shares_at(at, 1.0) == pytest.approx(Belief().shares_at(at, 1.0))
    assert (SeenBelief().lean(at, 1.0) == 1.0).all()


def test_strokes_count_by_their_distance_against_the_habit() -> None:
    """Worked by hand: two strokes one kernel width away, eight of the habit."""
    even = (0.25, 0.25, 0.25, 0.25)
    seen = SeenStroke(3.0, 11.9, LEFT)
    belief = SeenBelief(even, even, strokes=(seen, seen), prior_strokes=8.0, width_m=1.5)
    count = 2 * np.exp(-0.5)
    expected = (8 * 0.25 + np.array([count, 0, 0, 0])) / (8 + count)
    at = contacts(1.5)
    assert belief.shares_at(at, 1.0)[0] == pytest.approx(expected)
    assert belief.lean(at, 1.0)[0] == pytest.approx(8 / (8 + count))
    assert belief.lean(contacts(-9.0), 1.0)[0] > 0.999


def test_strokes_are_judged_by_what_the_habit_expects_where_they_were_played() -> None:
    """Strokes from nearer the middle that are the habit of that place change nothing anywhere."""
    habit, at = Belief(), contacts(1.5)
    crosscourt, middle, straight, short = habit.shares(np.array([1.5]))[0]
    stroke = SeenStroke(1.5, 11.9, (crosscourt, straight, short, 0.0, middle))
    belief = SeenBelief(strokes=(stroke,) * 50)
    for x_m in (0.5, 1.5, 3.1):
        at = contacts(x_m)
        assert belief.shares_at(at, 1.0) == pytest.approx(habit.shares_at(at, 1.0))


def test_a_side_keeps_its_name_across_the_centre_mark() -> None:
    """To the left is crosscourt from the right half and down the line from the left half."""
    belief = SeenBelief(strokes=(SeenStroke(0.1, 11.9, LEFT),) * 400)
    assert belief.shares_at(contacts(0.3), 1.0)[0, 0] > 0.9
    assert belief.shares_at(contacts(-0.3), 1.0)[0, 2] > 0.9
    mirrored = belief.shares_at(contacts(-0.3), -1.0)
    assert mirrored[0, 0] > 0.9


def test_pace_leans_on_the_usual() -> None:
    fast = SeenStroke(3.0, 11.9, LEFT, speed_share=1.2)
    belief = SeenBelief(strokes=(fast,) * 8 + (SeenStroke(3.0, 11.9, LEFT),) * 50)
    speed, topspin = belief.pace(contacts(3.0), 1.0)
    assert speed[0] == pytest.approx(1.1)
    assert topspin[0] == 1.0


def chart_of(*rows: tuple[float, float, float, float], hand: str = "right") -> Chart:
    strokes = tuple(Stroke(i + 2, *row, outcome="in") for i, row in enumerate(rows))
    return Chart("x", hand, strokes)


def test_a_chart_is_turned_into_the_hitters_frame() -> None:
    """From your right to your left: crosscourt for both hands, forehand and backhand corner."""
    for hand, x_m in (("right", -3.0), ("left", 3.0)):
        chart = chart_of((3.0, 11.9, -2.6, -8.5), hand=hand)
        fit = fit_of(chart, COLLEGE, SeenBelief(), Habit())
        assert fit.contacts["x_m"][0] == x_m
        aims = fit.aims()[0]
        crosscourt_side = 1 if x_m < 0 else 0
        assert aims[crosscourt_side] + aims[2 + crosscourt_side] > 0.9


@pytest.mark.parametrize("level", ["club-adult", "college-man"])
def test_what_was_meant_is_found_again(level: str) -> None:
    """Charts of habits that differ; the hitter's error blurs bounces and not what is believed.

    A Monte Carlo check of the fit with 800 strokes struck by the simulator; short and deep
    crosscourt, which overlap by the hitter's own error, are taken together.
    """
    corner = contacts(3.115)
    for share in (0.8, 0.3):
        rest = 0.8 - share
        habit = Habit(belief=Belief((share, 0.2, rest, 0.0), (share, 0.2, rest, 0.0)))
        text = demo_chart(3, 800, level, habit, x_m=3.0)
        chart, found = parse_chart(text, "x")
        assert found == []
        belief = fit_of(chart, player(level), SeenBelief(), Habit()).belief()
        got = belief.shares_at(corner, 1.0)[0]
        assert got[0] + got[3] == pytest.approx(share, abs=0.06)
        assert got[2] == pytest.approx(rest, abs=0.06)


def test_counting_a_stroke_twice_is_having_it_twice() -> None:
    rows = [(3.0, 12.0, -2.5, -8.0), (2.0, 12.0, 2.5, -9.0), (-1.0, 11.0, 0.0, -7.0)]
    once = fit_of(chart_of(*rows), COLLEGE, SeenBelief(), Habit())
    twice = fit_of(chart_of(*rows, rows[1]), COLLEGE, SeenBelief(), Habit())
    at = contacts(-3.0, 0.0, 3.0)
    weighted = once.belief(np.array([1, 2, 1])).shares_at(at, 1.0)
    assert weighted == pytest.approx(twice.belief().shares_at(at, 1.0))


def test_chart_of_balls_in_the_net_alone_leaves_the_habit() -> None:
    net = Chart("x", "right", (Stroke(2, 3.0, 12.0, outcome="net"),))
    belief = fit_of(net, COLLEGE, SeenBelief(), Habit()).belief()
    assert belief.strokes == ()


# The shot model


def test_charted_hits_as_charted_and_by_habit_elsewhere(tmp_path: Path) -> None:
    path = tmp_path / "straight.csv"
    rows = ["-3,12,-2.5,-8.5,forehand,in,right"] * 60
    path.write_text("\n".join([HEAD, *rows]), "utf-8")
    belief = Charted(chart=str(path)).belief_about(COLLEGE)
    straight = belief.shares_at(contacts(3.0), 1.0)[0]
    assert straight[DIRECTIONS.index("down-the-line")] > 0.75
    elsewhere = contacts(-4.0)
    assert belief.shares_at(elsewhere, 1.0) == pytest.approx(
        Belief().shares_at(elsewhere, 1.0), abs=0.01
    )


def test_charted_refuses_a_bad_chart_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(HEAD + "\n1,2,3,4,,,\n", "utf-8")
    with pytest.raises(InputError, match="line 2, bounce_y_m is '4'"):
        Charted(chart=str(path))
    with pytest.raises(InputError, match="prior_strokes"):
        Charted(prior_strokes=0.0)
    assert dataclasses.replace(Charted(), prior_strokes=4.0).blank.prior_strokes == 4.0


# Kinds of stroke


KINDS_HEAD = f"{HEAD},kind"


def kinds_chart(*kinds: str) -> Chart:
    rows = [f"3,12,-3,-6,,in,right,{kind}" for kind in kinds]
    chart, found = parse_chart("\n".join([KINDS_HEAD, *rows]), "x")
    assert found == []
    return chart


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("Slice", "slice"),
        ("drop-shot", "drop shot"),
        ("DROP_SHOT", "drop shot"),
        ("smash", "overhead"),
        ("Half-Volley", "half volley"),
        ("pass", "passing shot"),
        ("moonball", "high ball"),
        ("", ""),
    ],
)
def test_a_kind_is_read_as_people_write_it(written: str, kind: str) -> None:
    assert [s.kind for s in kinds_chart(written).strokes] == [kind]


def test_each_kind_and_each_alias_is_a_kind() -> None:
    assert [s.kind for s in kinds_chart(*KINDS).strokes] == list(KINDS)
    assert set(ALIASES.values()) <= set(KINDS)
    (problem,) = problems("3,12,-3,-9,,in,right,smesh", head=KINDS_HEAD)
    assert problem.startswith("line 2, kind is 'smesh'; allowed: drive, slice,")


def test_a_serve_is_out_beyond_the_service_line() -> None:
    rows = ("3,12,-3,-8,,out,right,serve", "3,12,-3,-8,,out,right,drive")
    assert problems(*rows, head=KINDS_HEAD) == [
        "line 3, outcome is 'out'; a bounce at (-3, -8) m is in; correct one of the two"
    ]


def test_only_strokes_from_the_ground_tell_of_directions() -> None:
    model = Charted(chart="demo")
    aside = [k for k in KINDS if k not in FROM_THE_GROUND]
    chart = kinds_chart("", "drive", *aside, "slice")
    assert [s.kind for s in chart.directed] == ["", "drive", "slice"]
    few = dataclasses.replace(chart, strokes=chart.directed)
    with_all, without = (fit_of(c, COLLEGE, model.blank, model).belief() for c in (chart, few))
    assert with_all == without


def test_a_chart_without_kinds_is_read_as_one_with_empty_ones() -> None:
    plain, found = parse_chart(f"{HEAD}\n3,12,-3,-6,,in,right", "x")
    assert found == [] and plain == kinds_chart("")
    assert plain.kinds == {}


def test_pace_is_that_of_the_drives() -> None:
    head = f"{KINDS_HEAD},speed_km_h,topspin_rpm"
    rows = [f"3,12,-3,-9,,in,right,{kind},90,-2000" for kind in ("slice", "")]
    chart, _ = parse_chart("\n".join([head, *rows]), "x")
    model = Charted(chart="demo")
    fit = fit_of(chart, COLLEGE, model.blank, model)
    assert fit.speed_share[0] == fit.topspin_share[0] == 0.0
    assert fit.speed_share[1] > 0.0 > fit.topspin_share[1]


def test_the_check_tells_the_shares_of_kinds() -> None:
    text = check_text(kinds_chart("drive", "drive", "slice", "volley", ""))
    assert "Kinds in 100 of the 4 strokes that name one: drive 50, slice 25, volley 25." in text
    assert "not counted for the directions: 1 (volley)" in text
    assert "Kinds" not in check_text(kinds_chart("", ""))
