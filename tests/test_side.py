"""Shots from the side."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from experiments.answers.shot.answer import ShotQuestion, play_shot
from experiments.answers.side.answer import (
    HIGH_GAP_M,
    SHOTS,
    SideQuestion,
    SideResult,
    shot_flight,
    side_view,
)
from experiments.answers.side.picture import (
    EXAGGERATED,
    MARK_S,
    draw_flight,
    draw_side,
    flight_figure,
    side_figure,
)
from experiments.command.main import main
from experiments.drawing.style import GREEN, VERMILLION, house_style, save
from experiments.scene.scene import scene_of
from sim.court import HALF_LENGTH_M, HALF_WIDTH_M, NET_CENTRE_M, NET_SUPPORT_M
from sim.errors import InputError
from sim.players import player
from sim.world import World

STAND_M = (-1.1, -13.1)


@cache
def side(*shots: str, stand_m: tuple[float, float] = STAND_M, hand: str = "right") -> SideResult:
    scene = scene_of(player="college-man", opponent_hand=hand)
    return side_view(SideQuestion(scene, stand_m, shots or SHOTS))


def of_gid(ax: object, gid: str) -> list[object]:
    return [a for a in ax.get_children() if a.get_gid() == gid]  # type: ignore[attr-defined]


def test_every_shot_lands_in_and_goes_where_it_is_named_for() -> None:
    bounce = {s.flight.name: s.flight.at(s.flight.bounce_s) for s in side().shots}
    for x, y, z in bounce.values():
        assert abs(x) <= HALF_WIDTH_M and -HALF_LENGTH_M <= y < 0
        assert z == pytest.approx(World().ball.radius_m, abs=0.02)
    assert bounce["crosscourt"][0] < -1 and bounce["short-angle"][0] < -1
    assert bounce["down-the-line"][0] > 1 and abs(bounce["middle"][0]) < 0.5
    assert bounce["short-angle"][1] > bounce["crosscourt"][1] + 1.5
    np.testing.assert_allclose(bounce["high"], bounce["crosscourt"], atol=0.05)


def test_a_high_ball_clears_the_net_by_what_is_said() -> None:
    flight = side("high").shots[0].flight
    before = flight.points[flight.points[:, 0] < flight.bounce_s]
    over = np.interp(0.0, -before[:, 2], before[:, 3])
    gap = over - World().ball.radius_m
    assert gap > HIGH_GAP_M + NET_CENTRE_M - 0.02
    assert gap < HIGH_GAP_M + NET_SUPPORT_M + 1.0


def test_the_ball_is_met_on_its_path_at_a_playable_height() -> None:
    legs = player("college-man").legs
    for s in side("crosscourt", "short-angle", "high").shots:
        assert s.met.is_reached
        np.testing.assert_allclose(s.flight.at(s.met.time_s), s.met.ball_m, atol=0.02)
        assert legs.playable_low_m <= s.met.ball_m[2] <= legs.playable_high_m
        reach = np.hypot(*(np.array(s.met.ball_m[:2]) - s.met.body_m))
        assert reach <= legs.full_reach_m + 1e-6


def test_a_ball_too_far_away_is_missed_and_drawn_so() -> None:
    far = side("short-angle", stand_m=(5.0, -13.1))
    assert not far.shots[0].met.is_reached and far.shots[0].met.spare_s < 0
    for result, colour, marker in ((far, VERMILLION, "X"), (side("short-angle"), GREEN, "D")):
        ax = side_figure(result).axes[0]
        (mark,) = of_gid(ax, "met")
        assert to_hex(mark.get_color()) == colour.lower() and mark.get_marker() == marker
        met = result.shots[0].met
        assert mark.get_xydata()[0] == pytest.approx((-met.ball_m[1], met.ball_m[2]))
    assert "missed" in side_figure(far).axes[0].get_title(loc="left")


def test_each_shot_has_a_panel_to_one_stated_scale() -> None:
    result = side("crosscourt", "short-angle", "high")
    figure = side_figure(result)
    *panels, key = figure.axes
    assert len(panels) == 3 and key.get_legend() is not None
    assert f"{EXAGGERATED:g} times" in figure.get_suptitle()
    assert "m from the net" in panels[-1].get_xlabel()
    for ax, shot in zip(panels, result.shots, strict=True):
        assert ax.get_ylabel() == "height (m)"
        assert (ax.get_xlim(), ax.get_ylim()) == (panels[0].get_xlim(), panels[0].get_ylim())
        a, b, c = ax.transData.transform([(0, 0), (1, 0), (0, 1)])
        figure.draw_without_rendering()
        a, b, c = ax.transData.transform([(0, 0), (1, 0), (0, 1)])
        assert (c[1] - a[1]) / (b[0] - a[0]) == pytest.approx(EXAGGERATED)
        (marks,) = of_gid(ax, "time")
        assert len(marks.get_xdata()) == int(shot.flight.end_s / MARK_S)
        x, z = of_gid(ax, "net")[0].get_xydata()[1]
        assert x == 0 and NET_CENTRE_M <= z <= NET_SUPPORT_M
        legs = result.question.scene.player.legs
        (band,) = of_gid(ax, "best")
        assert band.get_y() == legs.best_low_m
        assert band.get_y() + band.get_height() == pytest.approx(legs.best_high_m)
        names = [t.get_text() for t in ax.texts]
        assert names.count("baseline") == 2 and "0.5 s" in names


def test_a_left_hander_with_equal_strokes_is_no_other_geometry() -> None:
    """The wing changes with the hand, and with it speed and spin; the side that is hit does not."""
    right, left = side("crosscourt"), side("crosscourt", hand="left")
    assert left.shots[0].flight.speed_m_s > right.shots[0].flight.speed_m_s
    assert left.shots[0].flight.at(left.shots[0].flight.bounce_s)[0] < 0


def test_a_student_can_lay_two_flights_into_one_axes() -> None:
    result = side("crosscourt", "high")
    flights = [s.flight for s in result.shots]
    with house_style():
        ax, other = Figure().subplots(1, 2)
        first, second = (draw_flight(ax, f) for f in flights)
        third = draw_side(other, result)
    assert len(of_gid(ax, "flight")) == 2 and set(first).isdisjoint(second)
    assert all(a.axes is other for a in third)
    assert {a.get_gid() for a in other.get_children() if a.get_gid()} <= {
        a.get_gid() for a in third
    }


def test_saving_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    result = side("crosscourt", "high")
    first = save(side_figure(result), tmp_path / "a.svg").read_bytes()
    assert save(side_figure(result), tmp_path / "b.svg").read_bytes() == first


@pytest.mark.parametrize("y_m", [-11.9, 11.9])
def test_the_flight_of_a_shot_is_the_one_that_is_told(y_m: float) -> None:
    shot = ShotQuestion(
        (1.0, y_m, 1.0), 27.0, World(), (-2.0, -8.0 * np.sign(y_m)), topspin_rpm=2000
    )
    told, flight = play_shot(shot), shot_flight(shot)
    assert flight.bounce_s == pytest.approx(told.flight_time_s)
    assert flight.end_s == pytest.approx(told.second_bounce_time_s)
    turn = shot.half_turn
    np.testing.assert_allclose(turn * flight.at(flight.bounce_s)[:2], told.landing_m, atol=0.02)
    assert of_gid(flight_figure(flight).axes[0], "bounce")


def test_a_shot_into_the_net_ends_there() -> None:
    flight = shot_flight(ShotQuestion((0.0, 11.9, 1.0), 26.0, World(), launch_angle_deg=2.0))
    assert (
        flight.points[-1, 2] == pytest.approx(0.0, abs=1e-9) and flight.points[-1, 3] < NET_CENTRE_M
    )
    assert not of_gid(flight_figure(flight).axes[0], "bounce")
    short = shot_flight(ShotQuestion((0.0, 11.9, 1.0), 10.0, World(), launch_angle_deg=-5.0))
    assert short.points[-1, 2] > 0.0
    flight_figure(short)


def test_the_commands(tmp_path: Path) -> None:
    picture = tmp_path / "side.svg"
    told = CliRunner().invoke(main, ["side", "--figure", str(picture)])
    assert told.exit_code == 0 and picture.exists(), told.output
    assert "short-angle" in told.output and "to spare" in told.output
    told = CliRunner().invoke(main, ["side", "--stand=0,-12", "--shot", "middle", "--json"])
    assert told.exit_code == 0 and '"grade"' in told.output
    plain = ["shot", "--from", "3,-11.9,1", "--to=-3,8", "--speed", "28"]
    before = CliRunner().invoke(main, plain).output
    told = CliRunner().invoke(main, [*plain, "--figure", str(tmp_path / "shot.png")])
    assert told.output.startswith(before.rstrip()) and (tmp_path / "shot.png").exists()


def test_bad_input_is_told_and_writes_nothing(tmp_path: Path) -> None:
    cases = {
        "crosscourt": ["side", "--shot", "crosscort"],
        "no two the same": ["side", "--shot", "high", "--shot", "high"],
        "y below 0": ["side", "--stand", "0,12"],
        ".png": ["side", "--figure", str(tmp_path / "a.bmp")],
        ".svg": ["shot", "--from", "0,-12,1", "--angle", "5", "--speed", "25", "--figure", "a.bmp"],
    }
    for words, arguments in cases.items():
        told = CliRunner().invoke(main, arguments)
        assert told.exit_code == 2 and words in told.output, told.output
    assert not list(tmp_path.iterdir())
    with pytest.raises(InputError, match="from x"):
        side_view(SideQuestion(scene_of((0.0, 0.6), 0.1), STAND_M, ["middle"]))


def test_the_key_fits_into_the_figure() -> None:
    figure = side_figure(side("crosscourt", "high"))
    figure.draw_without_rendering()
    box = figure.axes[-1].get_legend().get_window_extent()
    assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= figure.bbox.width
    assert box.y1 <= figure.axes[-2].get_tightbbox().y0 + 1
